"""What to turn: the moves of a model that can be worked out by hand."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from scipy.special import ndtr

from brewsim.answers import fewest_moves as module
from brewsim.answers.fewest_moves import FewestMoves, PlainMove, fewest_moves
from brewsim.answers.forecast import Today, drawn_for, summary_of, today_of
from brewsim.distributions.constructors import normal
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.steering.fewest_knobs import FewestKnobs

INSIDE = ndtr(1) - ndtr(-1)


def move(gain=0.1, chances=None):
    return PlainMove({"a": 1.0}, (gain, 0.0), 0.0, chances or {}, {}, {})


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


LEVEL = Knob("level", "level", "level", low=0.0, high=16.0, step=1.0)
BONUS = Knob("bonus", "bonus", "bonus", low=0.0, high=9.0, step=1.0)


@pytest.fixture
def advised(monkeypatch):
    """Return a function: what is advised of knobs, with others that nobody listed."""

    def advise(knobs, others=(), level=0.0, today=None, named=None):
        monkeypatch.setattr(module, "unlisted_knobs", lambda _recipe, _problem: tuple(others))
        monkeypatch.setattr(module, "stopped", lambda _recipe, _problem, _settings: ())
        problem = plain_problem(knobs, level)
        here = today or today_of(problem, summary_of(drawn_for(problem, 1024)))
        return fewest_moves(SimpleNamespace(), problem, problem, here, knobs=named)

    return advise


def test_a_move_helps_the_target_whose_chance_rises_most():
    assert move(chances={"a": (0.9, 0.95), "b": (0.1, 0.4), "c": (0.5, 0.2)}).helps() == "b"


def test_of_two_knobs_that_do_the_same_one_is_turned_to_the_middle_of_the_target(advised):
    found = advised((LEVEL, BONUS))
    chosen = found.chosen

    assert chosen.settings == {"level": 10.0}
    assert found.one_helps
    assert chosen.gain[0] == pytest.approx(INSIDE, abs=2e-3)
    assert 0 <= chosen.gain[1] < 0.01
    assert chosen.chances["y"] == pytest.approx((0.0, INSIDE), abs=2e-3)
    assert chosen.medians["y"] == pytest.approx((0.0, 10.0), abs=5e-3)
    assert chosen.changes["y"] == pytest.approx((10.0, 10.0, 10.0))
    assert found.nearest.settings == {"level": 9.0}
    assert found.nearest.gain[0] == pytest.approx(ndtr(2) - 0.5, abs=2e-3)
    assert found.moves == (chosen, found.nearest)
    assert (found.unlisted, found.alone, found.floors, found.faint) == (None, 0, {}, {})


def test_gains_come_on_top_of_what_is_printed_of_today(advised):
    """What is printed is 0.03 off on purpose: the move is told 0.03 off as well."""
    found = advised((LEVEL,), today=Today((0.03, 0.01), {"y": 0.04}, {"y": 0.5}))

    assert found.chosen.chance == pytest.approx(0.03 + INSIDE, abs=2e-3)
    assert found.chosen.chances["y"] == pytest.approx((0.04, 0.04 + INSIDE), abs=2e-3)
    assert found.chosen.medians["y"] == pytest.approx((0.5, 10.5), abs=5e-3)


def test_no_chance_is_more_than_all(advised):
    found = advised((LEVEL,), today=Today((0.9, 0.01), {"y": 0.9}, {"y": 0.0}))

    assert (found.chosen.chance, found.chosen.chances["y"][1]) == (1.0, 1.0)


def test_where_nothing_gains_nothing_is_advised(advised):
    found = advised((LEVEL,), level=10.0)

    assert (found.chosen, found.nearest, found.unlisted, found.moves) == (None, None, None, ())
    assert not found.one_helps
    assert found.today.chance[0] == pytest.approx(INSIDE, abs=5e-3)


@pytest.mark.parametrize(("level", "advises"), [(10.6, True), (10.3, False)])
def test_two_batches_of_fifty_are_what_a_move_must_gain(advised, level, advises):
    """From 10.6 it is Phi(1) - Phi(-1) - (Phi(0.4) - Phi(-1.6)) = 0.08; from 10.3, 0.02."""
    gain = INSIDE - (ndtr(11 - level) - ndtr(9 - level))
    found = advised((LEVEL,), level=level)

    assert bool(gain >= 0.04) is advises
    assert (found.chosen is not None) is advises


def test_what_was_found_with_all_knobs_is_a_candidate_with_one_knob_left_after_the_other():
    knobs = [replace(one, high=2.0) for one in (LEVEL, BONUS)]
    search = FewestKnobs(plain_problem(knobs), knobs, lambda s: sum(s.values()) / 10)
    search.also({"level": 2.0, "bonus": 1.0, "other": 3.0})

    assert {key: pytest.approx(sum(dict(key).values()) / 10) for key in search.seen} == search.seen
    assert {frozenset(dict(key)) for key in search.seen} == {
        frozenset({"level", "bonus"}),
        frozenset({"bonus"}),
        frozenset({"level"}),
        frozenset(),
    }


def test_a_lever_that_nobody_listed_is_told_where_it_adds_a_batch_in_fifty(advised):
    """Nine of ten is 1 short: Phi(2) - Phi(0); ten is what the other lever reaches."""
    short, longer, alone = (
        advised((BONUS,), (LEVEL,)),
        advised((LEVEL,), (BONUS,)),
        advised((), (LEVEL,)),
    )

    assert (short.chosen.settings, short.unlisted.settings) == ({"bonus": 9.0}, {"level": 10.0})
    assert short.moves[0] is short.unlisted
    assert (longer.chosen.settings, longer.unlisted) == ({"level": 10.0}, None)
    assert (alone.chosen, alone.unlisted.settings) == (None, {"level": 10.0})
    assert {knob.id for knob in short.problem.knobs} == {"bonus", "level"}


def test_only_the_knobs_that_are_named_move(advised):
    assert advised((LEVEL, BONUS), named=["bonus"]).chosen.settings == {"bonus": 9.0}


@pytest.mark.parametrize(("gain", "place"), [(0.2, 0), (0.1, 0), (0.09, 2)])
def test_what_gains_more_from_one_lever_comes_first(gain, place):
    other, chosen, nearest = move(gain), move(0.1), move(0.05)
    today = Today((0.1, 0.0), {}, {})
    found = FewestMoves(today, chosen, nearest, other, plain_problem(()), {}, {})

    assert [one is other for one in found.moves].index(True) == place
    assert len(found.moves) == 3
