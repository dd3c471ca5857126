"""Steering from a tasted batch, against closed forms on a beer that is linear in doublings."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.model.batch import Batch
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.steering import fewest_knobs
from brewsim.study.steering.aims import (
    Difference,
    Fold,
)
from brewsim.study.steering.fewest_knobs import FewestKnobs
from brewsim.study.steering.relative_steering import (
    Question,
    Report,
    search_from,
    steer_from,
)
from tests.study.posteriors import by_hand

BREW_SD = 0.6
PLAN = Plan(8, 2048, 3)


def amount(base, dose, late, brew):
    return 2.0 ** (base + 0.5 * dose + 0.25 * late + brew)


def bitter(late, bittering):
    return 20.0 + 2.0 * late + bittering


def dial(name, low=-8.0, high=8.0, step=0.5):
    return Knob(name, name, name, None, low, high, step)


STRAIN = Knob(
    "strain",
    "strain",
    choices=(
        Choice("loud", distributions={"base": normal(3.0, 1.0)}),
        Choice("quiet", distributions={"base": normal(1.0, 1.0)}),
    ),
    current="loud",
)


def beer(*knobs, dose=0.0):
    return Problem.of(
        [amount, bitter],
        {"base": (normal(3.0, 1.0), Kinds(1, 0, 0)), "brew": (normal(0, BREW_SD), Kinds(0, 0, 1))},
        fixed={"dose": dose, "late": 0.0, "bittering": 0.0},
        outcomes=["amount", "bitter"],
        scales={"amount": "log2"},
        knobs=knobs or (dial("dose"), dial("late"), dial("bittering")),
    )


def asked(problem=None, wishes=None, holds=(), brew=0.0):
    """Ask from a batch whose truth is known: base at its middle, its own brew at `brew` sd."""
    problem = problem or beer()
    batch = Batch("G1", problem)
    known = {"base @knowledge": 0.0, "brew @batch G1": brew}
    wishes = wishes or (Fold("amount", "G1", -1.5, -0.5),)
    learned = by_hand(problem, (batch,), known)
    return Question(learned, (batch,), batch, problem, wishes, holds, ("amount", "bitter"))


def steered(question, *, seed=1, others=()):
    knobs = [k for k in question.problem.knobs if k not in others]
    return steer_from(question, search_from(question, knobs, seed=seed), others, seed=seed)


def test_a_next_brew_scatters_and_the_same_wort_does_not():
    """Fold in doublings: 0.5 dose in the same wort, N(0.5 dose, 0.6^2) in the next brew."""
    report = Report(asked(), PLAN)
    move = report.move({"dose": -2.0})
    exact = ndtr(0.5 / BREW_SD) - ndtr(-0.5 / BREW_SD)

    assert move.wish[0] == pytest.approx(exact, abs=4 * move.wish[1] + 1e-3)
    assert move.same_wort == (1.0, 0.0)
    same, following = move.folds["amount"]
    assert (same.low, same.high) == (0.5, 0.5)
    assert np.log2(following.high / following.low) == pytest.approx(2 * 1.645 * BREW_SD, rel=0.01)


def faint_amount(base, dose, late, brew):
    """An amount that a brew one standard deviation low does not have."""
    return np.where(brew > -BREW_SD, amount(base, dose, late, brew), np.nan)


def faint_beer():
    return Problem.of(
        [faint_amount],
        {"base": (normal(3.0, 1.0), Kinds(1, 0, 0)), "brew": (normal(0, BREW_SD), Kinds(0, 0, 1))},
        fixed={"dose": 0.0, "late": 0.0},
        scales={"faint_amount": "log2"},
        knobs=(dial("dose"),),
    )


def test_draws_without_a_value_are_counted_and_meet_nothing():
    """Phi(-1) of the next brews have none; the same wort, an ordinary brew, has all of them."""
    problem = faint_beer()
    batch = Batch("G1", problem)
    learned = by_hand(problem, (batch,), {"base @knowledge": 0.0, "brew @batch G1": 0.0})
    any_fold = (Fold("faint_amount", "G1", -np.inf, 9.0),)
    question = Question(learned, (batch,), batch, problem, any_fold, (), ("faint_amount",))

    move = Report(question, PLAN).move({"dose": -2.0})
    whole = Report(asked(), PLAN).move({"dose": -2.0})

    assert move.left_out["faint_amount"] / PLAN.draws == pytest.approx(ndtr(-1), abs=2e-3)
    assert move.wish[0] == pytest.approx(ndtr(1), abs=2e-3)
    assert np.isfinite(move.folds["faint_amount"][1].low)
    assert whole.left_out == {}


def test_an_odd_brew_is_not_expected_again():
    """A tasted brew 2 sd high: the next one, unchanged, is lower by 2 x 0.6 doublings."""
    move = Report(asked(brew=2.0), PLAN).move({})

    assert np.log2(move.folds["amount"][1].middle) == pytest.approx(-2 * BREW_SD, abs=0.01)
    assert move.not_less == pytest.approx(ndtr(-2.0), abs=0.01)


def test_what_is_held_is_judged_in_the_same_wort():
    holds = (Difference("bitter", "G1", -1.0, 1.0),)
    report = Report(asked(holds=holds), PLAN)

    assert report.move({"late": -4.0}).all_met[0] == 0.0
    compensated = report.move({"late": -4.0, "bittering": 8.0})
    assert compensated.all_met == compensated.wish


def test_another_strain_starts_with_nothing_known_of_it():
    """Known: N(3 + 0, 0) becomes N(1, 1) for the other; kept latents would give 1 exactly."""
    report = Report(asked(beer(STRAIN, dial("dose"))), PLAN)

    same, following = report.move({"strain": "quiet"}).folds["amount"]

    assert np.log2(same.middle) == pytest.approx(-2.0, abs=0.02)
    assert np.log2(same.high / same.low) == pytest.approx(2 * 1.645, rel=0.01)
    spread = np.hypot(1.0, BREW_SD)
    assert np.log2(following.high / following.low) == pytest.approx(2 * 1.645 * spread, rel=0.01)


def test_the_fewest_knobs_and_the_smallest_change_are_chosen():
    """A dose of -2 alone is the middle of the wish; no second knob can add anything."""
    found = steered(asked(holds=(Difference("bitter", "G1", -1.0, 1.0),)), seed=2)

    assert set(found.chosen.settings) == {"dose"}
    assert -2.5 <= found.chosen.settings["dose"] <= -1.0
    assert found.nearest is not None
    assert abs(found.nearest.settings["dose"]) <= abs(found.chosen.settings["dose"])
    assert found.chosen.all_met[0] > found.nearest.all_met[0] > found.unchanged.all_met[0]


def test_a_hold_is_rebalanced_by_another_knob_where_one_can():
    problem = beer(dial("late"), dial("bittering"))
    found = steered(asked(problem, holds=(Difference("bitter", "G1", -1.0, 1.0),)), seed=2)

    late, bittering = (found.chosen.settings[name] for name in ("late", "bittering"))
    assert 2 * late + bittering == pytest.approx(0.0, abs=1.0)
    assert found.chosen.all_met[0] > 0.4


def test_no_knob_that_helps_is_said():
    problem = beer(dial("bittering"))

    assert steered(asked(problem)).nearest is None
    with pytest.raises(StudyError, match="no knobs"):
        search_from(asked(problem), [])


def test_a_lever_that_is_no_knob_is_named_where_it_does_better():
    """The dose lowers the amount, the bittering does nothing for it."""
    dose, bittering = dial("dose"), dial("bittering")

    found = steered(asked(beer(dose, bittering)), others=(dose,))
    assert found.unlisted is not None
    assert set(found.unlisted.settings) == {"dose"}
    assert found.unlisted.all_met[0] > found.unchanged.all_met[0] + 0.02
    assert set(found.chosen.settings) <= {"bittering"}
    assert steered(asked(beer(dose, bittering)), others=(bittering,)).unlisted is None


def test_the_search_comes_within_a_hundredth_of_a_full_grid():
    """A smooth chance over three knobs with a ridge; grid of 17 x 17 x 17."""
    knobs = [dial(name) for name in ("dose", "late", "bittering")]

    def chance(settings):
        x, y, z = (float(settings.get(k.id, 0.0)) for k in knobs)
        return float(np.exp(-((x + y / 2 + 3) ** 2) / 4 - (y - z - 1) ** 2 / 9 - z * z / 60))

    found = FewestKnobs(beer(), knobs, chance).search()
    where = np.linspace(-8, 8, 17)
    grid = max(
        chance({"dose": x, "late": y, "bittering": z}) for x in where for y in where for z in where
    )

    assert max(found.seen.values()) >= grid - 0.01
    assert len(found.seen) < 600
    today = chance({})
    chosen = found.chosen_by(lambda settings: (chance(settings) - today, 0.0))
    assert chance(chosen) >= grid - 0.03


def test_of_many_knobs_those_that_do_most_alone_are_tried_together(monkeypatch):
    monkeypatch.setattr(fewest_knobs, "MOST_PAIRED", 2)
    worth = {"dose": 0.02, "late": 0.05, "bittering": 0.04}

    def chance(settings):
        return float(sum(w * abs(settings.get(name, 0.0)) / 8 for name, w in worth.items()))

    found = FewestKnobs(beer(), [dial(name) for name in worth], chance).search()
    together = {tuple(name for name, _ in key) for key in found.seen if len(key) > 1}

    assert [knob.id for knob in found.paired()] == ["late", "bittering"]
    assert together == {("bittering", "late")}
    assert any(key and key[0][0] == "dose" for key in found.seen)


def test_another_judge_says_how_many_knobs_are_enough():
    """Two knobs seem better by 0.05 on the search's draws; by the judge they add nothing."""
    knobs = [dial("dose"), dial("late")]
    search = FewestKnobs(beer(), knobs, lambda s: min(0.5, 0.1 * abs(s.get("dose", 0))) + (
        0.05 if "late" in s and "dose" in s else 0.0
    )).search()  # fmt: skip

    assert len(search.best()) == 2
    assert set(search.chosen_by(lambda s: (0.5 if "dose" in s else 0.0, 0.0))) == {"dose"}


