"""Numbers that several rooms need stand once, and are what their sources print."""

import ast
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from iapws import IAPWS95

from brewsim import constants
from brewsim.dims import pick

PACKAGE = Path(constants.__file__).parent
SHARED = {
    value
    for name, value in vars(constants).items()
    if isinstance(value, float) and name != "WANTED_CHANCE"  # 0.8 is many things
} | {319.55, 12.7, 258.6, 227.1, 258.2}


def literals(text):
    """Return every float literal of a module."""
    return {
        node.value
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant) and isinstance(node.value, float)
    }


def test_a_shared_constant_is_written_in_one_module():
    found = {
        f"{path.relative_to(PACKAGE)}: {value}"
        for path in PACKAGE.rglob("*.py")
        if path.name != "constants.py"
        for value in literals(path.read_text(encoding="utf-8")) & SHARED
    }

    assert found == set()


def test_the_scan_for_constants_sees_a_second_one():
    assert literals("x = 0.617 * y") & SHARED == {0.617}


def test_every_constant_says_its_source():
    text = Path(constants.__file__).read_text(encoding="utf-8")
    body = ast.parse(text).body
    public = [
        (here, after)
        for here, after in pairwise(body)
        if isinstance(here, ast.Assign)
        and ast.unparse(here.targets[0]) != "Number"
        and ast.unparse(here.targets[0]).lstrip("(")[:1].isupper()
    ]

    assert len(public) > 10
    for here, after in public:
        assert isinstance(after, ast.Expr), ast.unparse(here)
        assert "Source:" in ast.unparse(after), ast.unparse(here)


def test_the_density_of_water_is_that_of_iapws():
    density = IAPWS95(T=293.15, P=0.101325).rho / 1000

    assert pytest.approx(density, abs=5e-5) == constants.WATER_KG_L


def test_carbon_dioxide_of_glucose_is_stoichiometry():
    """C6H12O6 -> 2 C2H5OH + 2 CO2, standard atomic masses C 12.011, H 1.008, O 15.999."""
    carbon, hydrogen, oxygen = 12.011, 1.008, 15.999
    gas = 2 * (carbon + 2 * oxygen) / (6 * carbon + 12 * hydrogen + 6 * oxygen)

    assert pytest.approx(gas, abs=5e-5) == constants.CO2_G_PER_G_GLUCOSE


def test_ebc_over_srm_rounds_to_the_printed_ratio():
    assert round(constants.EBC_PER_SRM, 2) == 1.97


def test_gravity_and_plato_are_inverse_for_arrays():
    plato = np.linspace(-3.0, 32.0, 50)

    assert constants.plato_of(constants.gravity_of(plato)) == pytest.approx(plato, abs=1e-12)


def test_pick_gives_each_addition_the_row_of_its_lot():
    lots = np.array([[0.05, 0.06], [0.12, 0.13]])

    assert pick(lots, np.array([[1], [0]])).tolist() == [[0.12, 0.13], [0.05, 0.06]]
