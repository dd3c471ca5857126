"""Souring in the kettle against a titration worked by hand and against its laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.formulas.wort import souring


def a(*values):
    return np.array(values, dtype=float)


def acid(soured, wort=5.35, buffer=0.0035, extract=2.0, litres=20.0):
    boiled = souring.boiled_wort_ph(a(wort), a(soured))
    made = souring.lactic_acid_g_l(a(wort), boiled, a(buffer), a(extract), a(0.0), a(litres))
    return float(made[0])


def test_the_acid_of_ten_plato_soured_to_its_pka_is_twice_the_charge():
    """By hand: 0.0035 x 100 g/L x (5.35 - 3.86) = 0.5215 g/L, half of the acid dissociated."""
    assert acid(3.86) == pytest.approx(2 * 0.5215)


def test_the_share_dissociated_is_that_of_henderson_and_hasselbalch():
    """At pH 2.86, one below the pKa of 3.86, one part in eleven is dissociated."""
    assert acid(2.86) == pytest.approx(11 * 0.0035 * 100.0 * (5.35 - 2.86))


def test_a_sour_wort_holds_grams_of_acid_per_litre():
    """Sour beers are titrated at 3 to 8 g/L [from memory]; wort's own acids are not in here."""
    assert 2.0 < acid(3.4) < 4.0
    assert 3.5 < acid(3.2) < 7.0


@given(st.floats(2.8, 4.7), st.floats(0.0, 0.5))
def test_more_fall_needs_more_acid(soured, more):
    assert acid(soured) >= acid(soured + more)


def test_without_souring_there_is_no_acid_and_the_ph_is_the_worts():
    assert acid(14.0) == 0.0
    assert souring.boiled_wort_ph(a(5.35), a(14.0)) == 5.35


def test_acid_takes_its_own_weight_of_extract():
    taken = souring.soured_extract_fraction(a(5.0), a(1.5), a(0.5), a(20.0))

    assert taken == pytest.approx(5.0 / 100.0)
    assert souring.soured_extract_fraction(a(0.0), a(0.0), a(0.0), a(20.0)) == 0.0