@pytest.mark.parametrize(
    ("gain", "advised"), [((0.05, 0.01), True), ((0.039, 0.01), False), ((0.05, 0.06), False)]
)
def test_a_move_is_advised_for_two_batches_of_fifty_beyond_its_error(gain, advised):
    search = FewestKnobs(beer(), [dial("dose")], lambda s: 0.1 * abs(s.get("dose", 0))).search()

    assert bool(search.chosen_by(lambda _settings: gain)) is advised
    assert (search.nearest_useful(lambda _settings: gain) is not None) is advised


def test_a_smaller_change_that_is_not_worth_turning_is_passed_over():
    """The search likes 4 and more alike; the judge sees a gain from 6 on."""
    search = FewestKnobs(beer(), [dial("dose")], lambda s: min(0.4, abs(s.get("dose", 0)) / 10))
    chosen = search.search().chosen_by(lambda s: (0.1 if abs(s["dose"]) >= 6 else 0.0, 0.01))

    assert abs(chosen["dose"]) == 6.0
    assert search.nearest_useful(lambda _s: (0.1, 0.01)) == {"dose": pytest.approx(-2.0)}


def test_a_setting_that_is_judged_is_the_one_that_is_printed():
    """A dial without steps stands where its decimals say, in its own unit."""
    knob = replace(dial("dose", step=0.0), unit="g", per_shown=0.1)
    search = FewestKnobs(beer(), [knob], lambda s: -abs(s.get("dose", 0) - 1.2345)).search()
    (value,) = search.best().values()

    assert round(knob.as_shown(value), knob.decimals) == pytest.approx(knob.as_shown(value))
