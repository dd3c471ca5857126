"""Turning, steering and comparing on linear-Gaussian problems whose answers are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.families import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.choices import choice_shares, turn_between
from brewsim.study.common import CommonDraws, Evaluator
from brewsim.study.compare import batches_to_tell, compare
from brewsim.study.knobs import (
    bracket,
    current_setting,
    elasticity,
    quantiles,
    settings_along,
    snap,
    turn,
    turn_all,
)
from brewsim.study.problem import Choice, Kinds, Knob, Problem, Target
from brewsim.study.sampling import Plan
from brewsim.study.steering import steer


def strength(known, scatter, dial):
    return known + scatter + dial


def side(known, dial, lever):
    return 0.5 * known + lever - dial


DIAL = Knob("dial", "the dial", "dial", None, -2.0, 10.0, 0.0, "g")
LEVER = Knob("lever", "the lever", "lever", None, -10.0, 10.0, 0.5, "g")


@pytest.fixture(scope="module")
def problem():
    return Problem.of(
        [strength, side],
        {"known": (normal(0, 1), Kinds(0.5, 0, 0.5)), "scatter": (normal(0, 2), Kinds(0, 0, 1))},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"strength": Target(4.0, 8.0), "side": Target(-1.0, 1.0)},
        knobs=(DIAL, LEVER),
    )


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


def test_elasticity_is_a_tenth_of_the_knob(problem):
    moved = problem.set({"dial": 2.0})

    assert elasticity(moved, "dial")["strength"] == pytest.approx(0.2)
    assert elasticity(problem, "dial") == {}
    assert current_setting(moved, DIAL) == 2.0


def test_steering_finds_the_optimum_of_a_linear_gaussian_problem(problem):
    """Centres at dial 6 and lever 6; the best joint chance is an integral over `known`."""
    grid = np.linspace(-6, 6, 4001)
    density = np.exp(-(grid**2) / 2) / np.sqrt(2 * np.pi)
    inner = ndtr((2 - grid) / 2) - ndtr((-2 - grid) / 2)
    exact = np.trapezoid(np.where(np.abs(0.5 * grid) <= 1, inner, 0) * density, grid)

    found = steer(problem, chance=0.5)

    assert found.best.chance == pytest.approx(exact, rel=0.01)
    assert found.best.settings["dial"] == pytest.approx(6.0, abs=0.25)
    assert found.smallest.chance >= 0.5
    assert found.smallest.change < found.best.change
    assert abs(found.best.chance - found.best.searched) < 0.02


def test_steps_are_respected(problem):
    found = steer(problem, chance=0.5)

    assert found.best.settings["lever"] % 0.5 == 0


def test_a_single_knob_that_cannot_says_the_best_it_can(problem):
    found = steer(problem, chance=0.5)

    assert not any(single.reaches for single in found.singles)
    assert 0 < found.singles[0].move.chance < 0.5


def test_targets_that_fight_are_named():
    """One dial moves both outcomes in opposite directions: no setting has both."""
    problem = Problem.of(
        [strength, side],
        {"known": normal(0, 0.1), "scatter": normal(0, 0.1)},
        fixed={"dial": 0.0, "lever": 0.0},
        targets={"strength": Target(2.0, 3.0), "side": Target(0.0, 1.0)},
        knobs=(DIAL,),
    )

    found = steer(problem, chance=0.8)

    assert not found.reaches
    assert found.smallest is None
    assert set(found.obstacles.gives_way) == {"strength", "side"}
    assert min(found.obstacles.alone.values()) > 0.95
    assert found.obstacles.together < 0.05


def test_a_window_narrower_than_the_spread_says_so(problem):
    found = steer(problem, chance=0.95)

    assert not found.reaches
    assert found.obstacles.spread["strength"] == pytest.approx(
        2 * ndtr(2 / np.sqrt(5)) - 1, abs=0.03
    )


def test_a_choice_is_a_knob_too():
    kind = Knob(
        "kind",
        "the kind",
        choices=(
            Choice("plain"),
            Choice("strong", distributions={"level": lognormal(8.0, 0.1)}),
        ),
        current="plain",
    )

    def outcome(level):
        return level * 1.0

    problem = Problem.of(
        [outcome],
        {"level": lognormal(1.0, 0.1)},
        targets={"outcome": Target(6.0, None)},
        knobs=(kind,),
        scales={"outcome": "log2"},
    )

    found = steer(problem, chance=0.9)

    assert found.smallest.settings["kind"] == "strong"
    assert found.now.chance == 0.0


def test_steering_without_targets_is_refused():
    problem = Problem.of(
        [strength],
        {"known": normal(0, 1), "scatter": normal(0, 1)},
        fixed={"dial": 0.0},
        knobs=(DIAL,),
    )

    with pytest.raises(StudyError, match="no targets"):
        steer(problem)


def test_identical_recipes_tie_exactly(problem):
    found = compare(problem, problem)

    assert np.all(found.tied.values == 1.0)
    assert np.all(found.difference.values == 0.0)


def test_a_shift_is_seen_without_noise_on_common_draws(problem):
    """Common random numbers: the difference of a pure shift has no variance at all."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.difference == pytest.approx(1.0)
    assert found.low == pytest.approx(1.0)
    assert found.variance_ratio > 1e6
    assert found.higher == 1.0


