"""Turning a knob on linear-Gaussian problems whose answers are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.propagation.landing import landing, own_settings
from brewsim.study.propagation.paired import paired_change
from brewsim.study.propagation.sweep import (
    current_setting,
    quantiles,
    turn,
    turn_all,
)
from tests.study.linear import DIAL, linear_problem


@pytest.fixture(scope="module")
def problem():
    return linear_problem()


def test_the_chance_along_a_knob_is_the_normal_one(problem):
    """Normal with sd sqrt(5): the chance of 4 to 8 at each setting is a difference of Phi."""
    found = turn(problem, "dial", draws=32_768)
    dial, sd = found.setting.values, np.sqrt(5)

    exact = ndtr((8 - dial) / sd) - ndtr((4 - dial) / sd)

    gap = np.abs(found.in_target.sel(outcome="strength").values - exact)
    error = found.in_target_error.sel(outcome="strength").values
    assert np.all(gap < 2 * error + 2e-4)


def test_a_change_is_that_of_the_same_batch_at_today_s_setting(problem):
    """strength = dial + what scatters, dial today 0: every batch changes by the setting."""
    found = turn(problem, "dial", draws=1024).sel(outcome="strength")

    for key in ("change_low", "change", "change_high"):
        np.testing.assert_allclose(found[key].values, found.setting.values, atol=1e-9)


def test_a_change_on_a_log_scale_is_so_many_times():
    before, after = np.array([1.0, 2.0, 4.0]), np.array([0.5, 1.0, 8.0])

    low, middle, high = paired_change(before, after, "log", 0.9)
    assert (low, middle) == (0.5, 0.5)
    assert high == pytest.approx(2.0 ** (-1 + 0.9 * 2))
    assert paired_change(before, after, "linear", 0.9)[1] == -0.5
    assert paired_change(before, 0 * before, "log", 0.9)[1] == 0.0


def test_joint_chance_never_exceeds_the_smallest_single_one(problem):
    found = turn(problem, "dial")

    assert np.all(found.joint.values <= found.in_target.min("outcome").values + 1e-12)


def test_a_setting_equals_a_problem_posed_there(problem):
    plan = Plan(8, 256, 3)
    moved = problem.set({"dial": 2.5})

    along = Evaluator(problem, CommonDraws([problem], plan), ["strength"]).at({"dial": 2.5})
    posed = Evaluator(moved, CommonDraws([moved], plan), ["strength"]).at()

    np.testing.assert_array_equal(along["strength"], posed["strength"])


def tenth(problem):
    return float(turn(problem, "dial", draws=1024)["per_tenth"].sel(outcome="strength"))


def test_a_tenth_more_of_a_knob_is_a_tenth_of_where_it_stands(problem):
    moved = problem.set({"dial": 2.0})

    assert tenth(moved) == pytest.approx(0.2)
    assert np.isnan(tenth(problem))
    assert current_setting(moved, DIAL) == 2.0


def test_turning_all_knobs_equals_turning_each(problem):
    together = turn_all(problem, draws=1024)
    each = [turn(problem, knob.id, draws=1024) for knob in problem.knobs]

    for one, other in zip(together, each, strict=True):
        assert one.identical(other)


def test_quantiles_are_those_of_numpy_and_leave_out_what_is_not_finite():
    table = np.random.default_rng(3).standard_normal((3, 101))
    table[1, :7] = np.nan
    table[1, 7] = np.inf
    table[2] = np.nan

    found = quantiles(table, np.array([0.05, 0.5, 0.95]))

    np.testing.assert_allclose(found[:, 0], np.quantile(table[0], [0.05, 0.5, 0.95]))
    np.testing.assert_allclose(found[:, 1], np.quantile(table[1, 8:], [0.05, 0.5, 0.95]))
    assert np.isnan(found[:, 2]).all()


def test_a_tenth_of_a_temperature_is_a_tenth_of_its_range(problem):
    warmth = replace(DIAL, unit="°C")
    moved = replace(problem, knobs=(warmth,)).set({"dial": 2.0})

    assert tenth(moved) == pytest.approx(1.2)


def felt(level, dose):
    return level * dose


def dosed(scale="log2"):
    dose = Knob("dose", "the dose", "dose", None, 0.0, 4.0, 0.0, "g", 0.001)
    return Problem.of(
        [felt],
        {"level": lognormal(8, 0.5)},
        fixed={"dose": 2.0},
        knobs=(dose,),
        scales={"felt": scale},
    )


@pytest.mark.parametrize(
    ("scale", "change"), [("log2", np.log2(1.1)), ("log", np.log2(1.1)), ("linear", 1.6)]
)
def test_a_tenth_more_is_told_in_doublings_for_folds(scale, change):
    """Ten percent more of anything multiplied by it: log2(1.1), or a tenth of 8 x 2."""
    found = turn(dosed(scale), "dose", draws=16_384)

    assert float(found["per_tenth"][0]) == pytest.approx(change, rel=0.02)


def test_a_knob_that_reaches_nothing_changes_nothing_even_where_there_is_no_value():
    """An outcome that is infinite before and after has not changed."""

    def full(level):
        return np.full_like(level, np.inf)

    def other(level, dose):
        return level + dose

    problem = Problem.of(
        [full, other], {"level": normal(0, 1)}, fixed={"dose": 2.0}, knobs=dosed().knobs
    )

    found = turn(problem, "dose", draws=128)["per_tenth"]

    assert found.sel(outcome="full") == 0.0
    assert found.sel(outcome="other") == pytest.approx(0.2)


def test_a_change_to_or_from_no_value_is_none():
    def broken(level, dose):
        return np.sqrt(2.1 - dose) + level

    problem = Problem.of(
        [broken], {"level": normal(0, 1)}, fixed={"dose": 2.0}, knobs=dosed().knobs
    )
    with np.errstate(invalid="ignore"):
        found = turn(problem, "dose", draws=128)

    assert np.isnan(float(found["per_tenth"][0]))


def test_dots_are_the_middles_of_fifty_equal_shares():
    """Uniform from 0 to 1: 0.01, 0.03, up to 0.99; in target 0.25 to 0.5 a quarter of them."""

    def even(place, dose):
        return place + dose

    problem = Problem.of(
        [even],
        {"place": uniform(0, 1)},
        fixed={"dose": 0.0},
        knobs=dosed().knobs,
        targets={"even": Target(0.25, 0.5)},
    )

    found = turn(problem, "dose", at=[0.0, 1.0], draws=16_384, coverage=0.8)

    dots = found["dots"].sel(outcome="even", setting=0.0).values
    assert dots == pytest.approx((np.arange(50) + 0.5) / 50, abs=2e-3)
    ends = [float(found[k].sel(outcome="even", setting=1.0)) for k in ("low", "middle", "high")]
    assert ends == pytest.approx([1.1, 1.5, 1.9], abs=2e-3)
    assert found["in_target"].values[0] == pytest.approx([0.25, 0.0], abs=1e-3)
    assert found["joint"].values == pytest.approx([0.25, 0.0], abs=1e-3)


def test_along_a_knob_it_says_which_knob_where_it_stands_and_in_what_unit():
    found = turn(dosed(), "dose", at=[1.0], draws=128)

    assert found.attrs == {
        "knob": "dose",
        "label": "the dose",
        "unit": "g",
        "per_shown": 0.001,
        "zero": 0.0,
        "decimals": 0,
        "current": 2.0,
    }
    assert np.isnan(found["joint"].values).all()
    assert np.isnan(found["in_target"].values).all()


def test_today_s_setting_outside_of_a_knob_is_turned_too():
    problem = replace(dosed(), knobs=(replace(dosed().knobs[0], low=4.0, high=6.0),))
    (data,) = turn_all(problem, draws=128)
    knob = problem.knobs[0]

    settings = data["setting"].values.tolist()
    assert settings[0] == 2.0
    assert own_settings(knob, settings) == list(range(1, len(settings)))
    outside_is_best = landing(knob, settings, np.array([1.0, *[0.6] * (len(settings) - 1)]), 0.5)
    assert (outside_is_best.low, outside_is_best.high) == (4.0, 6.0)


def test_other_knobs_stand_where_they_are_put(problem):
    here = turn(problem, "dial", at=[1.0], others={"lever": 3.0}, draws=1024)
    there = turn(problem.set({"lever": 3.0}), "dial", at=[1.0], draws=1024)

    np.testing.assert_array_equal(here["middle"], there["middle"])


def test_no_setting_to_look_at_is_refused(problem):
    with pytest.raises(StudyError, match="dial: no setting"):
        turn(problem, "dial", at=[])


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"coverage": 90}, "a share between 0 and 1"),
        ({"at": "66"}, "settings are a list"),
        ({"others": {"lever": "much"}}, "takes a number"),
    ],
)
def test_a_wrong_turn_is_refused_in_words(problem, wrong, told):
    with pytest.raises(StudyError, match=told):
        turn(problem, "dial", **wrong)


def test_a_knob_that_starts_at_nothing_takes_no_less(problem):
    dose = replace(problem, knobs=(replace(DIAL, low=0.0),))

    with pytest.raises(StudyError, match="dial cannot be below 0"):
        dose.set({"dial": -0.1})
    assert problem.set({"dial": -0.1}).fixed_at("dial") == -0.1
