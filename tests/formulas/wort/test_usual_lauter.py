"""Mash efficiency where none is stated: two equal runnings with their own spread."""

import numpy as np
import pytest

from brewsim.formulas.wort.mash import mash_efficiency_fraction__batch_sparge
from brewsim.formulas.wort.usual_lauter import mash_efficiency_fraction__usual

ONE = np.ones(1)


def a(*values):
    return np.array(values, dtype=float)


def usual(retained_l, factor=1.0, held_kg=1.0, converted_kg=1.0):
    return mash_efficiency_fraction__usual(
        a(held_kg), a(converted_kg), a(27.0), a(retained_l), a(factor)
    )[0]


@pytest.mark.parametrize(("grain", "twice"), [(4, 0.9375), (5, 0.916), (6, 0.894), (8, 0.851)])
def test_it_is_the_theory_of_two_equal_runnings(grain, twice):
    """S. Terrill, Batch sparging theory, 2013: 27 L, 1 L/kg held, 0.5 L dead space."""
    assert usual(grain + 0.5) == pytest.approx(twice, abs=6e-4)


def test_it_agrees_with_the_batch_sparge_of_half_the_wort():
    batch = mash_efficiency_fraction__batch_sparge(ONE, ONE, a(27.0), a(13.5), ONE, a(6.5), ONE)

    assert usual(6.5) == pytest.approx(batch[0], rel=1e-12)


def test_it_falls_as_the_grist_grows_and_never_passes_the_whole():
    found = [usual(retained) for retained in (2.0, 5.0, 10.0, 20.0)]

    assert found == sorted(found, reverse=True)
    assert usual(5.0, factor=1.3) == 1.0
    assert usual(5.0, factor=0.5) == pytest.approx(0.5 * usual(5.0))
    assert usual(5.0, held_kg=4.0, converted_kg=3.8) == pytest.approx(0.95 * usual(5.0))


def test_without_malt_nothing_is_mashed_and_nothing_told():
    """No malt holds no extract, whatever the efficiency; 0 % would be told as out of range."""
    assert 0.3 < usual(0.5, held_kg=0.0, converted_kg=0.0) <= 1.0
