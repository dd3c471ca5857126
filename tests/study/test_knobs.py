"""Turning a knob on linear-Gaussian problems whose answers are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.study.common import CommonDraws, Evaluator
from brewsim.study.knobs import (
    bracket,
    current_setting,
    quantiles,
    settings_along,
    snap,
    turn,
    turn_all,
)
from brewsim.study.sampling import Plan
from tests.study.linear import DIAL, LEVER, linear_problem


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


def test_joint_chance_never_exceeds_the_smallest_single_one(problem):
    found = turn(problem, "dial")

    assert np.all(found.joint.values <= found.in_target.min("outcome").values + 1e-12)


def test_a_setting_equals_a_problem_posed_there(problem):
    plan = Plan(8, 256, 3)
    moved = problem.set({"dial": 2.5})

    along = Evaluator(problem, CommonDraws([problem], plan), ["strength"]).at({"dial": 2.5})
    posed = Evaluator(moved, CommonDraws([moved], plan), ["strength"]).at()

    np.testing.assert_array_equal(along["strength"], posed["strength"])


def test_the_bracket_is_where_the_chance_reaches_the_wish():
    span = bracket([0.0, 1.0, 2.0, 3.0], np.array([0.2, 0.6, 0.9, 0.5]), 0.7)

    assert span.low == pytest.approx(1 + 1 / 3)
    assert span.high == pytest.approx(2.5)
    assert bracket([0.0, 1.0], np.array([0.2, 0.3]), 0.7) is None


def test_settings_keep_to_whole_steps():
    assert set(np.diff(settings_along(LEVER))) <= {1.0, 1.5, 0.5}
    assert snap(LEVER, np.array(0.26)) == 0.5
    assert snap(LEVER, np.array(99.0)) == 10.0


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
