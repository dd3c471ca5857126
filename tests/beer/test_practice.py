"""How brewers brew: rests, mash time, bags and the krausen move what they should, and only that."""

import numpy as np
import pytest

from brewsim import simulate
from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe
from tests.texts import TOP, beer, hop, medians, problem_of

STEPS = 'mash = ["63 °C for 40 min", "72 °C for 20 min"]\n'


def at(top="", **parts):
    return medians(beer(hop(), top=f"{TOP}{top}", **parts))


def of(values, quantity):
    return float(values[quantity].ravel()[0])


def test_a_mash_of_one_rest_is_the_mash_without_its_time():
    plain, timed = at('mash = "65 °C"\n'), at('mash = "65 °C for 60 min"\n')

    for quantity in ("final_gravity_sg", "beer_color_ebc", "bitterness_ibu"):
        assert of(plain, quantity) == of(timed, quantity)


def test_rests_lie_between_their_temperatures():
    cool, hot = at('mash = "63 °C"\n'), at('mash = "72 °C"\n')
    steps = at(STEPS)

    assert of(cool, "final_gravity_sg") < of(steps, "final_gravity_sg")
    assert of(steps, "final_gravity_sg") < of(hot, "final_gravity_sg")


def test_a_short_mash_leaves_a_sweeter_beer():
    short, long = at('mash = "66 °C for 30 min"\n'), at('mash_time = "120 min"\nmash = "66 °C"\n')

    assert of(short, "final_gravity_sg") > of(long, "final_gravity_sg")


def test_a_mash_hotter_than_74_leaves_half_of_the_extract():
    """50 % apparent attenuation at 75 °C, 30 % at 80 °C in the source, from 82 % at 65 °C."""
    yeast = '[yeast]\nname = "clean ale yeast"\nattenuation = "82 %"\n'
    more = '[given]\nattenuation_reference_temperature_c = "65 °C"\n'
    found = [
        of(
            medians(beer(more, top=f'{TOP}mash = "{celsius} °C"\n', yeast=yeast)),
            "malt_attenuation_fraction",
        )
        for celsius in (65, 75, 80)
    ]

    assert found == pytest.approx([0.82, 0.505, 0.305], abs=0.01)


def test_a_stated_attenuation_is_for_the_mash_with_its_rests():
    yeast = '[yeast]\nname = "clean ale yeast"\nattenuation = "80 %"\n'

    values = at(f"{STEPS}", yeast=yeast)

    assert of(values, "malt_attenuation_fraction") == pytest.approx(0.80)


def test_the_first_rest_is_what_the_strike_water_is_for():
    cool = at('mash = ["52 °C for 15 min", "63 °C for 40 min", "72 °C for 20 min"]\n')
    plain = at('mash = "63 °C for 60 min"\n')
    fall = of(plain, "strike_water_temperature_c") - of(cool, "strike_water_temperature_c")

    assert fall > 11.0


def test_a_decoction_darkens_the_beer():
    plain, decocted = at(STEPS), at(STEPS.replace('20 min"', '20 min by decoction"'))

    assert 1.02 < of(decocted, "beer_color_ebc") / of(plain, "beer_color_ebc") < 1.3


def test_two_times_for_one_mash_are_refused():
    with pytest.raises(InputError, match="mash_time: mash says 60 min already"):
        at('mash = "66 °C for 60 min"\nmash_time = "45 min"\n')


