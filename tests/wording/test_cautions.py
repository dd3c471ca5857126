"""Cautions appear when they apply, the gravest first."""

import pytest

from brewsim.wording.caution_lines import Facts
from brewsim.wording.cautions import CAUTIONS, dangers


def titles(facts):
    return [danger.title for danger in dangers(facts)]


def test_bottles_over_their_rating_come_first_with_the_chance_and_what_to_do():
    found = dangers(Facts(bottled=True, over_rating_chance=0.23, dry_hopped=True))

    assert found[0].level == "stop"
    assert found[0].title == "Bottles could burst"
    assert "230 in 1,000" in found[0].text
    assert "3.0 volumes" in found[0].text
    assert "forced-ferment test" in found[0].text


def test_a_keg_turns_the_stop_into_a_note():
    found = dangers(Facts(bottled=False, over_rating_chance=0.23, dry_hopped=True))

    assert {danger.level for danger in found} == {"note"}
    assert "restart fermentation" in next(d.text for d in found if d.title == "Keg")


@pytest.mark.parametrize(("chance", "stops"), [(0.0099, 0), (0.01, 1)])
def test_the_stop_begins_at_one_in_a_hundred(chance, stops):
    found = dangers(Facts(bottled=True, over_rating_chance=chance))

    assert sum(danger.level == "stop" for danger in found) == stops


def test_a_small_chance_of_over_pressure_is_still_said():
    found = dangers(Facts(bottled=True, over_rating_chance=0.002))

    assert "2 in 1,000" in next(d.text for d in found if d.title == "Pressure in the bottle")


def test_a_chance_of_over_pressure_that_was_sought_is_said_however_small():
    found = dangers(Facts(bottled=True, over_rating_chance=5.6e-6, over_rating_sought=True))
    left = next(d for d in found if d.title == "Pressure in the bottle")

    assert "fewer than 1 in 1,000 (sought by itself: about 0.006 in 1,000)" in left.text
    assert "as modelled, fewer than 1 in 1,000 would pass that" in left.short


@pytest.mark.parametrize(
    ("facts", "title"),
    [
        (Facts(bottled=True, diastatic="unknown"), "Yeast that may not stop"),
        (Facts(diastatic="yes"), "Yeast that may not stop"),
        (Facts(bottled=True, dry_hopped=True), "Dry hops can restart fermentation"),
        (Facts(grape_product=True), "Grape product: sulphite and allergens"),
        (Facts(engineered="unknown"), "Engineered yeast"),
    ],
)
def test_a_caution_appears_with_its_trigger(facts, title):
    quiet = Facts(diastatic="no", engineered="no")

    assert title in titles(facts)
    assert title not in titles(quiet)


def test_the_quietest_recipe_still_says_what_the_page_is_and_where_law_begins():
    found = titles(Facts(diastatic="no"))

    assert {"What this page is", "Home brewing and selling", "Hot wort"} <= set(found)
    assert "Carbon dioxide in closed rooms" in found


def test_local_codes_and_licensed_practice_are_named():
    text = " ".join(danger.text for danger in dangers(Facts()))

    assert "local codes and licensed practice" in text


def test_every_caution_has_its_own_name_and_a_source():
    assert len({caution.id for caution in CAUTIONS}) == len(CAUTIONS)
    assert all(c.source for c in CAUTIONS if c.id != "estimates")


def test_gas_follows_from_the_size_of_the_batch():
    """20 L of 12 °P wort gives about 414 L of CO2 at 20 °C (Balling balance)."""
    text = next(d.text for d in dangers(Facts(fermenter_l=20)) if "Carbon" in d.title)

    assert "roughly 400 L" in text
