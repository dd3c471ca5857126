"""Rests and length of the mash, and decoctions: laws, and what printed mashes reached."""

import numpy as np
import pytest

from brewsim.formulas.beer.fermentation import malt_attenuation_fraction
from brewsim.formulas.wort.mash_schedule import (
    decoction_color_factor,
    mash_schedule_rise_c,
    mash_time_gain_fraction,
)


def column(*values):
    return np.array(values, dtype=float).reshape(-1, 1)


def rise(rises, minutes, conversion=17.0):
    found = mash_schedule_rise_c(column(*rises), column(*minutes), np.array([conversion]))
    return float(found[0])


def attenuation(celsius, reference=65.0, strain=0.82, gain=0.0):
    """The mash of the source: 82 % at 65 °C, its slopes at their medians."""
    one = np.ones(1)
    found = malt_attenuation_fraction(
        strain * one, -0.024 * one, -0.04 * one, celsius * one, reference * one, 0 * one, 0 * one,
        gain * one,
    )  # fmt: skip
    return float(found[0])


def test_no_rest_and_one_rest_change_nothing():
    assert rise([], []) == 0.0
    assert rise([0.0], [60.0]) == 0.0


def test_a_second_rest_counts_for_what_the_first_left():
    assert 0.0 < rise([0.0, 9.0], [40.0, 20.0]) < 1.0
    assert rise([0.0, 9.0], [10.0, 50.0]) > rise([0.0, 9.0], [40.0, 20.0])


def test_splitting_a_rest_in_two_changes_nothing():
    whole = rise([0.0, 9.0], [40.0, 20.0])

    assert rise([0.0, 0.0, 9.0], [15.0, 25.0, 20.0]) == pytest.approx(whole)


def test_a_slower_mash_listens_more_to_its_later_rests():
    assert rise([0.0, 9.0], [40.0, 20.0], 34.0) > rise([0.0, 9.0], [40.0, 20.0])


@pytest.mark.parametrize(("celsius", "printed"), [(65, 0.82), (70, 0.70), (75, 0.50), (80, 0.30)])
def test_single_temperature_mashes_reach_what_was_printed(celsius, printed):
    """J. Chandrasekhar, as quoted in 2014: 82, 70, 50 and 30 % (secondary)."""
    assert attenuation(celsius) == pytest.approx(printed, abs=0.005)


def test_an_attenuation_of_a_cool_mash_is_kept_in_that_mash():
    assert attenuation(60.0, reference=60.0, strain=0.84) == pytest.approx(0.84)


def test_a_mash_twice_as_long_gains_what_a_doubling_gains():
    gained = [
        float(mash_time_gain_fraction(np.array([minutes]), np.array([60.0]), np.array([0.02]))[0])
        for minutes in (30.0, 60.0, 120.0)
    ]

    assert gained == pytest.approx([-0.02, 0.0, 0.02])


def test_no_decoction_leaves_the_colour_and_more_of_it_darkens():
    per = np.array([0.006])
    none, short, long = (
        float(decoction_color_factor(np.array([minutes]), per)[0]) for minutes in (0.0, 15.0, 45.0)
    )

    assert none == 1.0
    assert 1.0 < short < long
