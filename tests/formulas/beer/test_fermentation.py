"""Attenuation and what is left, against Cutaia et al. 2009 and against laws."""

import tomllib

import numpy as np
import pytest

from brewsim.formulas.beer import fermentation, strength
from tests.formulas.beer.worts import ONE, PRIORS, ZERO, a, column, limit

CUTAIA_TABLE_III = {
    "RPB-I": (92, 14.08, 4.72, 5.28, 3.11),
    "RPB-II": (112, 14.54, 5.14, 4.88, 2.53),
    "proprietary": (71, 17.67, 6.56, 5.38, 2.45),
    "CMBTC": (221, 11.34, 3.82, 3.80, 2.01),
    "Navarro": (36, 12.75, 4.21, 4.74, 2.79),
}
"""Brews, original extract, alcohol by weight, real extract, apparent extract: set means."""


SETS = [pytest.param(*row, id=name) for name, row in CUTAIA_TABLE_III.items()]


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