@pytest.mark.parametrize(("bag", "litres"), [("squeezed", 0.53), ("drained", 0.80)])
def test_a_bag_holds_less_wort_than_a_mash_tun(bag, litres):
    house = f'[brewhouse]\nlauter = "no sparge"\nbag = "{bag}"\n'
    top = TOP.replace('efficiency = "75 %"\n', "")

    values = medians(beer(house, top=top))

    assert of(values, "grain_absorption_l_kg") == pytest.approx(litres)
    assert of(values, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_squeezing_the_bag_saves_water_and_wins_extract():
    top = TOP.replace('efficiency = "75 %"\n', "")
    tun, bag = (
        medians(beer(f'[brewhouse]\nlauter = "no sparge"\n{line}', top=top))
        for line in ("", 'bag = "squeezed"\n')
    )

    assert of(bag, "mash_water_l") < of(tun, "mash_water_l")
    assert of(bag, "mash_efficiency_fraction") > of(tun, "mash_efficiency_fraction")


def _ibu(krausen):
    line = f'krausen = "{krausen}"\n' if krausen else ""
    yeast = f'[yeast]\nname = "clean ale yeast"\n{line}'
    return problem_of(beer(hop(mass="40 g", alpha="8 %"), yeast=yeast))


def test_a_krausen_left_alone_is_the_usual_one():
    assert _ibu("left").fixed["krausen_kept_share"] == [1.0]
    assert len(_ibu("left").factors) == len(_ibu("").factors)


@pytest.mark.parametrize(("krausen", "printed"), [("skimmed", 35 / 41), ("blown off", 30 / 41)])
def test_skimming_and_blowing_off_take_the_bitterness_printed(krausen, printed):
    """41 IBU undisturbed, 35 skimmed, 30 blown off: Hosom, brewing-science log, post 22."""
    left = simulate(_ibu("left"), draws=4096, seed=1)["bitterness_ibu"].to_numpy()
    taken = simulate(_ibu(krausen), draws=4096, seed=1)["bitterness_ibu"].to_numpy()

    assert np.median(taken) / np.median(left) == pytest.approx(printed, abs=0.09)


def _sugar(name, mass="1 kg", **fields):
    lines = {"name": name, "mass": mass} | fields
    return "[[sugar]]\n" + "".join(f'{key} = "{value}"\n' for key, value in lines.items())


def test_sour_wort_is_boiled_sour_with_its_hops_and_keeps_their_isomerization():
    plain, sour = at('souring = "to pH 4.8"\n'), at('souring = "kettle soured to pH 3.3"\n')

    assert of(sour, "boiled_wort_ph") == 3.3
    assert sour["hop_isomerized_fraction"] == pytest.approx(plain["hop_isomerized_fraction"])
    assert of(sour, "bitterness_ibu") == pytest.approx(of(plain, "bitterness_ibu"), rel=0.02)


def test_a_sour_beer_keeps_its_acid_as_extract_and_loses_that_alcohol():
    plain, sour = at(), at('souring = "pH 3.3"\n')

    assert of(plain, "lactic_acid_g_l") == 0.0
    assert 3.0 < of(sour, "lactic_acid_g_l") < 6.0
    assert of(sour, "original_gravity_sg") == of(plain, "original_gravity_sg")
    assert 0.001 < of(sour, "final_gravity_sg") - of(plain, "final_gravity_sg") < 0.004
    assert of(sour, "alcohol_by_volume_fraction") < of(plain, "alcohol_by_volume_fraction")


def test_hops_before_souring_are_told():
    early = parse_recipe(beer(hop(when="first wort"), top=f'{TOP}souring = "pH 3.4"\n')).remarks
    late = parse_recipe(beer(hop(), top=f'{TOP}souring = "pH 3.4"\n')).remarks

    assert any("hop 1 is in the wort while it sours" in told for told in early)
    assert not any("while it sours" in told for told in late)


def test_a_beer_from_a_can_has_the_cans_bitterness_and_no_hops():
    can = _sugar("Hopped malt extract", "1.7 kg", bitterness="420 IBU")
    top = TOP.replace("20 L", "23 L").replace("60 min", "0 min").replace('efficiency = "75 %"', "")
    values = medians(beer(can, _sugar("Dextrose"), top=top, malt=""))
    brought = 420 * 1.7 / of(values, "whole_wort_l")

    assert of(values, "kit_bitterness_ibu") == pytest.approx(
        brought
        * of(values, "fermentation_retention_fraction")
        * of(values, "bitterness_age_factor")
    )
    assert 20.0 < of(values, "bitterness_ibu") < 28.0


def test_a_can_that_says_nothing_is_spread_wide_and_unhopped_extract_has_none():
    top = TOP.replace('efficiency = "75 %"\n', "")
    hopped = problem_of(beer(_sugar("Hopped malt extract", "3 kg"), top=top, malt=""))
    plain = problem_of(beer(_sugar("Liquid malt extract", "3 kg"), top=top, malt=""))

    assert any(f.quantity == "sugar_bitterness_ibu" for f in hopped.factors)
    assert not any(f.quantity.startswith("sugar_bitterness") for f in plain.factors)


def test_sugar_into_the_fermenter_is_not_boiled_and_ferments_whole():
    boiled, later = (
        medians(beer(hop(mass="40 g"), _sugar("Dextrose", when=when)))
        for when in ("boil", "in the fermenter on day 3")
    )

    assert of(later, "cast_wort_gravity_sg") < of(boiled, "cast_wort_gravity_sg")
    assert of(later, "bitterness_ibu") > of(boiled, "bitterness_ibu")
    assert of(later, "original_gravity_sg") > of(boiled, "original_gravity_sg")
    assert of(later, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)
    fermented = later["sugar_share_of_extract_fraction"].sum()
    assert of(later, "fermentable_sugar_fraction") == pytest.approx(fermented)


def test_lactose_stays_in_the_beer():
    """All of it: real extract rises by what the original extract rises, but for the rounding."""
    plain, sweet = at(), medians(beer(hop(), _sugar("Milk sugar", "0.5 kg")))
    more = {
        q: of(sweet, q) - of(plain, q) for q in ("original_extract_plato", "real_extract_plato")
    }

    assert of(sweet, "fermentable_sugar_fraction") == 0.0
    assert more["real_extract_plato"] == pytest.approx(more["original_extract_plato"], rel=0.25)
    alcohol = [of(one, "alcohol_by_volume_fraction") for one in (sweet, plain)]
    assert alcohol[0] == pytest.approx(alcohol[1], rel=0.03)


def test_a_partial_mash_takes_its_efficiency_on_the_malt_alone():
    """By hand: extract owes nothing to the mash, so a fall of the efficiency moves malt's only."""
    dry = _sugar("Dry malt extract", "1.5 kg")
    malt = '[[malt]]\nname = "Pilsner malt"\nmass = "1.5 kg"\n'
    good, poor = (
        medians(beer(dry, malt=malt, top=TOP.replace("75 %", share))) for share in ("80 %", "60 %")
    )

    assert of(poor, "sugar_extract_kg") == of(good, "sugar_extract_kg")
    assert of(poor, "kettle_extract_kg") == pytest.approx(0.75 * of(good, "kettle_extract_kg"))
    assert of(good, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_no_sparge_is_all_water_in_the_mash_and_costs_extract():
    top = TOP.replace('efficiency = "75 %"\n', "")
    one, two = (
        medians(beer(f'[brewhouse]\nlauter = "{way}"\n', top=top))
        for way in ("no sparge", "batch sparge")
    )

    assert of(one, "sparge_water_l") == 0.0
    assert of(one, "mash_efficiency_fraction") < of(two, "mash_efficiency_fraction")


WRONG = [
    ('souring = "to pH 5.2"\n', "", "5.2 pH is outside 2.8 pH to 4.8 pH"),
    ('souring = "lactobacillus"\n', "", "to which pH"),
    ('souring = "to pH 3.4 for 36 h at 38 °C"\n', "", "only the pH at which it is stopped is read"),
    ("", _sugar("Hopped malt extract", bitterness="strong"), "is not a number"),
    ("", _sugar("Hopped malt extract", bitterness="4200 IBU"), "4200 IBU is outside 0 IBU to 3000"),
    ("", _sugar("Hopped malt extract", bitterness="8 %"), "a bitterness belongs here"),
    ("", _sugar("Dextrose", when="bottling"), "is no time for a sugar"),
    ("", _sugar("Dextrose", when="fermentor"), "Did you mean fermenter"),
    ("", _sugar("Dextrose", when="dry hop day 3"), "write boil, late or fermenter"),
    ("", _sugar("Lactose", "500 L"), "a mass belongs here"),
    ("", _sugar("Lactoze"), "Did you mean Lactose"),
    ("", _sugar("Lactose", fermentability="20"), "write 20 %"),
    ("", '[brewhouse]\nlauter = "no sparge"\n', "it is computed for “no sparge”"),
    ("", '[brewhouse]\nlauter = "nosparge"\n', "Did you mean no sparge"),
    (
        "",
        '[brewhouse]\nlauter = "no sparge"\n[water]\nsparge = "8 L"\n',
        "but lauter is “no sparge”",
    ),
    ("", '[brewhouse]\nbag = "squished"\n', "write drained or squeezed"),
    ("", '[brewhouse]\nbag = "0.5 L/kg"\n', "write drained or squeezed"),
    ("", '[brewhouse]\nbags = "squeezed"\n', "Did you mean bag"),
    ("", _sugar("Dry malt extract", "1500 kg"), "is more than 1.5 kg/L"),
    ("", _sugar("Dry malt extrct"), "Did you mean Dry malt extract"),
    ("", _sugar("Dry malt extract", when="mash"), "is no time for a sugar"),
]
"""Top line, blocks, and the words that refuse them: three for each way of brewing."""


@pytest.mark.parametrize(("top", "blocks", "told"), WRONG)
def test_a_wrong_line_is_refused_in_words(top, blocks, told):
    with pytest.raises(InputError) as found:
        problem_of(beer(blocks, top=TOP + top))

    assert told in str(found.value)


@pytest.mark.parametrize("way", ["no sparge", "batch sparge", "continuous sparge"])
def test_a_stated_lauter_leaves_open_what_brewers_reach_of_it(way):
    """Saying how the grain is lautered states no efficiency: the spread stays that of brewers."""
    top = TOP.replace('efficiency = "75 %"\n', "")
    said, unsaid = (
        simulate(problem_of(beer(house, top=top)), 1024, seed=1)["original_gravity_sg"]
        for house in (f'[brewhouse]\nlauter = "{way}"\n', "")
    )

    assert float(said.std()) > 0.7 * float(unsaid.std())
