"""How brewers brew: rests, mash time, bags and the krausen move what they should, and only that."""

import numpy as np
import pytest

from brewsim import simulate
from brewsim.errors import InputError
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
