"""Twelve classic beers: the middle of each figure lies where a style guideline has it."""

import pytest

from brewsim import pose
from brewsim.recipe.read import parse_recipe
from tests.classics.keep import CLASSICS, EXCEPTIONS, FIRST, PAGE, RANGES, brewed, outside, page


def test_every_classic_has_its_recipe_and_its_range():
    for folder in (CLASSICS, FIRST):
        assert {path.stem for path in folder.glob("*.toml")} == set(RANGES)
    assert len(RANGES) == 12


@pytest.mark.parametrize("name", RANGES)
def test_the_middles_of_a_classic_lie_in_its_guideline(name):
    _, points = brewed(name)

    assert outside(name, points) == set(), points


@pytest.mark.parametrize("name", RANGES)
def test_a_recipe_as_first_written_leaves_its_guideline_only_where_it_is_argued(name):
    _, points = brewed(name, FIRST)

    assert outside(name, points) == {figure for beer, figure in EXCEPTIONS if beer == name}


@pytest.mark.slow
def test_the_page_of_classics_is_that_of_today():
    """After a change that was meant: python -m tests.classics --write."""
    assert PAGE.read_text(encoding="utf-8") == page()


def test_a_barley_wine_with_seventy_grams_of_strong_hops_is_brewed():
    text = (CLASSICS / "english-barley-wine.toml").read_text(encoding="utf-8")
    problem = pose(parse_recipe(text.replace('mass = "44 g"', 'mass = "70 g"')))

    assert problem.fixed["hop_mass_g"].max() == 70.0
