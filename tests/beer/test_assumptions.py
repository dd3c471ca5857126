"""What was understood and what was assumed, in words a brewer can check."""

import numpy as np
import pytest

from brewsim.beer.assumptions import kinds_in_words, spread_in_words
from brewsim.beer.pose import posed
from brewsim.distributions import constructors as families
from brewsim.quantities.catalogue import (
    BY_QUANTITY,
    OUTCOMES,
    SIDE_FIGURES,
    outcome_of,
    quantity_of,
)
from brewsim.study.model.factor import Kinds


def row_of(recipe, quantity, naming=""):
    """Return the one row of a quantity whose words hold the ingredient's name."""
    rows = [r for r in posed(recipe)[1] if r.quantity == quantity and naming in r.what]

    assert len(rows) == 1, [r.what for r in rows]
    return rows[0]


def test_what_was_typed_is_repeated_with_its_twin_unit(written):
    recipe = written(('mass = "15 g"', 'mass = "0.5 oz"'), ('mash = "66 °C"', 'mash = "150 °F"'))
    hop = row_of(recipe, "hop_mass_g", "Northern Brewer")
    mash = row_of(recipe, "mash_set_temperature_c")

    assert (hop.value, hop.grade, hop.assumed) == ("“0.5 oz” (14 g)", "recipe", False)
    assert mash.value == "“150 °F” (66 °C)"


def test_what_a_large_brewery_did_not_state_is_told_in_hectolitres(written):
    more = {'"4 kg"': '"400 kg"', '"15 g"': '"1500 g"', '"20 g"': '"2000 g"', '"20 L"': '"20 hL"'}
    recipe = written(*more.items())
    wort = row_of(recipe, "preboil_volume_l")

    assert wort.assumed
    assert wort.value == "22.7 hL (19 US bbl)"
    assert wort.spread.startswith("nine in ten between 22.")
    assert wort.spread.endswith(" hL")


def test_a_stated_spread_is_told_in_the_persons_own_unit(written):
    recipe = written(('alpha = "8.5 %"', 'alpha = "8 to 9 %"'))
    row = row_of(recipe, "hop_lot_stated_alpha_fraction", "Northern Brewer")

    assert row.spread == "nine in ten between 8.0 and 9.0 %"
    assert row.grade == "recipe"
    assert row.kinds == "new with every lot"


def test_the_usual_spread_of_a_plain_value_is_told_in_the_unit_it_was_typed_in(written):
    recipe = written(('mass = "4 kg"', 'mass = "4 kg"\ncolor = "4 EBC"'))
    row = row_of(recipe, "malt_color_lovibond", "Pilsner")

    assert row.value == "“4 EBC” (2 SRM)"
    assert row.spread == "nine in ten between 2.4 and 6.3 EBC"


def test_a_plain_value_says_whose_spread_was_put_around_it(written):
    row = row_of(written(), "hop_lot_stated_alpha_fraction", "Northern Brewer")

    assert row.value == "“8.5 %”"
    assert row.grade == "recipe; spread: secondary"
    assert "Verzele" in row.source
    assert not row.assumed


def test_what_nobody_stated_is_assumed_with_its_grade_and_source(written):
    row = row_of(written(), "wort_ph")

    assert row.assumed
    assert row.grade == row.source == "assumption"
    assert row.value == "5.35 pH"
    assert row.spread == "nine in ten between 5.15 and 5.55 pH"
    assert "about 83 % the same in every brew, but not known" in row.kinds


def test_what_was_planned_says_so_and_shows_both_units(written):
    row = row_of(written(('efficiency = "75 ± 3 %"\n', ""), more=BATCH), "sparge_water_l")

    assert row.grade == "planned"
    assert " L (" in row.value
    assert "US gal" in row.value
    assert row.assumed
    assert row.what == "sparge water (at 20 °C), as it follows from the recipe"


BATCH = '\n[brewhouse]\nlauter = "batch sparge"\n'


def test_a_temperature_error_is_no_temperature(written):
    row = row_of(written(), "mash_temperature_error_c")

    assert row.value == "0 °C"
    assert row.spread.endswith("°C")


def test_every_factor_has_its_row_and_no_row_tells_of_what_is_not_there(written):
    problem, rows = posed(written())
    told = {(r.quantity, r.what) for r in rows}

    assert {(f.quantity, f.label) for f in problem.factors} <= told
    assert not [r for r in rows if r.quantity.startswith(("dry_hop", "bottle", "sugar"))]
    assert all(r.value and r.spread and r.grade for r in rows)


@pytest.mark.parametrize(
    ("kinds", "words"),
    [
        (Kinds(1, 0, 0), "the same in every brew, but not known"),
        (Kinds(0, 1, 0), "new with every lot"),
        (
            Kinds(0.25, 0, 0.75),
            "about 25 % the same in every brew, but not known; about 75 % new with every brew",
        ),
    ],
)
def test_kinds_are_told_without_jargon(kinds, words):
    assert kinds_in_words(kinds) == words


def test_a_spread_is_told_as_nine_in_ten_with_figures_that_tell_its_ends_apart():
    """Ends of a normal: mean plus and minus 1.645 standard deviations."""
    sd = 0.6 / 1.6448536269514722

    assert spread_in_words(families.normal(5.6, sd), "%") == "nine in ten between 5.0 and 6.2 %"
    assert spread_in_words(families.normal(1.05, sd / 1000), "") == (
        "nine in ten between 1.0494 and 1.0506"
    )
    assert spread_in_words(families.constant(3.0), "L") == "exactly"
    assert "one of" in spread_in_words(families.bernoulli(0.02), "")


@pytest.mark.parametrize("name", list(OUTCOMES))
def test_an_outcome_is_found_by_its_name_and_by_its_quantity(name):
    row = OUTCOMES[name]

    assert quantity_of(name) == quantity_of(name.upper()) == row.quantity
    assert outcome_of(row.quantity) is row
    assert BY_QUANTITY[row.quantity] is row


@pytest.mark.parametrize("quantity", SIDE_FIGURES)
def test_a_side_figure_has_a_label_of_words_and_its_own_rounding(quantity):
    assert quantity in BY_QUANTITY
    assert BY_QUANTITY[quantity].decimals is not None


@pytest.mark.parametrize(
    ("quantity", "decimals", "unit"),
    [
        ("alcohol_by_volume_fraction", 1, "% ABV"),
        ("original_gravity_sg", 3, "SG"),
        ("original_extract_plato", 1, "°P"),
        ("bitterness_ibu", 0, "IBU"),
        ("beer_color_ebc", 0, "EBC"),
        ("free_3sh_ng_l", None, "ng/L"),
    ],
)
def test_figures_are_rounded_as_brewers_round_them(quantity, decimals, unit):
    """None is two significant figures."""
    row = outcome_of(quantity)

    assert (row.decimals, row.unit) == (decimals, unit)
    assert np.isclose(row.per_model, 100 if unit.startswith("%") else 1)


def test_any_other_quantity_is_shown_by_the_unit_of_its_name():
    row = outcome_of("trub_fraction")

    assert (row.unit, row.per_model, row.role) == ("%", 100.0, "asked")
    assert outcome_of("kettle_extract_kg").unit == "kg"


def test_a_mass_of_priming_sugar_is_told_per_litre_of_beer(written):
    bottle = ('container = "keg"\ncarbonation = "2.5 vol"', 'container = "bottle"')
    row = row_of(written(bottle, more='priming = "3 oz glucose"\n'), "priming_sugar_g_l")

    assert row.value == "“3 oz, 4.43 g/L of beer”"
