"""A brew day read midway: what readings leave open, and the corrections that are left."""

import pytest

from brewsim.errors import InputError
from brewsim.recipe.midway import midway
from brewsim.recipe.priors import load_priors
from brewsim.recipe.read import parse_recipe

PALE = """
name = "Quillhaven gravity trial"
volume = "20 L"
boil = "60 min"

[[malt]]
name = "US two-row pale malt"
mass = "4.5 kg"

[[hop]]
variety = "Galena"
alpha = "12 %"
mass = "15 g"
when = "boil 60 min"

[package]
container = "keg"
carbonation = "2.4 vol"
"""
OG, ABV, IBU, VOLUME = (
    "original_gravity_sg",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
    "fermenter_volume_l",
)


@pytest.fixture(scope="module")
def priors():
    return load_priors()


@pytest.fixture(scope="module")
def low(priors):
    """The pre-boil gravity is read about 11 points low."""
    return midway(parse_recipe(PALE), {"preboil_gravity_sg": "1.031 ± 0.001"}, priors)


def test_a_reading_takes_the_place_of_what_was_computed_and_narrows_it(low):
    assert low.readings == ("preboil_gravity_sg",)
    assert low.now[OG].middle < low.plan[OG].middle - 0.005
    assert low.spread_left[OG] < 0.8
    assert low.spread_left[IBU] == pytest.approx(1, abs=0.1)


def test_boiling_longer_puts_the_middle_back_and_costs_volume(low):
    longer = low.corrections[0]

    assert longer.name == "boil longer"
    assert longer.reaches
    assert longer.amount > 20
    assert longer.outcomes[OG].middle == pytest.approx(low.plan[OG].middle, abs=2e-5)
    assert longer.outcomes[VOLUME].middle < low.now[VOLUME].middle - 1


def test_hops_that_boil_along_turn_more_bitter(low):
    kept, along = low.corrections[:2]

    assert "boil along" in along.remark
    assert along.outcomes[IBU].middle > kept.outcomes[IBU].middle > low.now[IBU].middle
    assert along.outcomes[OG].middle == pytest.approx(kept.outcomes[OG].middle, abs=1e-12)


def test_dry_extract_puts_the_middle_back_without_costing_volume(low):
    extract = next(c for c in low.corrections if c.name.startswith("add dry malt"))

    assert extract.reaches
    assert extract.outcomes[OG].middle == pytest.approx(low.plan[OG].middle, abs=2e-5)
    assert extract.outcomes[VOLUME].middle >= low.now[VOLUME].middle


def test_the_dry_extract_is_what_a_mass_balance_asks_for(low, priors):
    """S kg in V litres: gravity 1 + .384 (E + S) / (V + .617 S), E what is there [mass balance]."""
    extract = next(c for c in low.corrections if c.name.startswith("add dry malt"))
    aim = low.plan[OG].middle - 1
    held = 0.015 * priors.scalar("pellet_absorption_l_kg").value
    kettle = (low.now[VOLUME].middle + held) / (1 - priors.scalar("trub_fraction").value)

    missing_kg = kettle * (aim - (low.now[OG].middle - 1)) / (0.384 - 0.617 * aim)
    share = priors.of(priors.find("sugar", "Dry malt extract"), "extract_fraction").value

    assert extract.amount == pytest.approx(missing_kg / share, rel=0.04)


def test_water_is_no_help_for_a_weak_wort(low):
    water = low.corrections[-1]

    assert not water.reaches
    assert water.amount == 0


def test_a_strong_wort_is_diluted_back(priors):
    found = midway(parse_recipe(PALE), {"preboil_extract_plato": "12.5 ± 0.2 °P"}, priors)
    water = found.corrections[-1]

    assert water.reaches
    assert water.outcomes[OG].middle == pytest.approx(found.plan[OG].middle, abs=2e-5)
    assert water.outcomes[VOLUME].middle > found.now[VOLUME].middle + 0.5
    assert water.outcomes[IBU].middle < found.now[IBU].middle


def test_the_strength_can_be_the_aim(priors):
    found = midway(parse_recipe(PALE), {"preboil_gravity_sg": "1.031"}, priors, aim=ABV)
    extract = next(c for c in found.corrections if c.name.startswith("add dry malt"))

    assert extract.outcomes[ABV].middle == pytest.approx(found.plan[ABV].middle, abs=2e-5)


def test_readings_in_the_recipe_count_the_same(low, priors):
    text = PALE + '\n[given]\npreboil_gravity_sg = "1.031 ± 0.001"\n'

    found = midway(parse_recipe(text), {}, priors)

    assert found.plan == low.plan
    assert found.now == low.now


def test_a_day_without_readings_is_refused(priors):
    with pytest.raises(InputError, match="no reading"):
        midway(parse_recipe(PALE), {}, priors)


def test_a_reading_that_cannot_be_read_names_itself(priors):
    with pytest.raises(InputError, match="preboil_gravity_sg"):
        midway(parse_recipe(PALE), {"preboil_gravity_sg": "rather low"}, priors)
