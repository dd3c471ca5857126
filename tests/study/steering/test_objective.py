"""The landscape that is steered over: windows, moves in shares of a range, the soft chance."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit, ndtr

from brewsim.distributions.constructors import uniform
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.steering.objective import SOFTNESS, Landscape, Window
from tests.study.linear import DIAL, LEVER, linear_problem

PLAN = Plan(8, 256, 1)


def land_of(problem=None, **targets):
    problem = problem or linear_problem()
    problem = replace(problem, targets=targets) if targets else problem
    return Landscape(problem, problem.knobs, PLAN)


@pytest.mark.parametrize(
    ("value", "outside"), [(3.0, 0.5), (4.0, 0.0), (6.0, 0.0), (8.0, 0.0), (11.0, 1.5)]
)
def test_a_value_lies_outside_by_half_widths_of_its_window(value, outside):
    assert Window(4.0, 8.0, 2.0).outside(value) == outside


@pytest.mark.parametrize("target", [Target(4.0, None), Target(None, 4.0), Target(4.0, 4.0)])
def test_a_window_without_width_of_its_own_is_measured_in_the_outcomes_spread(target):
    """Strength has variance 5 today; a window that is open or a point has no half width."""
    window = land_of(strength=target).windows["strength"]

    assert window.half == pytest.approx(np.sqrt(5), rel=0.01)


def test_half_a_window_is_half_of_what_lies_between_its_limits():
    land = land_of()

    assert (land.windows["strength"].half, land.windows["side"].half) == (2.0, 1.0)


def still(dial):
    return 1.0 * dial


def test_what_does_not_spread_is_measured_in_its_own_unit():
    problem = Problem.of([still], {}, fixed={"dial": 0.0}, knobs=(DIAL,))

    assert land_of(problem, still=Target(4.0, None)).windows["still"].half == 1.0


def chosen():
    knobs = (
        Knob("yeast", "yeast", choices=(Choice("a"), Choice("b"), Choice("c")), current="b"),
        Knob("water", "water", choices=(Choice("soft"), Choice("hard"))),
    )
    return replace(linear_problem(), knobs=(DIAL, *knobs, LEVER))


def test_a_move_is_the_share_of_each_range_and_another_choice_one_whole():
    """Half of the dial's 12, a quarter of the lever's 20, and another yeast: 1.75."""
    land = land_of(chosen())

    assert land.distance({}) == 0.0
    assert land.distance({"dial": 6.0}) == 0.5
    assert land.distance({"yeast": "b", "water": "soft"}) == 0.0
    assert land.distance({"dial": 6.0, "lever": -5.0, "yeast": "c"}) == 1.75


def test_every_combination_of_choices_is_tried_todays_first():
    found = land_of(chosen()).categories()

    assert found == [{"yeast": y, "water": w} for y in "bac" for w in ("soft", "hard")]


def test_places_between_nothing_and_one_are_settings_along_the_ranges():
    """Dial -2 to 10 without steps, lever -10 to 10 in halves."""
    land = land_of()

    free = land.settings(np.array([0.25, 0.26]), {"yeast": "a"}, snapped=False)
    whole = land.settings(np.array([0.25, 0.26]), {}, snapped=True)
    beyond = land.settings(np.array([-0.5, 1.5]), {}, snapped=True)

    assert free == pytest.approx({"dial": 1.0, "lever": -4.8, "yeast": "a"}, abs=1e-12)
    assert whole == {"dial": 1.0, "lever": -5.0}
    assert beyond == land.settings(np.array([-0.5, 1.5]), {}, snapped=False)
    assert beyond == {"dial": -2.0, "lever": 10.0}


def test_a_setting_stands_at_its_share_of_the_range_and_others_as_now():
    land = land_of()

    np.testing.assert_allclose(land.place({}), [2 / 12, 0.5])
    np.testing.assert_allclose(land.place({"dial": 4.0}), [0.5, 0.5])
    np.testing.assert_allclose(land.place({"lever": 99.0}), [2 / 12, 1.0])


def test_a_dial_without_a_range_is_no_dial():
    stuck = replace(LEVER, id="stuck", low=0.0, high=0.0)
    problem = replace(linear_problem(), knobs=(DIAL, stuck))

    assert [knob.id for knob in land_of(problem).knobs] == ["dial"]


def test_one_look_tells_who_lands_in_each_target_and_who_in_all():
    land = land_of()

    spot = land.look({"dial": 5.0, "lever": 5.0})

    both = spot.inside["strength"] & spot.inside["side"]
    assert spot.chance == np.mean(both)
    assert spot.inside["side"].mean() == pytest.approx(2 * ndtr(2.0) - 1, abs=0.01)
    assert spot.middles == pytest.approx({"strength": 5.0, "side": 0.0}, abs=0.05)
    assert land.look({"lever": 5.0, "dial": 5.0}) is spot


def test_a_limit_itself_is_inside():
    problem = Problem.of([still], {}, fixed={"dial": 0.0}, knobs=(DIAL,))
    land = land_of(problem, still=Target(4.0, 8.0))

    assert [land.look({"dial": at}).chance for at in (3.9, 4.0, 8.0, 8.1)] == [0.0, 1.0, 1.0, 0.0]


@pytest.mark.parametrize("at", [4.0, 5.0, 8.3, 0.0])
def test_the_soft_chance_has_an_edge_on_each_side_and_a_weak_pull_inwards(at):
    """Half width 2: the edges are 0.3 wide; a hundredth is taken off for each half width."""
    problem = Problem.of([still], {}, fixed={"dial": 0.0}, knobs=(DIAL,))
    edge = SOFTNESS * 2.0
    outside = max(0.0, 4.0 - at, at - 8.0) / 2.0

    found = land_of(problem, still=Target(4.0, 8.0)).smooth({"dial": at})

    inside = expit((at - 4.0) / edge) * expit((8.0 - at) / edge)
    assert found == pytest.approx(inside - 0.01 * outside)


def test_an_open_window_has_one_soft_edge_and_the_pull_ends_at_a_hundred():
    far = Knob("dial", "dial", "dial", None, -1e6, 1e6)
    problem = Problem.of([still], {}, fixed={"dial": 0.0}, knobs=(far,))
    lower, upper = land_of(problem, still=Target(4.0)), land_of(problem, still=Target(None, 4.0))

    assert lower.smooth({"dial": 4.0}) == pytest.approx(0.5)
    assert upper.smooth({"dial": 4.0}) == pytest.approx(0.5)
    assert lower.smooth({"dial": 9e5}) == pytest.approx(1.0)
    assert lower.smooth({"dial": -9e5}) == pytest.approx(-1.0)


def test_soft_chances_of_two_targets_multiply_draw_by_draw_and_pulls_add_up():
    def other(dial):
        return -1.0 * dial

    problem = Problem.of([still, other], {}, fixed={"dial": 0.0}, knobs=(DIAL,))
    land = land_of(problem, still=Target(1.0, 3.0), other=Target(-1.0, 1.0))

    edge = SOFTNESS * 1.0
    both = expit(0.5 / edge) * expit(1.5 / edge) * expit(-0.5 / edge) * expit(2.5 / edge)
    assert land.smooth({"dial": 1.5}) == pytest.approx(both - 0.01 * 0.5)


def test_draws_without_a_value_do_not_land_and_are_far_outside():
    def broken(known):
        return np.log(known)

    problem = Problem.of([broken], {"known": uniform(-2.0, 1.0)}, knobs=())
    with np.errstate(invalid="ignore"):
        spot = land_of(problem, broken=Target(-9.0, 9.0)).look({})

    assert spot.chance == pytest.approx(1 / 3, abs=0.01)
    assert spot.middles["broken"] > 1e100


@pytest.mark.parametrize("target", [Target(0.0, None), Target(None, 9.0), Target(0.0, 9.0)])
def test_draws_without_a_value_add_nothing_to_the_soft_chance(target):
    """Half the draws have none, the others lie well inside: 0.5, not 1."""

    def rooted(x):
        return np.sqrt(x) + 4

    problem = Problem.of([rooted], {"x": uniform(-1, 1)}, targets={"rooted": target})
    land = Landscape(problem, (), PLAN)

    assert np.isfinite(land.windows["rooted"].half)
    assert land.smooth({}) <= 0.5 + 1e-9
    assert land.look({}).chance == pytest.approx(0.5, abs=0.01)