def test_scatter_is_that_of_repeat_brews(problem):
    """Batch kind alone: half the variance of `known` (0.5) and all of `scatter` (4)."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.scatter == pytest.approx(np.sqrt(4.5), rel=0.02)


def test_the_number_of_brews_is_the_handbook_one():
    """NIST/SEMATECH e-Handbook 7.2.2.2: 5 %, power 80 %: n = 2 (1.96 + 0.84)^2 at d = s."""
    assert batches_to_tell(1.0, 1.0) == 16.0
    assert np.isnan(batches_to_tell(0.0, 1.0))
    assert np.isnan(batches_to_tell(0.001, 1.0))


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

    assert elasticity(moved, "dial")["strength"] == pytest.approx(1.2)


def test_chances_that_only_multiply_are_no_conflict(problem):
    """Two targets with a knob each: chance lowers the joint chance, no target gives way."""
    targets = {"strength": Target(4.0, 8.0), "side": Target(-0.3, 0.3)}

    found = steer(replace(problem, targets=targets), chance=0.95)

    assert found.obstacles.gives_way is None
    assert found.obstacles.together < 0.95 * min(found.obstacles.alone.values())


def test_a_knob_that_moves_nothing_is_no_obstacle():
    idle = Knob("idle", "idle", "idle", None, 0.0, 1.0)

    def outcome(known, dial, idle):
        return known + dial + 0.0 * idle

    problem = Problem.of(
        [outcome],
        {"known": normal(0, 1)},
        fixed={"dial": 0.0, "idle": 0.5},
        targets={"outcome": Target(50.0, 52.0)},
        knobs=(DIAL, idle),
    )

    found = steer(problem)

    assert [place.knob for place in found.obstacles.locations] == ["dial"]
    assert found.obstacles.locations[0].limit == 50.0
    assert found.best.settings["dial"] == pytest.approx(10.0, abs=0.1)


def test_spread_is_judged_where_the_target_is():
    """A dial at zero silences the outcome; that is no sign that a window could hold it all."""

    def outcome(known, dial):
        return dial * known

    problem = Problem.of(
        [outcome],
        {"known": lognormal(1.0, 0.5)},
        fixed={"dial": 1.0},
        targets={"outcome": Target(4.0, 6.0)},
        knobs=(Knob("dial", "dial", "dial", None, 0.0, 10.0),),
    )

    found = steer(problem)

    assert found.obstacles.spread["outcome"] < 0.5


def test_fresh_draws_bear_out_the_search(problem):
    best = steer(problem, chance=0.5).best

    assert best.optimism == best.searched - best.chance
    assert abs(best.optimism) < 0.02


def test_a_choice_between_problems_has_the_shares_of_the_closed_form():
    """y = x + c, c = 0 or 3 as likely: both indices are 2.25 / (2.25 + 1)."""

    def outcome(known, dial):
        return known + dial

    problem = Problem.of([outcome], {"known": normal(0, 1)}, fixed={"dial": 0.0}, knobs=(DIAL,))
    options = {"as it is": problem, "more": problem.set({"dial": 3.0})}

    found = choice_shares(options).sel(outcome="outcome")

    for order in ("first_order", "total_order"):
        assert float(found[order]) == pytest.approx(2.25 / 3.25, abs=0.005)
        assert found[f"{order}_low"] <= found[order] <= found[f"{order}_high"]


def test_a_choice_between_the_same_problem_has_no_share(problem):
    found = choice_shares({"one": problem, "other": problem})

    assert float(abs(found["total_order"]).max()) == 0.0


def test_options_with_other_formulas_stand_beside_each_other(problem):
    """Another formula for one outcome; what both problems share is drawn once."""

    def strength(known, scatter, dial):
        return known + scatter + dial + 2.0

    other = Problem.of(
        [strength, side],
        {f.id: (f.distribution, f.kinds) for f in problem.factors},
        fixed={"dial": 0.0, "lever": 0.0},
        targets=dict(problem.targets),
    )

    along = turn_between({"this": problem, "that": other}, current="this", label="formula")
    middle = along["middle"].sel(outcome="strength")

    assert float(middle[1] - middle[0]) == pytest.approx(2.0, abs=1e-9)
    assert along.attrs["current"] == "this"
    assert list(along["setting"].values) == ["this", "that"]


def test_a_choice_of_one_is_refused(problem):
    with pytest.raises(StudyError, match="two options"):
        choice_shares({"only": problem})
