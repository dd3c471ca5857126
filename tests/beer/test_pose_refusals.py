"""What only shows against priors and formulas is refused, all of it at once, with a way out."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.pose import pose


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (('"Pilsner malt"', '"Pilsener mlat"'), "Pilsner malt"),
        (('"Fuggle"', '"Fugle"'), "Fuggle|alpha acids"),
        (('"grape-derived powder"', '"grape powderr"'), "Did you mean grape-derived"),
        (('"clean ale yeast"', '"clean al yeast"'), "clean ale yeast"),
    ],
)
def test_an_unknown_ingredient_is_refused_with_a_near_miss(written, change, told):
    recipe = written(change, *((('alpha = "4.5 %"\n', ""),) if "Fug" in change[0] else ()))
    with pytest.raises(InputError, match=told):
        pose(recipe)


def test_an_unknown_ingredient_is_welcome_when_its_numbers_are_stated(written):
    recipe = written(
        ('"Pilsner malt"', '"Malt from next door"\nextract = "80 %"\ncolor = "2 °L"'),
        ('"clean ale yeast"', '"jar from the shelf"\nattenuation = "70 to 80 %"'),
        ('"Northern Brewer"', '"garden hop"'),
    )
    labels = pose(recipe).row_labels

    assert labels["malt"] == ("Malt from next door",)
    assert "garden hop" in labels["hop_lot"]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('[given]\npreboil_extract_kg = "2 kg"', "no such quantity"),
        ('[given]\nmash_ph = "5.2"', "no such quantity. `brewsim glossary` lists all"),
        ('[given]\nhop_lot_linalool_mg_kg = "9 mg/kg"', "row"),
        ('[priors]\ntrub_share = "5 %"', "no input"),
        ('[priors]\nkettle_extract_kg = "5 kg"', "given"),
        ('[targets]\nkettle_extract_l = "5 to 6 L"', "no quantity"),
        ('[targets]\nhop_added_g = "5 to 6 g"', "list"),
    ],
)
def test_a_quantity_the_beer_does_not_have_is_never_passed_over(written, more, told):
    with pytest.raises(InputError, match=told):
        pose(written(more=f"\n{more}\n"))


def test_a_misspelt_assay_of_a_row_is_refused_with_what_there_is(written):
    recipe = written(('lot = "F24"', 'lot = "F24"\ngiven = { linalol_mg_kg = "9 mg/kg" }'))
    with pytest.raises(InputError, match="Did you mean linalool_mg_kg"):
        pose(recipe)


def test_a_harvest_that_cannot_be_counted_from_is_refused(written):
    with pytest.raises(InputError, match="harvest"):
        pose(written(('alpha = "8.5 %"', 'alpha = "8.5 %"\nharvest = "2024"')))


def test_one_hop_stand_has_one_temperature(written):
    more = '\n[[hop]]\nvariety = "Fuggle"\nmass = "9 g"\nwhen = "whirlpool 10 min at 90 °C"\n'
    with pytest.raises(InputError, match="80 °C and 90 °C"):
        pose(written(more=more))


def test_all_that_only_priors_can_show_comes_in_one_error(written):
    recipe = written(
        ('"Pilsner malt"', '"mystery"'),
        ('"clean ale yeast"', '"mystery"'),
        more='\n[given]\npreboil_extract_kg = "2 kg"\n',
    )
    with pytest.raises(InputError) as caught:
        pose(recipe)

    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    "lines",
    [
        'original_gravity = "1.009 to 1.013"\nfinal_gravity = "1.043 to 1.047"',
        'OG = "2.2 to 3.2 °P"\nFG = "at least 1.040"',
    ],
)
def test_a_beer_denser_than_its_wort_is_not_aimed_at(written, lines):
    with pytest.raises(InputError, match="are the two gravities swapped"):
        pose(written(more=f"[targets]\n{lines}\n"))


def test_gravities_that_may_meet_are_aimed_at(written):
    more = '[targets]\noriginal_gravity = "1.045 to 1.050"\nfinal_gravity = "at most 1.050"\n'

    assert set(pose(written(more=more)).targets) == {"original_gravity_sg", "final_gravity_sg"}
