"""The mash water's temperature against printed figures and against the balance of heat."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.formulas.wort import strike


def a(*values):
    return np.array(values, dtype=float)


def water_at(mash, litres, grain_kg, grain, *, heat=0.4, rise=0.0, loss=0.0):
    """Litres are taken as kilograms, as the printed examples do."""
    kilograms = a(litres / 0.9982)
    return strike.strike_water_temperature_c(
        a(mash), a(0.0), kilograms, a(1.0), a(grain_kg), a(heat), a(grain), a(rise), a(loss)
    )[0]


@pytest.mark.parametrize(
    ("moisture", "printed"),
    [(0, 0.38), (0.01, 0.38), (0.02, 0.39), (0.03, 0.40), (0.04, 0.40), (0.06, 0.41), (0.08, 0.42)],
)
def test_heat_of_malt_matches_the_printed_table(moisture, printed):
    """Brewing Room Book, 1984/85: specific heat of malt by moisture, two decimals."""
    assert strike.grist_heat_factor(a(moisture)) == pytest.approx(printed, abs=0.005 + 1e-12)


@pytest.mark.parametrize(
    ("moisture", "fahrenheit", "celsius"),
    [
        (0.0, 5.5, 3.0), (0.01, 5.0, 2.8), (0.02, 4.0, 2.3), (0.03, 3.5, 2.3), (0.04, 3.0, 1.5),
        (0.06, 2.5, 1.3), (0.08, 2.0, 1.0),
    ],
)  # fmt: skip
def test_slaking_heat_matches_the_printed_table(moisture, fahrenheit, celsius):
    """Brewing Room Book, 1984/85: its °F column, and its coarser °C column to 0.4."""
    rise = strike.slaking_rise_c(a(moisture), a(1.0))

    assert 1.8 * rise == pytest.approx(fahrenheit)
    assert rise == pytest.approx(celsius, abs=0.4)


def test_mash_water_matches_the_printed_example_in_celsius():
    """A home brewer's web log, Strike temperature, 2015: 6 L/kg, 30 °C malt, 65 °C: 67.4 °C."""
    assert water_at(65.0, 6.0, 1.0, 30.0, heat=0.41) == pytest.approx(67.4, abs=0.05)


def test_mash_water_matches_the_printed_example_in_fahrenheit():
    """J. Palmer, How to Brew (0.2/R, at second hand); a web page works it to 166 °F.

    1.25 US qt/lb, 65 °F malt, 152 °F mash; 0.2 lb of malt heats as one quart (2.086 lb) of water.
    """
    celsius = water_at((152 - 32) / 1.8, 1.25, 1.0, (65 - 32) / 1.8, heat=0.2)

    assert celsius * 1.8 + 32 == pytest.approx(166, abs=0.5)


@given(
    mash=st.floats(40.0, 75.0),
    thickness=st.floats(1.5, 6.0),
    grain=st.floats(0.0, 35.0),
    heat=st.floats(0.38, 0.42),
    rise=st.floats(0.0, 3.0),
)
def test_water_and_malt_mix_to_the_set_temperature(mash, thickness, grain, heat, rise):
    """The balance of heat, the other way round: I = (S Tg + M T) / (S + M) + r."""
    water = water_at(mash, thickness, 1.0, grain, heat=heat, rise=rise)
    mixed = (heat * grain + thickness * water) / (heat + thickness)

    assert mixed + rise == pytest.approx(mash)


def test_water_without_malt_needs_no_more_than_its_loss():
    assert water_at(66.0, 10.0, 0.0, 18.0, loss=1.7) == pytest.approx(67.7)


@given(cold=st.floats(0.0, 20.0), warmer=st.floats(0.0, 15.0))
def test_warmer_malt_never_asks_for_hotter_water(cold, warmer):
    assert water_at(66.0, 3.0, 1.0, cold + warmer) <= water_at(66.0, 3.0, 1.0, cold)


def test_moisture_of_the_grist_is_weighed_by_mass_and_no_malt_is_no_nan():
    two = strike.grist_moisture_fraction(a(3.0, 1.0)[:, None], a(0.04, 0.08)[:, None], a(4.0))
    none = strike.grist_moisture_fraction(np.zeros((0, 1)), np.zeros((0, 1)), a(0.0))

    assert two == pytest.approx(0.05)
    assert none == 0.0
