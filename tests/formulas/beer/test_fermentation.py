"""Attenuation, hop creep and what is left, against Cutaia et al. 2009 and against laws."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.formulas.beer import fermentation, hop_creep, strength

PRIORS = Path(__file__).parents[3] / "priors"
CUTAIA_TABLE_III = {
    "RPB-I": (92, 14.08, 4.72, 5.28, 3.11),
    "RPB-II": (112, 14.54, 5.14, 4.88, 2.53),
    "proprietary": (71, 17.67, 6.56, 5.38, 2.45),
    "CMBTC": (221, 11.34, 3.82, 3.80, 2.01),
    "Navarro": (36, 12.75, 4.21, 4.74, 2.79),
}
"""Brews, original extract, alcohol by weight, real extract, apparent extract: set means."""
SETS = [pytest.param(*row, id=name) for name, row in CUTAIA_TABLE_III.items()]
ZERO, ONE = np.zeros(1), np.ones(1)


def a(*values):
    return np.array(values, dtype=float)


def column(*values):
    return a(*values).reshape(-1, 1)


def real_extract(original, apparent):
    ratio = fermentation.real_extract_ratio_factor(a(original), a(1 - apparent / original), ZERO)
    return strength.real_extract_plato(a(original), a(apparent), ratio)[0]


def alcohol(original, apparent):
    return 100 * strength.alcohol_by_weight_fraction__line(a(original), a(apparent), ZERO)[0]


def balling(original, apparent):
    return 100 * strength.alcohol_by_weight_fraction__balling(a(original), a(apparent))[0]


@pytest.mark.parametrize(("brews", "original", "by_weight", "real", "apparent"), SETS)
def test_alcohol_of_the_measured_sets_is_met_within_the_lines_standard_error(
    brews, original, by_weight, real, apparent
):
    """Cutaia, Reid & Speers, J. Inst. Brew. 115(4), 2009, Table III: means of five sets.

    The line misses them by -0.09, -0.05, +0.06, +0.03 and -0.05 % by weight; its standard error
    of 0.0100 per °P allows 0.09 to 0.15.
    """
    assert brews > 0
    assert real > apparent
    assert abs(alcohol(original, apparent) - by_weight) < 0.0100 * (original - apparent)
    assert alcohol(original, apparent) == pytest.approx(by_weight, abs=0.09)


@pytest.mark.parametrize(
    ("original", "apparent", "line", "by_balling"),
    [(14.54, 2.53, 5.091, 5.147), (11.34, 2.01, 3.848, 3.929), (17.67, 2.45, 6.622, 6.639)],
)
def test_both_alcohol_forms_give_their_worked_values(original, apparent, line, by_balling):
    """Cutaia's line and Balling's form at three of the set means."""
    assert alcohol(original, apparent) == pytest.approx(line, abs=6e-4)
    assert balling(original, apparent) == pytest.approx(by_balling, abs=6e-4)


def test_over_all_measured_brews_the_line_is_closer_than_balling():
    """Cutaia et al. 2009, Table III weighted by brews: -0.009 against +0.053 % by weight."""
    rows = list(CUTAIA_TABLE_III.values())
    weights = [row[0] for row in rows]
    by_line = np.average([alcohol(row[1], row[4]) - row[2] for row in rows], weights=weights)
    by_balling = np.average([balling(row[1], row[4]) - row[2] for row in rows], weights=weights)

    assert by_line == pytest.approx(-0.009, abs=0.002)
    assert by_balling == pytest.approx(0.053, abs=0.002)


@pytest.mark.parametrize(("brews", "original", "by_weight", "real", "apparent"), SETS)
def test_real_extract_of_the_measured_sets_is_met_within_003(
    brews, original, by_weight, real, apparent
):
    """Cutaia et al. 2009, Table III; Balling's 0.1808/0.8192 lies 0.10 to 0.19 °P low."""
    low = real - (0.1808 * original + 0.8192 * apparent)

    assert brews * by_weight > 0
    assert real_extract(original, apparent) == pytest.approx(real, abs=0.03)
    assert 0.09 < low < 0.20


@pytest.mark.parametrize(
    ("original", "apparent", "worked"),
    [
        (14.08, 3.11, 5.26),
        (14.54, 2.53, 4.86),
        (17.67, 2.45, 5.40),
        (11.34, 2.01, 3.81),
        (12.75, 2.79, 4.73),
    ],
)
def test_real_extract_gives_its_worked_values(original, apparent, worked):
    """The ASBC form of real attenuation put through Cutaia's ratio, worked by hand."""
    assert real_extract(original, apparent) == pytest.approx(worked, abs=0.006)


