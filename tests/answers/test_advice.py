"""What to turn: the best lever of a model that can be worked out by hand."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.answers.advice import (
    Advice,
    Lever,
    _best,
    advise,
    agreed,
    floors_of,
    known_ratios,
    sides_of,
    sides_today,
)
from brewsim.distributions.constructors import normal
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target


def lever(gain=0.1, error=0.0, name="a", *, listed=True):
    return Lever(Knob(name, name), listed, 1.0, 2.0, gain, error, {}, {})


@pytest.mark.parametrize(
    ("gain", "error", "worth"),
    [
        (0.01, 0.0, True),
        (0.0099, 0.0, False),
        (0.02, 0.02, False),
        (0.021, 0.02, True),
        (-1, -2, False),
    ],
)
def test_a_lever_is_worth_turning_above_its_error_and_half_a_batch_in_fifty(gain, error, worth):
    assert lever(gain, error).worth_it is worth


def test_a_lever_helps_the_target_whose_chance_rises_most():
    chances = {"a": (0.9, 0.95), "b": (0.1, 0.4), "c": (0.5, 0.2)}

    assert replace(lever(), chances=chances).helps() == "b"


def test_the_best_lever_is_the_first_that_is_worth_it():
    good, faint = lever(0.1, name="good"), lever(0.001, name="faint")
    choice = lever(0.12, name="choice")

    assert Advice().best is None
    assert Advice(faint, faint, faint).best is None
    assert Advice(good, choice, faint).best is good
    assert Advice(faint, choice, None).best is choice
    assert Advice(good, None, choice).best is choice


@pytest.mark.parametrize(("gain", "told"), [(0.119, False), (0.125, True), (0.5, True)])
def test_a_choice_is_told_beside_the_best_where_it_adds_a_batch_in_fifty(gain, told):
    choice = lever(gain, name="choice")

    assert (Advice(lever(0.1), choice).other is choice) is told
    assert Advice(None, choice).other is None
    assert Advice(lever(0.1)).other is None


def thiol_lead(thiol_activity, hop_aroma_activity):
    return thiol_activity - hop_aroma_activity


def thiol_activity(dose, error):
    return dose + error


def hop_aroma_activity(hops, error):
    return hops - error


def ratio_problem(dose=3.0, hops=2.0, **targets):
    return Problem.of(
        [thiol_lead, thiol_activity, hop_aroma_activity],
        {"error": normal(0.0, 0.1)},
        fixed={"dose": dose, "hops": hops},
        targets=targets or {"thiol_lead": Target(0.5, 1.5)},
    )


def test_a_ratio_that_is_aimed_at_has_two_sides_with_a_floor_where_they_are_noticed():
    problem = ratio_problem()

    assert list(known_ratios(problem)) == ["thiol_lead"]
    assert sides_of(problem) == ["thiol_activity", "hop_aroma_activity"]
    assert sides_today(problem) == pytest.approx(
        {"thiol_activity": 3.0, "hop_aroma_activity": 2.0}, abs=2e-3
    )
    assert floors_of(problem) == {"thiol_activity": 1.0, "hop_aroma_activity": 1.0}
    assert floors_of(ratio_problem(dose=0.9)) == {"hop_aroma_activity": 1.0}
    aimed = {"thiol_lead": Target(0.5), "thiol_activity": Target(1.0)}
    assert floors_of(ratio_problem(**aimed)) == {"hop_aroma_activity": 1.0}
    other = ratio_problem(thiol_activity=Target(1.0))
    assert (sides_of(other), sides_today(other), floors_of(other)) == ([], {}, {})
    lone = Problem.of([thiol_activity], {"error": normal(0, 1)}, fixed={"dose": 1.0})
    assert known_ratios(lone) == {}


def y(level, bonus, error):
    return level + bonus + error


def plain_problem(knobs, level=0.0):
    """A standard normal about a level; the target is -1 to 1 around 10."""
    return Problem.of(
        [y],
        {"error": normal(0.0, 1.0)},
        fixed={"level": level, "bonus": 0.0},
        targets={"y": Target(9.0, 11.0)},
        knobs=knobs,
    )


LEVEL = Knob("level", "level", "level", low=0.0, high=16.0)
BONUS = Knob("bonus", "bonus", "bonus", low=0.0, high=9.0)
INSIDE = ndtr(1) - ndtr(-1)


def test_the_lever_that_reaches_the_target_is_found_with_its_chances_and_middles():
    """17 places over 0 to 16 are whole numbers; 10 puts the middle into the target's own."""
    found = advise(plain_problem((LEVEL, BONUS)))
    best = found.listed

    assert (best.knob.id, best.listed, best.now, best.setting) == ("level", True, 0.0, 10.0)
    assert best.gain == pytest.approx(INSIDE, abs=2e-3)
    assert 0 <= best.gain_error < 0.01
    assert best.chances["y"] == pytest.approx((0.0, INSIDE), abs=2e-3)
    assert best.middles["y"] == pytest.approx((0.0, 10.0), abs=5e-3)
    assert best.worth_it
    assert (found.choice, found.unlisted, found.together) == (None, None, None)
    assert (found.held, found.faint, found.tried) == ({}, {}, 2)


