"""Which assumptions move the targets most, seen one input at a time."""

import inspect
import warnings

import numpy as np
import pytest

from brewsim import rank
from brewsim.answers.leading_assumptions import _TOGETHER, _shares, leading_assumptions
from brewsim.beer.pose import posed
from brewsim.distributions.constructors import lognormal, normal
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.wording.assumptions import leading_sentence
from tests.texts import TOP, beer, hop

AIM = '[targets]\nbitterness = "20 to 30 IBU"\n'


def led(*blocks, **parts):
    problem, rows = posed(parse_recipe(beer(*blocks, **parts)))
    assumed = {(row.quantity, row.what) for row in rows if row.assumed}
    return problem, leading_assumptions(problem, assumed)


def test_three_assumptions_are_named_the_strongest_first():
    _, found = led(hop(), AIM)

    assert len(found) == 3
    assert [one.share for one in found] == sorted((one.share for one in found), reverse=True)
    assert {one.outcome for one in found} == {"bitterness_ibu"}


def test_a_stated_number_is_no_assumption():
    _, usual = led(hop(), AIM)
    leader = usual[0].label
    problem, _ = led(hop(), AIM)
    (factor,) = [f for f in problem.factors if f.label == leader]

    _, found = led(hop(), AIM, top=f'{TOP}[given]\n{factor.quantity} = "exactly 50 %"\n')

    assert leader not in [one.label for one in found]


def test_the_share_is_that_of_a_ranking_where_inputs_add_up():
    problem, found = led(hop(), AIM)
    ranking = rank(problem, base=2048, seed=3, by="factor")
    first = ranking["first_order"].sel(outcome="bitterness_ibu")
    (factor,) = [f for f in problem.factors if f.label == found[0].label]

    assert found[0].share == pytest.approx(float(first.sel(factor=factor.id)), abs=0.08)


def test_the_sentence_says_how_much_of_what():
    _, found = led(hop(), AIM)

    told = leading_sentence(found, {"bitterness_ibu": "bitterness"}, aimed=True)

    assert "move your targets most" in told
    assert (
        f"{found[0].label} (about {100 * found[0].share:.0f} % of the variance of bitterness)"
        in told
    )
    assert leading_sentence((), {}, aimed=True) == ""


def test_a_few_factors_at_a_time_give_the_same_shares(monkeypatch):
    from brewsim.answers import leading_assumptions as module
    from tests.small_recipe import TEXT

    problem, _rows = posed(parse_recipe(TEXT))
    whole = module._shares(problem, ["bitterness_ibu", "original_gravity_sg"])
    monkeypatch.setattr(module, "_TOGETHER", 7)
    parted = module._shares(problem, ["bitterness_ibu", "original_gravity_sg"])

    assert parted == pytest.approx(whole, rel=1e-9, abs=1e-15)
    assert whole.sum(axis=1) == pytest.approx([1, 1])


def activity(amount, threshold):
    return np.divide(amount, threshold, out=np.full_like(amount, np.inf), where=threshold > 0)


def other(amount, tail):
    return amount + tail


def total(a, b, c):
    return a + 2 * b - c


def product(a, b, c):
    return a * b**3 + 0 * c


def sums(**targets):
    """Moved by a score up and down, c alone adds; `product` moves by 0.4 and 0.6."""
    factors = {"a": lognormal(3.0, 0.2), "b": lognormal(5.0, 0.1), "c": normal(0.0, 0.5)}
    names = targets or {"product": Target(1.0)}
    return Problem.of(
        [total, product], factors, targets=names, scales={"product": "log", "total": "linear"}
    )


def told(found):
    return [(one.label, one.outcome, one.share) for one in found]


def test_shares_are_squares_of_what_a_score_up_and_down_does():
    """On a log scale exactly (0.2, 0.3): 4 and 9 thirteenths."""
    names = {("a", "a"), ("b", "b"), ("c", "c")}

    assert told(leading_assumptions(sums(), names)) == [
        ("b", "product", pytest.approx(9 / 13)),
        ("a", "product", pytest.approx(4 / 13)),
    ]
    assert told(leading_assumptions(sums(), names, most=1)) == [
        ("b", "product", pytest.approx(9 / 13))
    ]
    assert told(leading_assumptions(sums(), {("a", "a"), ("b", "x")})) == [
        ("a", "product", pytest.approx(4 / 13))
    ]


def test_an_input_is_told_with_the_outcome_that_it_moves_most():
    """c moves the total alone: by 1, beside a's 3 (e^.2 - e^-.2) and b's 10 (e^.1 - e^-.1)."""
    problem = sums(total=Target(1.0), product=Target(1.0))
    parts = {"a": 6 * np.sinh(0.2), "b": 20 * np.sinh(0.1), "c": 1.0}
    whole = sum(part**2 for part in parts.values())
    found = {one.label: one for one in leading_assumptions(problem, {(n, n) for n in parts})}

    assert [found[n].outcome for n in "abc"] == ["product", "product", "total"]
    assert found["c"].share == pytest.approx(1 / whole)
    assert found["a"].share == pytest.approx(4 / 13)


def test_more_inputs_than_are_moved_together_have_the_same_shares():
    names = [f"x{n}" for n in range(_TOGETHER + 1)]

    def whole(*values):
        return sum(values)

    whole.__signature__ = inspect.Signature(
        [inspect.Parameter(name, inspect.Parameter.POSITIONAL_OR_KEYWORD) for name in names]
    )
    problem = Problem.of([whole], {name: normal(0.0, 1.0) for name in names})
    shares = _shares(problem, ["whole"])

    assert shares == pytest.approx(np.full((1, len(names)), 1 / len(names)))


def test_a_problem_without_factors_or_outcomes_has_no_leader():
    lone = Problem.of([other], {"amount": normal(0, 1)}, fixed={"tail": 1.0})

    assert leading_assumptions(lone, {("amount", "amount")}) == ()


def test_what_is_infinite_at_both_ends_has_no_share_and_warns_of_nothing():
    """A threshold of 0 leaves an activity without a value; the inputs of the other still lead."""
    problem = Problem.of(
        [activity, other],
        {"amount": normal(1.0, 0.1), "tail": normal(1.0, 0.3)},
        fixed={"threshold": 0.0},
        targets={"activity": Target(1.0), "other": Target(1.0)},
    )
    assumed = {("amount", "amount"), ("tail", "tail")}

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = leading_assumptions(problem, assumed)

    assert {one.outcome for one in found} == {"other"}
