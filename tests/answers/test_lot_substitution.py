"""Swapping a hop lot: what to weigh, what is left alone, and what the bitterness does."""

from pathlib import Path

import pytest

from brewsim.answers.lot_substitution import new_lot
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe, read_recipe
from brewsim.study.steering.scenario_comparison import turn_between

ROOT = Path(__file__).resolve().parents[2]
THIOL = ROOT / "tests" / "recipes" / "thiol-pale.toml"
LAGER = ROOT / "demo-recipes" / "quillhaven-lager.toml"

BITTER = """
name = "Quillhaven lot trial"
volume = "20 L"
boil = "60 min"

[[malt]]
name = "Pilsner malt"
mass = "4 kg"

[[hop]]
variety = "Galena"
lot = "GA23"
alpha = "10 %"
mass = "1 oz"
when = "boil 60 min"

[[hop]]
variety = "Galena"
lot = "GA23"
rate = "0.5 g/L"
when = "first wort"

[[hop]]
variety = "Galena"
lot = "GA23"
mass = "30 g"
when = "whirlpool 20 min at 80 °C"
"""


@pytest.fixture(scope="module")
def priors():
    return load_priors()


def test_bittering_is_weighed_by_old_over_new_alpha_in_the_brewers_unit(priors):
    """New mass = old mass x old alpha / new alpha: 10 to 6.5 % is 1.54 times [common practice]."""
    found = new_lot(parse_recipe(BITTER), "GA23", "6.5 %", priors)
    boil, first_wort, stand = found.additions

    assert (stand.before, stand.after) == ("30 g", "30 g")
    assert found.factor == pytest.approx(1.54, abs=0.005)
    assert (boil.before, boil.after) == ("1 oz", "1.54 oz")
    assert first_wort.after == "0.769 g/L"


def test_late_hops_are_left_and_said_so_unless_all_are_asked_for(priors):
    recipe = parse_recipe(BITTER)
    plain, every = (new_lot(recipe, "GA23", "6.5 %", priors, every=e) for e in (False, True))

    assert plain.recipe.hop[2].mass.value == 30
    assert "hop 3" in plain.remarks[0]
    assert "--all" in plain.remarks[0]
    assert every.recipe.hop[2].mass.value == pytest.approx(30 * 10 / 6.5)
    assert all(addition.scaled for addition in every.additions)


def test_the_rescaled_lot_gives_the_old_bitterness_and_the_plain_swap_less(priors):
    recipe = parse_recipe(BITTER)
    found = new_lot(recipe, "GA23", "6.5 %", priors, every=True)
    options = {"old": recipe, "plain": found.unscaled, "rescaled": found.recipe}

    between = turn_between(
        {name: pose(r, priors=priors) for name, r in options.items()}, current="old", label="lot"
    ).sel(outcome="bitterness_ibu")
    middle = between["middle"]

    assert float(middle.sel(setting="rescaled") / middle.sel(setting="old")) == pytest.approx(
        1, abs=0.03
    )
    assert float(middle.sel(setting="plain") / middle.sel(setting="old")) < 0.8
    assert (between["low"] < between["middle"]).all()


def test_an_old_alpha_that_is_not_stated_comes_from_the_variety(priors):
    recipe = parse_recipe(BITTER.replace('alpha = "10 %"\n', "").replace('lot = "GA23"\n', ""))

    found = new_lot(recipe, "galena", "6.5 %", priors)

    assert 0.08 < found.old_alpha < 0.16


def test_a_variety_in_two_lots_asks_which(priors):
    recipe = read_recipe(LAGER)
    hops = [hop.model_copy(update={"lot": f"L{i}"}) for i, hop in enumerate(recipe.hop)]

    with pytest.raises(InputError, match="several lots"):
        new_lot(recipe.model_copy(update={"hop": tuple(hops)}), "Hersbrucker Spät", "3 %", priors)


def test_an_unknown_lot_is_met_with_the_nearest_name(priors):
    with pytest.raises(InputError, match="Did you mean GL24"):
        new_lot(read_recipe(THIOL), "GL25", "6 %", priors)


def test_an_alpha_that_cannot_be_is_refused(priors):
    with pytest.raises(InputError, match="alpha of the new lot"):
        new_lot(read_recipe(THIOL), "GL24", "0.12 %", priors)
