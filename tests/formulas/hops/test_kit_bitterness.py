"""Bitterness of hopped extract against its maker's own sum and against its laws."""

import numpy as np
import pytest

from brewsim.formulas.hops.kit_bitterness import kit_bitterness_ibu


def column(*values):
    return np.array(values, dtype=float).reshape(-1, 1)


def kit(*masses, litres=23.0, can=270.0, kept=1.0, cold=0.0, factor=1.0):
    ones = np.ones((len(masses), 1))
    one = np.ones(1)
    return kit_bitterness_ibu(
        column(*masses), ones, can * ones, ones, cold * ones, factor * one, litres * one,
        kept * one, one, one,
    )  # fmt: skip


def test_a_can_gives_what_its_makers_sum_says():
    """A maker's support page: 270 x 1.7 / 23 = 20 IBU before fermentation, 14 to 18 after."""
    assert kit(1.7) == pytest.approx(20.0, abs=0.05)
    assert 14.0 < kit(1.7, kept=0.83)[0] < 18.0


def test_two_cans_are_one_of_twice_the_mass_and_water_dilutes():
    assert kit(1.7, 1.7) == pytest.approx(kit(3.4)[0])
    assert kit(1.7, litres=46.0) == pytest.approx(kit(1.7)[0] / 2)


def test_no_extract_brings_nothing_and_the_trub_takes_none_of_the_fermenters():
    assert kit() == 0.0
    assert kit(1.7, cold=1.0, factor=1.05) == pytest.approx(1.05 * kit(1.7)[0])
