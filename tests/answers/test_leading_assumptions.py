"""Which assumptions move the targets most, seen one input at a time."""

import pytest

from brewsim import rank
from brewsim.answers.leading_assumptions import leading_assumptions
from brewsim.beer.pose import posed
from brewsim.recipe.read import parse_recipe
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
