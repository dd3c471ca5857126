"""Idle factors are found list by list; each alone gives the same."""

import numpy as np
import pytest

from brewsim.beer import inactive_factors as module
from brewsim.beer.pose import posed
from brewsim.recipe.read import parse_recipe
from tests.small_recipe import TEXT

MIXED = TEXT.replace('when = "boil 60 min"', 'when = "dry hop day 5 for 3 days"', 1)


@pytest.mark.slow
@pytest.mark.parametrize("text", [TEXT, MIXED])
def test_lists_moved_together_show_the_same_as_each_row_alone(text, monkeypatch):
    problem, _rows = posed(parse_recipe(text))
    kept = [factor.label for factor in problem.factors]
    whole = module._idle

    def one_by_one(problem, names, asked, states, ways=(1, -1)):
        parts = [whole(problem, names, np.array([i]), states, ways) for i in asked]
        return np.concatenate([np.empty(0, int), *parts])

    monkeypatch.setattr(module, "_idle", one_by_one)
    alone, _rows = posed(parse_recipe(text))

    assert [factor.label for factor in alone.factors] == kept


def test_parts_of_many_factors_give_the_same(monkeypatch):
    problem, _rows = posed(parse_recipe(TEXT))
    monkeypatch.setattr(module, "_MOST_COLUMNS", 200)
    parted, _rows = posed(parse_recipe(TEXT))

    assert [f.label for f in parted.factors] == [f.label for f in problem.factors]