def test_a_lever_that_nobody_listed_is_told_where_it_adds_a_batch_in_fifty():
    """At 8.4375 of 0 to 9 the chance is Phi(2.56) - Phi(0.56); ten is out of its reach."""
    short = advise(plain_problem((BONUS,)), (LEVEL,))
    longer = advise(plain_problem((LEVEL,)), (BONUS,))
    alone = advise(plain_problem(()), (LEVEL,))

    assert (short.listed.knob.id, short.unlisted.knob.id) == ("bonus", "level")
    assert short.unlisted.listed is False
    assert (longer.listed.knob.id, longer.unlisted) == ("level", None)
    assert (alone.listed, alone.unlisted.knob.id, alone.tried) == (None, "level", 1)
    assert advise(replace(plain_problem((LEVEL,)), targets={})) == Advice()


def test_where_nothing_gains_nothing_is_advised():
    found = advise(plain_problem((LEVEL,), level=10.0))

    assert (found.listed, found.tried) == (None, 1)


class Search:
    """An evaluator of a target 0 to 1 whose chance at a setting is told, 100 draws each."""

    def __init__(self, chances, today=0.0, side=2.0):
        self.chances, self.today, self.side = chances, today, side
        self.problem = SimpleNamespace(
            targets={"y": Target(0.0, 1.0)}, fixed_at=lambda _quantity, _row: 5.0
        )

    def at(self, settings):
        (setting,) = settings.values() or (None,)
        hits = round(100 * self.chances.get(setting, self.today))
        side = self.side if setting is not None else 3.0
        return {"y": np.array([0.5] * hits + [2.0] * (100 - hits)), "side": np.full(100, side)}


DIAL = Knob("d", "d", "q", low=0.0, high=16.0)


@pytest.mark.parametrize(
    ("chances", "setting"),
    [
        ({9.0: 0.5, 8.0: 0.4, 7.0: 0.39}, 8.0),
        ({9.0: 0.5, 8.0: 0.39}, 9.0),
        ({1.0: 0.5, 8.0: 0.45}, 8.0),
        ({2.0: 0.5, 8.0: 0.5}, 2.0),
        ({}, None),
        ({5.0: 0.9}, None),
    ],
)
def test_the_nearest_setting_with_four_fifths_of_the_best_gain_is_taken(chances, setting):
    assert _best(Search(chances), DIAL, {}) == setting


@pytest.mark.parametrize(("side", "setting"), [(1.0, 8.0), (0.999, None)])
def test_no_setting_is_taken_that_lets_a_side_fall_below_its_floor(side, setting):
    assert _best(Search({8.0: 0.5}, side=side), DIAL, {"side": 1.0}) == setting


def test_a_gain_counts_from_today_and_the_first_good_choice_is_taken():
    choices = tuple(Choice(name, {}) for name in "abc")
    knob = Knob("k", "k", choices=choices, current="a")

    assert _best(Search({"b": 0.45, "c": 0.5}), knob, {}) == "b"
    assert _best(Search({"b": 0.35, "c": 0.5}, today=0.3), knob, {}) == "c"
    assert _best(Search({"b": 0.2}, today=0.3), knob, {}) is None


class Turned:
    """Surfaces of ten draws: today and at any settings."""

    def __init__(self, today, moved):
        self.today, self.moved = today, moved

    def values(self, _settings):
        return self.moved


def hits(count, of=10):
    return np.array([0.5] * count + [5.0] * (of - count))


PROBLEM = plain_problem(())
AIMED = replace(PROBLEM, targets={"y": Target(0.0, 1.0)})


def test_chances_of_levers_are_moved_as_the_dials_of_the_page_move_them():
    told = replace(lever(), chances={"y": (0.25, 0.9)})
    found = agreed(Advice(told, None, told), Turned({"y": hits(2)}, {"y": hits(7)}), AIMED)

    assert found.listed.gain == pytest.approx(0.5)
    assert found.listed.chances["y"] == pytest.approx((0.25, 0.75))
    assert found.choice is None
    assert found.unlisted is told


@pytest.mark.parametrize(("today", "moved"), [({}, {"y": hits(7)}), ({"y": hits(2)}, {})])
def test_a_lever_of_a_target_without_a_surface_stays_as_it_was_judged(today, moved):
    told = replace(lever(), chances={"y": (0.25, 0.9)})

    assert agreed(Advice(told), Turned(today, moved), AIMED).listed is told


@pytest.mark.parametrize(
    ("surfaces", "smallest", "together"),
    [
        (None, None, 0.6),
        (None, SimpleNamespace(chance=0.5, settings={}), 0.3),
        (Turned({"y": hits(2)}, {"y": hits(6)}), None, 0.4),
        (Turned({"z": hits(2)}, {"z": hits(6)}), None, 0.6),
    ],
)
def test_what_all_knobs_do_together_is_what_the_page_shows_of_them(surfaces, smallest, together):
    steered = SimpleNamespace(
        smallest=smallest,
        best=SimpleNamespace(chance=0.8, settings={}),
        now=SimpleNamespace(chance=0.2),
    )

    assert agreed(Advice(), surfaces, AIMED, steered).together == pytest.approx(together)
