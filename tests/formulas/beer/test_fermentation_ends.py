"""Where fermentation ends: hop creep, stalls, diastatic yeast, kegs and bottles."""

import tomllib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.formulas.beer import fermentation, hop_creep, strength
from tests.formulas.beer.worts import ONE, PRIORS, ZERO, a, column, limit


def creep_of(dose_g_l, days, temperature=20.0):
    """Percent alcohol by volume that creep adds before the hops come out."""
    done = hop_creep.dry_hop_creep_fraction(a(days), a(temperature), a(0.155), a(2.0))
    most = hop_creep.creep_limit_plato(a(dose_g_l), a(0.13))
    return 0.520 * hop_creep.hop_creep_plato(most, done)[0]


def test_hop_creep_matches_the_published_course():
    """Kirkpatrick & Shellhammer 2018: at 10 g/L, +0.7 % vol in 5 days, +1.3 % in the end."""
    assert creep_of(10.0, 5.0) == pytest.approx(0.7, abs=0.01)
    assert creep_of(10.0, 40.0) == pytest.approx(1.3, abs=0.01)


def test_hop_creep_is_slow_in_the_cold_and_flat_above_ten_grams():
    assert creep_of(10.0, 2.0, 10.0) < 0.6 * creep_of(10.0, 2.0)
    assert creep_of(20.0, 5.0) == creep_of(10.0, 5.0)
    assert creep_of(0.0, 5.0) == 0.0


def test_without_dry_hops_there_is_no_creep_and_no_nan():
    none = np.zeros((0, 1))
    done = hop_creep.creep_done_fraction(none, none)

    assert hop_creep.dry_hop_dose_g_l(none, a(20.0)) == 0.0
    assert done == 0.0


def test_dry_hops_creep_by_their_own_contact_time():
    share = hop_creep.dry_hop_creep_fraction(column(3, 7), column(20, 20), a(0.155), a(2.0))
    done = hop_creep.creep_done_fraction(column(60.0, 40.0), share)

    assert done == pytest.approx(0.6 * share[0] + 0.4 * share[1])


def ends(live, *, stall=0.0, unfinished=0.05, creep=0.4, diastatic=1.0):
    ratio = fermentation.real_extract_ratio_factor(a(12.0), a(0.78), ZERO)
    stalled = fermentation.stalled_extract_plato(a(stall), a(0.08), a(12.0))
    packed = fermentation.pack_extract_plato(
        a(12.0), a(2.64), ratio, a(unfinished), a(diastatic), a(live), stalled, a(creep * 0.5)
    )
    more = fermentation.refermented_extract_plato(
        a(12.0), a(2.64), ratio, packed, a(live), stalled, a(0.3), a(creep), a(0.5), a(0.3)
    )
    return packed[0], fermentation.final_extract_plato(packed, more)[0]


def test_a_keg_stays_as_it_is_and_a_bottle_goes_on():
    keg, bottle = ends(0.0), ends(1.0)

    assert keg[0] == keg[1] == pytest.approx(2.64 - 0.2)
    assert bottle[0] == pytest.approx(2.64 + 0.05 - 0.2)
    assert bottle[1] == pytest.approx(2.64 - 0.4 * (0.5 + 0.3 * 0.5))


def test_a_stall_leaves_extract_and_part_of_it_ferments_in_the_bottle():
    keg, bottle = ends(0.0, stall=1.0), ends(1.0, stall=1.0)

    assert keg[0] - ends(0.0)[0] == pytest.approx(0.96)
    assert (bottle[0] - bottle[1]) - (ends(1.0)[0] - ends(1.0)[1]) == pytest.approx(0.3 * 0.96)


def test_a_stall_never_takes_extract_away():
    assert fermentation.stalled_extract_plato(a(1.0), a(-0.05), a(12.0)) == 0.0


def test_a_stall_that_is_off_changes_nothing():
    prior = tomllib.loads((PRIORS / "process.toml").read_text(encoding="utf-8"))

    assert prior["stall_share"] == prior["stall_share"] | {"family": "constant", "value": 0.0}
    assert fermentation.stalled_extract_plato(ZERO, a(0.3), a(12.0)) == 0.0


def test_diastatic_yeast_leaves_more_for_the_bottle():
    plain, wild = ends(1.0), ends(1.0, diastatic=3.0)

    assert (wild[0] - wild[1]) - (plain[0] - plain[1]) == pytest.approx(0.10)


@given(st.floats(0.3, 1.05), st.floats(4.0, 25.0), st.floats(0.0, 12.0), st.floats(0.0, 0.5))
def test_the_beer_never_ends_above_its_packing_extract_nor_below_the_limit(
    base, original, creep, unfinished
):
    ratio = fermentation.real_extract_ratio_factor(a(original), a(base), ZERO)
    end = a(limit(original, base))
    packed = fermentation.pack_extract_plato(
        a(original), end, ratio, a(unfinished), ONE, ONE, ZERO, a(creep)
    )
    more = fermentation.refermented_extract_plato(
        a(original), end, ratio, packed, ONE, ZERO, ZERO, a(creep), ONE, ZERO
    )
    final = fermentation.final_extract_plato(packed, more)
    real = strength.real_extract_plato(a(original), final, ratio)

    assert final <= packed <= original
    assert real >= 0.02 * original - 1e-9


def test_no_beer_keeps_less_than_a_fiftieth_of_its_real_extract():
    """Real attenuation 0.98 at a ratio of 0.8: the apparent extract is 12 (1 - 0.98/0.8)."""
    drained = fermentation.pack_extract_plato(
        *(np.array([value]) for value in (12.0, 1.0, 0.8, 0.0, 1.0, 0.0, 0.0, 9.0))
    )

    assert drained == pytest.approx([12 * (1 - 0.98 / 0.8)])