def test_the_ratio_of_real_to_apparent_loss_is_near_0805():
    """From Cutaia's five sets: 0.802 to 0.808."""
    ratios = [
        fermentation.real_extract_ratio_factor(a(row[1]), a(1 - row[4] / row[1]), ZERO)[0]
        for row in CUTAIA_TABLE_III.values()
    ]

    assert min(ratios) > 0.8015
    assert max(ratios) < 0.8085


def test_balling_chain_matches_the_printed_example():
    """hagenrudolph.de: OE 12.2, AE 3.8 give RE 5.3, 3.6 % by weight, 4.5 % vol, 230 kcal in 0.5 L.

    With that page's own constants: density 261.1/(261.56 - AE), ethanol 0.794, ash 0.1.
    """
    by_weight = balling(12.2, 3.8)
    real = 0.1808 * 12.2 + 0.8192 * 3.8
    density = 261.1 / (261.56 - 3.8)
    kcal = (6.9 * by_weight + 4 * (real - 0.1)) * 10 * 0.5 * density
    ours = strength.energy_kcal_l(a(by_weight / 100), a(real), a(density), ZERO, ONE)

    assert real == pytest.approx(5.31872)
    assert by_weight == pytest.approx(3.55367, abs=2e-4)
    assert by_weight * density / 0.794 == pytest.approx(4.53365, abs=3e-4)
    assert kcal == pytest.approx(229.92, abs=0.02)
    assert ours / 2 == pytest.approx(229.92, abs=0.02)


def attenuation(temperature, slope=-0.023):
    return fermentation.malt_attenuation_fraction(
        a(0.78), a(slope), a(-0.04), a(temperature), a(66.0), ZERO, ZERO, ZERO
    )[0]


def test_a_hotter_mash_attenuates_less_between_63_and_82_degrees():
    """J. Chandrasekhar, as quoted in 2014: 65 °C 82 %, 70 °C 70 %, -2.4 points/°C."""
    prior = tomllib.loads((PRIORS / "process.toml").read_text(encoding="utf-8"))
    slope = prior["attenuation_slope_per_c"]

    assert attenuation(65.0) - attenuation(70.0) == pytest.approx(0.115)
    assert abs((0.70 - 0.82) / 5 - slope["mean"]) < slope["sd"]
    assert attenuation(60.0) == attenuation(63.0)
    assert attenuation(70.0) - attenuation(75.0) == pytest.approx(0.20)
    assert attenuation(84.0) == attenuation(82.0)


def limit(original=12.0, base=0.78, sugar_share=0.0, fermentable=0.0, grist=1.0, soured=0.0):
    ratio = fermentation.real_extract_ratio_factor(a(original), a(base), ZERO)
    real = fermentation.real_attenuation_fraction(
        a(sugar_share), ratio, a(grist), a(base), a(fermentable), a(soured)
    )
    return fermentation.limit_extract_plato(a(original), real, ratio)[0]


def test_all_base_malt_ferments_as_far_as_the_yeast_says():
    assert limit() == pytest.approx(12.0 * 0.22)


def test_sugar_dries_the_beer_and_lactose_does_not():
    assert limit(sugar_share=0.1, fermentable=0.1) < limit() < limit(sugar_share=0.1)


def test_what_lactic_bacteria_took_yeast_leaves():
    """By hand: a twentieth of 12 °P soured leaves 0.6 °P real, 0.6 over the ratio apparent."""
    ratio = fermentation.real_extract_ratio_factor(a(12.0), a(0.78), ZERO)[0]

    assert limit(soured=0.05) - limit() == pytest.approx(0.6 / ratio)


def test_nothing_ferments_beyond_98_percent_of_the_real_extract():
    ratio = fermentation.real_extract_ratio_factor(a(12.0), a(0.78), ZERO)[0]

    assert limit(sugar_share=1.0, fermentable=1.0) == pytest.approx(12 * (1 - 0.98 / ratio))


def test_grist_fermentability_is_the_mean_by_mass():
    mixed = fermentation.grist_fermentability_factor(column(4.0, 1.0), column(1.0, 0.72))
    none = fermentation.grist_fermentability_factor(np.zeros((0, 1)), np.zeros((0, 1)))

    assert mixed == pytest.approx(0.944)
    assert none == 1.0


def test_sugar_shares_add_up_and_no_sugar_is_none():
    shares = fermentation.sugar_share_of_extract_fraction(column(0.5, 0.1), a(3.4), a(0.6))
    empty = fermentation.sugar_share_of_extract_fraction(np.zeros((0, 1)), a(3.4), ZERO)

    assert fermentation.sugar_extract_share(shares) == pytest.approx(0.15)
    assert fermentation.fermentable_sugar_fraction(shares, column(1.0, 0.5)) == pytest.approx(
        0.1375
    )
    assert fermentation.sugar_extract_share(empty) == 0.0


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
