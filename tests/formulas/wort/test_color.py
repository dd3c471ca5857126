"""Colour against the printed rule and definitions."""

import numpy as np
import pytest

from brewsim.formulas.wort import color


def _srm(units, error=0.0, kettle=1.0):
    unit = np.array([float(units)])
    given = (unit, np.zeros(1), np.array([error]), np.array([kettle]), np.ones(1))
    return float(color.beer_color_srm(*given)[0])


@pytest.mark.parametrize(
    ("units", "srm"),
    [(5, 4.50), (10, 7.24), (20, 11.65), (40, 18.74), (60, 24.74), (100, 35.13)],
)
def test_malt_colour_units_give_the_colour_of_the_rule(units, srm):
    """Source: Morey, brewingtechniques.com/brewingtechniques/beerslaw/morey.html (computed)."""
    assert _srm(units) == pytest.approx(srm, abs=0.005)


def test_malt_colour_units_are_pounds_times_lovibond_per_gallon():
    """Source: definition; 1 lb = 0.45359237 kg, 1 US gallon = 3.785411784 L."""
    malt = np.array([[0.45359237], [2 * 0.45359237]])

    units = color.malt_color_unit(malt, np.array([[10.0], [3.0]]), np.array([3.785411784]))

    assert units == pytest.approx(16.0, rel=1e-5)


@pytest.mark.parametrize(("srm", "ebc"), [(10.0, 19.685), (25.4, 50.0)])
def test_ebc_is_25_and_srm_12_7_times_the_absorbance(srm, ebc):
    """Source: definitions: SRM = 12.7 A430, EBC = 25 A430; A = 2 is 25.4 SRM."""
    assert color.beer_color_ebc(np.array([srm]))[0] == pytest.approx(ebc, abs=5e-4)


@pytest.mark.parametrize(("units", "spread"), [(3, 0.15), (8, 0.20), (30, 0.15), (90, 0.20)])
def test_spread_of_the_rule_depends_on_the_colour(units, spread):
    assert np.log(_srm(units, error=1.0) / _srm(units)) == pytest.approx(spread)


def test_no_malt_has_no_colour_and_sugar_adds_its_own():
    volume = np.array([20.0])
    none = color.malt_color_unit(np.zeros((0, 1)), np.zeros((0, 1)), volume)
    sugar = color.sugar_color_unit(np.array([[0.5]]), np.ones((1, 1)), np.array([[80.0]]), volume)
    clear = color.beer_color_srm(none, 0 * sugar, np.zeros(1), np.ones(1), np.ones(1))
    dark = color.beer_color_srm(none, sugar, np.zeros(1), np.ones(1), np.ones(1))

    assert clear == 0.0
    assert dark[0] == pytest.approx(_srm(8.3454 * 0.5 * 80 / 20))
