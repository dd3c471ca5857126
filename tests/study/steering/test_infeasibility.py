"""What stands in the way of targets, on landscapes whose every share is known."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import uniform
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.steering.infeasibility import obstacles
from brewsim.study.steering.objective import Landscape


def level(known, dial, slope):
    return known + slope * dial


def other(known, dial):
    return known - dial


def land_of(targets, slope=2.0, scales=None, formulas=(level, other), low=0.0, high=1.0):
    """Known spreads evenly from 0 to 1; the dial moves one outcome up and the other down."""
    problem = Problem.of(
        list(formulas),
        {"known": uniform(0.0, 1.0)},
        fixed={"dial": 0.0, "slope": slope} if level in formulas else {"dial": 0.0},
        targets=targets,
        knobs=(Knob("dial", "dial", "dial", None, low, high),),
        scales=scales or {},
    )
    return Landscape(problem, problem.knobs, Plan(8, 256, 1))


def seen(land, *dials):
    land.look({})
    for dial in dials:
        land.look({"dial": dial})
    return obstacles(land)


def test_the_best_of_each_target_and_of_all_is_over_the_settings_seen():
    """At 0 a quarter lands in one and all in the other; at 0.25 a half and three quarters."""
    targets = {"level": Target(0.75, 2.0), "other": Target(0.0, 1.0)}

    found = seen(land_of(targets, slope=1.0), 0.25)

    assert found.alone == pytest.approx({"level": 0.5, "other": 1.0}, abs=0.01)
    assert found.together == pytest.approx(0.5, abs=0.01)


def test_two_targets_fight_where_no_setting_seen_keeps_both_near_their_best():
    """Kept at best: the lesser of each one's share of its best, 0.5 here; a tenth may go."""
    targets = {"level": Target(1.5, 2.0), "other": Target(0.5, 1.0)}
    fighting = seen(land_of(targets, slope=1.0), 1.0)
    friends = seen(land_of({**targets, "other": Target(-9.0, 9.0)}, slope=1.0), 1.0)

    assert fighting.alone == pytest.approx({"level": 0.5, "other": 0.5}, abs=0.01)
    assert fighting.gives_way == ("level", "other")
    assert friends.gives_way is None


def test_a_target_nobody_reaches_fights_with_none():
    targets = {"level": Target(90.0, 99.0), "other": Target(0.0, 1.0)}

    assert seen(land_of(targets)).gives_way is None


def rises(known, dial):
    return known + dial


@pytest.mark.parametrize(("kept", "fights"), [(0.85, True), (0.95, False)])
def test_a_tenth_of_the_best_may_be_lost_without_a_fight(kept, fights):
    """At the second setting one keeps all of its best, the other that share of its own."""
    targets = {"level": Target(1.0, 2.0), "rises": Target(0.0, 1.0)}
    land = land_of(targets, slope=1.0 / (1.0 - kept), formulas=(level, rises))

    found = seen(land, 1.0 - kept)

    assert found.alone == pytest.approx({"level": 1.0, "rises": 1.0}, abs=0.01)
    assert (found.gives_way is not None) == fights


def test_a_window_holds_its_width_of_what_spreads_evenly_wherever_it_lies():
    found = seen(land_of({"level": Target(7.0, 7.25), "other": Target(0.9, 1.5)}))

    assert found.spread == pytest.approx({"level": 0.25, "other": 0.6}, abs=0.01)


def test_an_open_window_could_hold_all():
    assert seen(land_of({"level": Target(7.0, None)})).spread == {"level": 1.0}


def folds(known, dial):
    return np.exp(known) + 0.0 * dial


@pytest.mark.parametrize("scale", ["log", "log2"])
def test_a_window_of_folds_is_as_wide_as_the_ratio_of_its_limits(scale):
    """ln spreads evenly over 1: limits e^0.25 apart hold a quarter at any level."""
    target = {"folds": Target(40.0, 40.0 * np.exp(0.25))}

    found = seen(land_of(target, scales={"folds": scale}, formulas=(folds,)))

    assert found.spread["folds"] == pytest.approx(0.25, abs=0.01)


