"""Settings and options on common draws: as if posed there, and what a choice explains."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.dims import Input, PerHop
from brewsim.distributions.constructors import normal, uniform
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, lands
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.steering.scenario_comparison import (
    choice_shares,
    options_of,
    turn_between,
)
from tests.study.linear import linear_problem
from tests.study.models import pair

PLAN = Plan(8, 256, 1)


def scaled(level, dose, extra):
    return level * dose + extra


def chosen():
    """A choice that redistributes the level and one that fixes the extra, beside a dial."""
    kind = Knob(
        "kind",
        "kind",
        choices=(Choice("one"), Choice("ten", distributions={"level": uniform(10.0, 11.0)})),
        current="one",
    )
    more = Knob(
        "more",
        "more",
        choices=(Choice("none"), Choice("some", {"extra": np.array([100.0])})),
        current="none",
    )
    dial = Knob("dial", "dial", "dose", None, 0.0, 9.0)
    return Problem.of(
        [scaled],
        {"level": uniform(1.0, 2.0)},
        fixed={"dose": 1.0, "extra": 0.0},
        knobs=(kind, more, dial),
    )


@pytest.mark.parametrize(
    "settings",
    [
        {},
        {"dial": 3.0},
        {"kind": "ten"},
        {"more": "some", "dial": 2.0},
        {"kind": "ten", "more": "some", "dial": 5.0},
        {"kind": "one", "more": "none", "dial": 1.0},
    ],
)
def test_any_settings_give_what_a_problem_posed_there_gives(settings):
    problem = chosen()
    evaluator = Evaluator(problem, CommonDraws([problem], PLAN), ["scaled"])
    evaluator.at({"kind": "ten", "dial": 9.0})

    found = evaluator.at(settings)["scaled"]

    posed = problem.set(settings)
    exact = Evaluator(posed, CommonDraws([posed], PLAN), ["scaled"]).at()["scaled"]
    np.testing.assert_allclose(found, exact, rtol=1e-12)


def test_many_choices_one_after_the_other_are_each_judged_where_they_stand():
    """More options than are remembered: each shifts the middle by its own number."""
    options = tuple(Choice(str(i), distributions={"a": normal(float(i), 1)}) for i in range(40))
    problem = pair(knobs=(Knob("kind", "kind", choices=options),))
    evaluator = Evaluator(problem, CommonDraws([problem], PLAN), ["weighted"])

    for _ in range(2):
        means = [evaluator.at({"kind": str(i)})["weighted"].mean() for i in range(40)]
        assert means == pytest.approx(np.arange(40.0), abs=0.01)


def test_a_list_is_no_outcome_of_a_study():
    def hop_twice(hop_x: PerHop) -> PerHop:
        return 2 * hop_x

    graph = build_graph([hop_twice], {"hop_x": Input(("hop",), "x")})
    problem = Problem(graph, {"hop_x": np.ones((2, 1))}, (), ("hop_twice",))

    with pytest.raises(StudyError, match="hop_twice is a list"):
        Evaluator(problem, CommonDraws([problem], PLAN), ["hop_twice"]).at()


def test_a_draw_lands_where_it_keeps_to_every_target():
    problem = linear_problem()
    values = {
        "strength": np.array([4.0, 5.0, 5.0, np.nan, 9.0]),
        "side": np.array([0.0, 1.0, 1.1, 0.0, 0.0]),
    }

    assert lands(values, problem).tolist() == [1.0, 1.0, 0.0, 0.0, 0.0]


def test_a_choice_that_only_acts_together_with_something_else_shows_in_the_total():
    """y = c x with c = -1 or 1 and x N(0, 1): no first-order share, all of the total."""

    def signed(a, sign):
        return a * sign

    problem = Problem.of([signed], {"a": normal(0, 1)}, fixed={"sign": 1.0})
    minus = replace(problem, fixed={"sign": np.array([-1.0])})

    found = choice_shares({"plus": problem, "minus": minus}).sel(outcome="signed")

    assert float(found.first_order) == pytest.approx(0.0, abs=0.002)
    assert float(found.total_order) == pytest.approx(1.0, abs=0.002)
    for order in ("first_order", "total_order"):
        down = found[order] - found[f"{order}_low"]
        assert float(down) == pytest.approx(float(found[f"{order}_high"] - found[order]))


def test_three_options_share_by_the_variance_of_their_middles():
    """Middles 0, 0 and 3, each as likely: variance 2 beside the known 1: 2 of 3."""
    problem = linear_problem()
    options = {"a": problem, "b": problem.set({"lever": 2.0}), "c": problem.set({"dial": 3.0})}

    found = choice_shares(options).sel(outcome="strength")

    assert float(found.first_order) == pytest.approx(2 / (2 + 5), abs=0.005)


def test_options_of_a_knob_are_problems_and_a_dial_has_none():
    problem = chosen()

    found = options_of(problem, problem.knob("kind"))

    assert list(found) == ["one", "ten"]
    assert found["ten"].factor("level").distribution.median == pytest.approx(10.5)
    assert options_of(problem, problem.knob("dial")) == {}


def test_options_beside_each_other_are_laid_out_as_a_choice():
    problem = linear_problem()
    options = {"low": problem, "high": problem.set({"dial": 6.0})}

    found = turn_between(options, current="low", label="amount", draws=4096, coverage=0.8)

    assert found.attrs == {
        "knob": "amount",
        "label": "amount",
        "unit": "",
        "current": "low",
    }
    assert np.isnan(found["per_tenth"]).all()
    reach = 1.2815516 * np.sqrt(5)
    ends = [float(found[k].sel(outcome="strength", setting="high")) for k in ("low", "high")]
    assert ends == pytest.approx([6 - reach, 6 + reach], abs=0.1)
    chance = float(found["in_target"].sel(outcome="strength", setting="high"))
    assert chance == pytest.approx(2 * ndtr(2 / np.sqrt(5)) - 1, abs=0.01)


def test_options_without_a_common_outcome_are_refused():
    one, other = linear_problem(), pair()

    with pytest.raises(StudyError, match="no outcome in common"):
        choice_shares({"one": one, "other": other})


def test_options_share_of_a_factor_what_both_know_of_it():
    """All of a score known, or half of its variance: they correlate by sqrt(1/2).

    Half of the mean squared difference of two standard normals, halved: (2 - 2 r) / 4.
    """

    def same(a):
        return 1.0 * a

    known = Problem.of([same], {"a": normal(0, 1)})
    half = Problem.of([same], {"a": (normal(0, 1), Kinds(0.5, 0, 0.5))})

    found = choice_shares({"known": known, "half": half}).sel(outcome="same")

    assert float(found.total_order) == pytest.approx((2 - np.sqrt(2)) / 4, abs=0.005)
    assert float(found.first_order) == pytest.approx(0.0, abs=0.002)
