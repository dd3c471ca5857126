"""Carbonation, pressure, alcohol by volume and energy against tables and stoichiometry."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from brewsim.formulas.beer import packaging, strength

PRIORS = Path(__file__).parents[3] / "priors"
OIML = (
    998.20123, -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388,
    306287.4042, -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426,
)  # fmt: skip
"""OIML R22 / Directive 76/766/EEC: density of ethanol and water at 20 °C by mass fraction."""
ZERO, ONE = np.zeros(1), np.ones(1)


def a(*values):
    return np.array(values, dtype=float)


def ethanol_water(mass_fraction):
    return sum(c * mass_fraction**power for power, c in enumerate(OIML))


def gas(sugar_g_l, yield_g_g, sugar=1.0):
    return packaging.priming_gas_g_l(a(sugar_g_l), a(yield_g_g), a(sugar))[0]


@pytest.mark.parametrize(
    ("celsius", "vol"),
    [(0, 1.7), (4, 1.5), (8, 1.3), (12, 1.12), (16, 0.99), (20, 0.88), (22, 0.83)],
)
def test_carbonation_left_from_fermentation_matches_the_printed_table(celsius, vol):
    """D. Draper, priming table: residual carbonation by temperature."""
    assert packaging.residual_carbonation_vol(a(celsius), ZERO) == pytest.approx(vol, abs=0.03)


def test_carbonation_left_at_20_degrees_is_0861():
    """The quadratic at 68 °F."""
    assert packaging.residual_carbonation_vol(a(20.0), ZERO) == pytest.approx(0.861, abs=5e-4)


@pytest.mark.parametrize(("celsius", "grams"), [(20.0, 1.658), (4.0, 2.776)])
def test_beer_open_to_the_air_holds_what_the_solubility_says(celsius, grams):
    """K. Troester, Carbonation tables: 1.658 g/L at 20 °C and 2.776 g/L at 4 °C, 1 atm."""
    over = packaging.bottle_pressure_bar(a(grams / 1.977), a(celsius), ONE)

    assert over == pytest.approx(0.0, abs=2e-3)


@pytest.mark.parametrize(
    ("vol", "at_20", "at_30", "at_40"),
    [
        (2.4, 1.9, 2.9, 4.1),
        (3.0, 2.6, 3.9, 5.4),
        (3.5, 3.2, 4.7, 6.5),
        (4.0, 3.8, 5.5, 7.5),
        (5.0, 5.0, 7.1, 9.7),
    ],
)
def test_pressure_in_a_warm_bottle_matches_the_worked_table(vol, at_20, at_30, at_40):
    """The same solubility turned round, in bar above the air."""
    found = packaging.bottle_pressure_bar(a(vol), a(20.0, 30.0, 40.0), ONE)

    assert found == pytest.approx([at_20, at_30, at_40], abs=0.06)


def test_priming_yields_follow_stoichiometry():
    """C6H12O6 -> 2 C2H5OH + 2 CO2 with masses 180.156 and 44.010; sucrose 342.297."""
    prior = tomllib.loads((PRIORS / "process.toml").read_text(encoding="utf-8"))
    glucose = 2 * 44.010 / 180.156
    sucrose = 4 * 44.010 / 342.297
    monohydrate = 2 * 44.010 / 198.171

    assert glucose == pytest.approx(0.4886, abs=1e-4)
    assert prior["priming_sucrose_sugar_factor"]["value"] == pytest.approx(
        sucrose / glucose, abs=1e-4
    )
    assert prior["priming_monohydrate_sugar_factor"]["value"] == pytest.approx(
        monohydrate / glucose, abs=2e-4
    )
    assert (
        prior["priming_yield_g_g"]["low"] <= 0.4629 < glucose <= prior["priming_yield_g_g"]["high"]
    )


def test_three_grams_per_litre_take_130_grams_of_glucose_at_ballings_yield():
    """A worked example at 2.16 g of glucose per g of carbon dioxide: +3 g/L in 20 L is 130 g."""
    assert 20 * 3.0 / gas(1.0, 0.4629) == pytest.approx(130.0, abs=0.5)


def test_the_gas_law_trap_is_not_reproduced():
    """One volume more in 20 L: 79 g by 1096.825 V dC/T at 277 K (Lewis), 81 g by stoichiometry.

    The printed rule takes the gas at serving temperature; a volume is defined at 0 °C.
    """
    trap = 1096.825 * 20 / 277
    ours = 20 * 1.977 / gas(1.0, 0.4886)

    assert trap == pytest.approx(79.2, abs=0.05)
    assert ours == pytest.approx(80.9, abs=0.05)
    assert 20 * 1.977 / gas(1.0, 0.4629) == pytest.approx(85.4, abs=0.1)


def bottle(residual=0.861, priming=0.0, refermented=0.0, headspace=0.0):
    return packaging.carbonation_vol__bottle(a(residual), a(priming), a(refermented), a(headspace))[
        0
    ]


def test_one_degree_left_to_ferment_makes_nearly_two_volumes():
    """1 °P apparent at a ratio of 0.805 and a gravity near 1.010: 1.90 vol (1.93 by Balling)."""
    made = packaging.refermented_gas_g_l(a(1.0), a(1.0097), a(0.805))
    by_balling = packaging.refermented_gas_g_l(a(1.0), a(1.0097), a(0.8192))

    assert bottle(0.0, refermented=made[0]) == pytest.approx(1.90, abs=0.01)
    assert bottle(0.0, refermented=by_balling[0]) == pytest.approx(1.93, abs=0.01)


def test_the_headspace_takes_its_share():
    """4 % of headspace takes some 4 % of the carbonation."""
    assert bottle(2.5, headspace=0.04) / 2.5 == pytest.approx(0.957, abs=1e-3)


def test_sugar_weighed_for_a_planned_volume_feels_the_true_one():
    dose = packaging.priming_dose_g_l(a(6.0), a(20.0), a(18.0), ONE)
    measured = packaging.priming_dose_g_l(a(6.0), a(0.0), a(18.0), ONE)

    assert dose == pytest.approx(6.0 * 20 / 18)
    assert measured == pytest.approx(6.0)


def test_a_keg_is_what_it_is_set_to():
    assert packaging.carbonation_vol__keg(a(2.5), ONE, a(1.03)) == pytest.approx(2.575)
    assert packaging.bottle_pressure_bar(a(2.575), a(4.0), a(1.03)) == pytest.approx(
        packaging.bottle_pressure_bar(a(2.5), a(4.0), ONE)
    )
    assert packaging.rating_excess_vol(a(2.5), a(3.0)) == pytest.approx(-0.5)


@pytest.mark.parametrize(
    ("by_weight", "density", "by_volume"),
    [(0.03, 992.726, 3.7735), (0.05, 989.378, 6.2679), (0.08, 984.733, 9.9816)],
)
def test_ethanol_and_water_alone_match_the_alcoholometric_tables(by_weight, density, by_volume):
    """OIML R22: density and % by volume of ethanol-water mixtures at 20 °C."""
    found = ethanol_water(by_weight)
    ours = strength.alcohol_by_volume_fraction(a(by_weight), a(found / 998.2), ZERO, ONE)

    assert ethanol_water(1.0) == pytest.approx(789.24, abs=0.01)
    assert found == pytest.approx(density, abs=1e-3)
    assert 100 * ours == pytest.approx(by_volume, abs=2e-4)


def test_a_beer_of_twelve_degrees_matches_the_balling_example():
    """OE 12, AE 2.5: RE 4.2176, 4.0146 % by weight, 5.127 % vol, 79.17 % apparent, 446 kcal/L."""
    by_weight = strength.alcohol_by_weight_fraction__balling(a(12.0), a(2.5))
    gravity = strength.final_gravity_sg(a(2.5))
    by_volume = strength.alcohol_by_volume_fraction(by_weight, gravity, ZERO, ONE)

    assert 100 * by_weight == pytest.approx(4.0146, abs=1e-4)
    assert gravity == pytest.approx(1.00976, abs=2e-5)
    assert 100 * by_volume == pytest.approx(5.127, abs=1e-3)
    assert 100 * strength.apparent_attenuation_fraction(a(12.0), a(2.5)) == pytest.approx(
        79.17, abs=0.01
    )
    assert strength.energy_kcal_l(by_weight, a(4.2176), gravity, a(0.0), a(1.0)) == pytest.approx(
        446.0, abs=0.1
    )


def test_half_a_percent_of_alcohol_per_degree_is_what_creep_is_converted_by():
    """At 12 °P and 2.5 °P apparent, Balling: -0.520 % vol per °P apparent."""
    low, high = (
        strength.alcohol_by_volume_fraction(
            strength.alcohol_by_weight_fraction__balling(a(12.0), a(end)),
            strength.final_gravity_sg(a(end)),
            ZERO,
            ONE,
        )
        for end in (2.4, 2.6)
    )

    assert 100 * (low - high) / 0.2 == pytest.approx(0.520, abs=0.006)


def test_priming_adds_alcohol_and_a_little_volume():
    """6 g/L of glucose at 0.4886 g/g: 46.07/44.01 of the gas is ethanol, 0.39 % by volume."""
    dilution = packaging.priming_dilution_factor(a(6.0), ZERO)
    added = strength.alcohol_by_volume_fraction(ZERO, ONE, a(gas(6.0, 0.4886)), dilution)

    assert 100 * added == pytest.approx(0.387, abs=0.003)
    assert dilution == pytest.approx(1 / 1.0037, abs=1e-5)


def test_the_alcohol_from_priming_counts_in_the_energy():
    """By hand: 3 g/L of gas leave 3.14 g/L of alcohol, at 6.9 kcal/g."""
    beer = (a(0.04), a(4.2), a(1.0097))
    plain = strength.energy_kcal_l(*beer, a(0.0), a(1.0))

    assert strength.energy_kcal_l(*beer, a(3.0), a(1.0)) - plain == pytest.approx(21.67, abs=0.01)
    assert strength.energy_kcal_l(*beer, a(0.0), a(0.99)) == pytest.approx(0.99 * plain)


def test_a_beer_left_warm_and_open_holds_nothing_and_never_less():
    left = packaging.residual_carbonation_vol(np.array([20.0, 30.0]), np.array([0.0, -2.0]))

    assert left == pytest.approx([0.86, 0.0], abs=0.005)