def test_a_window_of_folds_from_nothing_up_is_taken_as_it_stands():
    """From 0 to 1.2: exp(u) - 1 is e - 1 = 1.718 wide and densest at its low end."""
    target = {"folds": Target(0.0, 1.2)}

    found = seen(land_of(target, scales={"folds": "log"}, formulas=(folds,)))

    assert found.spread["folds"] == pytest.approx(np.log(2.2), abs=0.01)


def gappy(known, dial):
    return np.where(known < 0.4, np.nan, known) + 0.0 * dial


def test_draws_without_a_value_are_in_no_window():
    found = seen(land_of({"gappy": Target(0.0, 5.0)}, formulas=(gappy,)))

    assert found.spread["gappy"] == pytest.approx(0.6, abs=0.01)


def lost(known, dial):
    return np.where(dial > 0.5, np.nan, known)


def test_a_setting_at_which_nothing_has_a_value_holds_nothing_in_any_window():
    """A quarter of what spreads evenly fits at the one setting; at the other there is nothing."""
    found = seen(land_of({"lost": Target(0.0, 0.25)}, formulas=(lost,)), 1.0)

    assert found.spread["lost"] == pytest.approx(0.25, abs=0.01)
    assert found.alone["lost"] == pytest.approx(0.25, abs=0.01)


@pytest.mark.parametrize(("lower", "upper", "limit"), [(5.0, 6.0, 5.0), (-6.0, -5.0, -5.0)])
def test_a_knob_is_told_with_how_far_it_moves_a_middle_and_the_limit_missed(lower, upper, limit):
    """The middle of known is 0.5 and twice the dial's 0 to 1 is added."""
    (found,) = seen(land_of({"level": Target(lower, upper)})).locations

    assert (found.knob, found.outcome, found.limit) == ("dial", "level", limit)
    assert (found.low, found.high) == pytest.approx((0.5, 2.5), abs=0.01)


def test_no_knob_is_told_for_a_middle_that_is_inside():
    assert seen(land_of({"level": Target(0.0, 1.0)})).locations == ()


@pytest.mark.parametrize(("slope", "told"), [(0.09, 0), (0.11, 1), (-0.11, 1)])
def test_a_knob_that_moves_less_than_a_twentieth_of_half_the_window_is_not_told(slope, told):
    """Half the window is 2: a twentieth of it 0.1."""
    found = seen(land_of({"level": Target(5.0, 9.0)}, slope=slope))

    assert len(found.locations) == told


def test_every_knob_that_moves_a_missed_outcome_is_told_for_it_alone():
    land = land_of({"level": Target(5.0, 6.0), "other": Target(0.0, 1.0)})
    idle = replace(land.problem.knobs[0], id="idle", quantity="slope", low=2.0, high=3.0)
    problem = replace(land.problem, knobs=(*land.problem.knobs, idle))

    found = seen(Landscape(problem, problem.knobs, Plan(8, 256, 1)))

    assert [(place.knob, place.outcome) for place in found.locations] == [("dial", "level")]


def aside(known):
    return 1.0 * known


def test_of_several_pairs_the_one_that_keeps_least_gives_way():
    """The first in the alphabet gets on with everybody; the other two pull the dial apart."""
    targets = {
        "aside": Target(0.0, 1.0),
        "level": Target(1.5, 2.0),
        "other": Target(0.5, 1.0),
    }

    found = seen(land_of(targets, slope=1.0, formulas=(level, other, aside)), 1.0)

    assert found.gives_way == ("level", "other")


def widening(known, dial):
    return dial * (1.0 + known)


@pytest.mark.parametrize(("dials", "told"), [((0.5, 0.75, 2.0), 2 / 3), ((0.5, 0.75), 1.0)])
def test_a_middle_past_its_best_place_on_both_sides_is_held_back_by_spread_alone(dials, told):
    """From the dial to twice the dial: two thirds land at 0.75, none at 0.5 and none at 2.

    The window holds all of what lies closer together at 0.5, so more range could still help
    where none of the dials goes beyond 0.75.
    """
    found = seen(land_of({"widening": Target(1.0, 1.5)}, formulas=(widening,)), *dials)

    assert found.alone["widening"] == pytest.approx(2 / 3, abs=0.01)
    assert found.spread["widening"] == pytest.approx(told, abs=0.01)
