"""Wishes against tasted beers, as people write them; folds in targets."""

import math

import pytest

from brewsim.recipe.wishes import read_wish, read_wish_line
from tests.small_recipe import write


@pytest.mark.parametrize(
    ("text", "kind", "batches", "times"),
    [
        ("half of G1", "times", ("G1",), 0.5),
        ("a third of G1", "times", ("G1",), 1 / 3),
        ("Two thirds of G 1", "times", ("G 1",), 2 / 3),
        ("twice G1", "times", ("G1",), 2.0),
        ("three times G1", "times", ("G1",), 3.0),
        ("as G1", "as", ("G1",), 1.0),
        ("less than G1", "less", ("G1",), 1.0),
        ("more than G1", "more", ("G1",), 1.0),
        ("half as strong as G1", "strong", ("G1",), 0.5),
        ("between G1 and G2", "between", ("G1", "G2"), 1.0),
        ("just right", "just right", (), 1.0),
    ],
)
def test_a_wish_is_read(text, kind, batches, times):
    wish = read_wish("thiols", text)

    assert (wish.kind, wish.batches) == (kind, batches)
    assert wish.times == pytest.approx(times)


@pytest.mark.parametrize("text", ["x0.3 to x0.6 of G1", "0.3x to 0.6x of G1", "×0,3 to ×0,6 of G1"])
def test_a_window_of_folds_is_read_however_it_is_written(text):
    wish = read_wish("thiols", text)

    assert (wish.low, wish.high, wish.batches) == (0.3, 0.6, ("G1",))


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("thiol", "half of G1", "thiol cannot be wished for. Did you mean thiols"),
        ("malt", "half of G1", "There is: thiols, hops, bitterness, alcohol"),
        ("thiols", "nicer", "is not read; write half of G1"),
        ("thiols", "", "is not read; write half of G1"),
        ("thiols", 3, "write one text in quotes"),
        ("alcohol", "just right", "just right is what tasters say"),
        ("bitterness", "half as strong as G1", "is what tasters say of aroma"),
        ("thiols", "x0.6 to x0.3 of G1", "write rising folds"),
        ("thiols", "between G1 and G1", "names one beer twice"),
    ],
)
def test_a_wish_that_cannot_be_read_says_what_to_write(name, text, told):
    with pytest.raises(ValueError, match=told):
        read_wish(name, text)


def test_a_wish_of_the_command_line_says_of_what():
    assert read_wish_line("Thiols: half of G1").name == "thiols"
    with pytest.raises(ValueError, match="says not of what"):
        read_wish_line("half of G1")


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("0.5x to 2x", (-1.0, 1.0)),
        ("x0.5 to x4", (-1.0, 2.0)),
        ("at most 2x", (None, 1.0)),
        ("-1 to 1", (-1.0, 1.0)),
    ],
)
def test_a_target_in_doublings_may_be_written_in_folds(text, ends):
    recipe = write(more=f'[targets]\nthiol_lead = "{text}"\n')
    phrase = recipe.targets["thiol_lead"].phrase

    found = (None if phrase.kind == "at_most" else phrase.low, phrase.high)
    assert found == pytest.approx(ends)
    assert math.isclose(2.0 ** (phrase.high or 0.0), 2.0 ** ends[1])


def test_a_recipe_keeps_its_wish_holds_and_limits():
    recipe = write(
        more='[wish]\nthiols = "half of G1"\n[hold]\nbitterness = "as G1"\n'
        '[limits]\n"hop 2 mass" = "at least 5 g"\n'
    )

    assert recipe.wish["thiols"].times == 0.5
    assert recipe.hold["bitterness"].kind == "as"
    assert str(recipe.limits["hop 2 mass"]) == "at least 5 g"
