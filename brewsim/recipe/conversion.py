"""Conversions between units: the one place where pint is used.

Sizes of customary units: NIST Handbook 44, appendix C (exact); the beer barrel is 31 US gallons
(27 CFR 25.11) or 36 imperial gallons.
"""

import math
from dataclasses import dataclass
from functools import cache

import pint

from brewsim.recipe.numbers import plain

_DEFINITIONS = """
gram = [mass] = g
liter = [volume] = L
minute = [time] = min
kelvin = [temperature]; offset: 0 = K
bar = [pressure]
meter = [length] = m
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF
delta_celsius = kelvin = dC
delta_fahrenheit = 5 / 9 * kelvin = dF
kg = 1000 g
mg = 0.001 g
microgram = 1e-6 g
ng = 1e-9 g
lb = 453.59237 g
oz = 0.0625 lb
hL = 100 L
mL = 0.001 L
US_gal = 3.785411784 L
US_qt = 0.25 US_gal
US_pt = 0.125 US_gal
US_cup = 0.0625 US_gal
US_fl_oz = 0.0078125 US_gal
US_tbsp = 0.00390625 US_gal
US_tsp = 0.00130208333333333333 US_gal
US_bbl = 31 US_gal
imp_gal = 4.54609 L
imp_qt = 0.25 imp_gal
imp_pt = 0.125 imp_gal
imp_cup = 0.0625 imp_gal
imp_fl_oz = 0.00625 imp_gal
imp_tbsp = 0.00390625 imp_gal
imp_tsp = 0.00130208333333333333 imp_gal
UK_bbl = 36 imp_gal
s = 0.0166666666666666666667 min
h = 60 min
days = 24 h
weeks = 7 days
months = 30.44 days
years = 365.25 days
psi = 0.0689475729317831 bar
kPa = 0.01 bar
atm = 1.01325 bar
Pa = 1e-5 bar
ft = 0.3048 m
km = 1000 m
"""
_PINT_NAME = {
    "µg": "microgram",
    "°C": "degree_Celsius",
    "°F": "degree_Fahrenheit",
    "K": "kelvin",
    "Δ°C": "delta_celsius",
    "Δ°F": "delta_fahrenheit",
}
PARTS_PER = {"ppm": 1e-6, "ppb": 1e-9, "ppt": 1e-12}
CO2_G_L_PER_VOL = 1.977
"""Density of CO2 at 0 °C and 1 atm, g/L (NIST Chemistry WebBook, fluid properties)."""
EBC_PER_SRM = 25 / 12.7
"""Both are an absorbance at 430 nm times a number: 25 (EBC 9.6), 12.7 (ASBC Beer-10)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as it is shown, and what it measures."""

    symbol: str
    kind: str


@cache
def _registry() -> pint.UnitRegistry:  # type: ignore[type-arg]
    registry: pint.UnitRegistry = pint.UnitRegistry(None)  # type: ignore[type-arg]
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


def convert(number: float, unit: Unit, model_unit: str) -> float:
    """Return a number in model units. Raises ValueError where nothing finite comes out."""
    value = _convert(number, unit, model_unit)
    if not math.isfinite(value):
        raise ValueError(f"{plain(number)} {unit.symbol} is too large to be meant")
    return float(f"{value:.15g}")  # 5.6 % is 0.056, not 0.05599...


def scale_of(unit: Unit, model_unit: str) -> tuple[float, float]:
    """Return model units per unit, and what the model has where the unit has 0."""
    zero = convert(0, unit, model_unit)
    return convert(1, unit, model_unit) - zero, zero


def _convert(number: float, unit: Unit, model_unit: str) -> float:
    if unit.kind in _CURVED:
        return _CURVED[unit.kind][0](number, unit.symbol, model_unit)
    if unit.symbol == "%":
        return number / 100
    if unit.symbol in PARTS_PER:
        return pint_convert(number * PARTS_PER[unit.symbol] * 1000, _base(model_unit), model_unit)
    if unit.kind in _UNCHANGED:
        return number
    if unit.kind == "temperature difference":
        return pint_convert(number, f"Δ{unit.symbol}", model_unit)
    return pint_convert(number, unit.symbol, model_unit)


def from_model(value: float, unit: Unit, model_unit: str) -> float:
    """Return a model value in a unit: the inverse of `convert`."""
    if unit.kind in _CURVED:
        return _CURVED[unit.kind][1](value, unit.symbol, model_unit)
    if unit.symbol == "%":
        return value * 100
    if unit.symbol in PARTS_PER:
        return pint_convert(value, model_unit, _base(model_unit)) / 1000 / PARTS_PER[unit.symbol]
    if unit.kind in _UNCHANGED:
        return value
    if unit.kind == "temperature difference":
        return pint_convert(value, model_unit, f"Δ{unit.symbol}")
    return pint_convert(value, model_unit, unit.symbol)


def _base(model_unit: str) -> str:
    return "g/kg" if model_unit.endswith("/kg") else "g/L"


@cache
def _pint_expression(symbol: str) -> pint.Unit:
    parts = []
    for part in symbol.split("/"):
        name = _PINT_NAME.get(part, part.replace(" ", "_"))
        parts.append({"day": "days", "week": "weeks", "month": "months"}.get(name, name))
    return _registry().parse_units(" / ".join(parts))


def pint_convert(number: float, symbol: str, wanted: str) -> float:
    """Return a number of one unit (a symbol of spellings.py) in another of the same kind."""
    quantity = _registry().Quantity(float(number), _pint_expression(symbol))
    return float(quantity.to(_pint_expression(wanted)).magnitude)


def plato_of(gravity: float) -> float:
    """Return °P of a specific gravity: inverse of S = 1 + P/(258.6 - 227.1 P/258.2).

    Source: common form of the NBS Circular C440 sucrose table (1942), within 0.02 °P of it.
    """
    return 258.6 * (gravity - 1) / (1 + 227.1 / 258.2 * (gravity - 1))


def gravity_of(plato: float) -> float:
    """Return the specific gravity 20/20 °C of °P. Source: as `plato_of`."""
    return 1 + plato / (258.6 - 227.1 * plato / 258.2)


def _gravity(number: float, symbol: str, model_unit: str) -> float:
    if symbol in ("°P", "°Bx"):
        return number if model_unit == "°P" else gravity_of(number)
    gravity = 1 + number / 1000 if symbol == "points" else number
    gravity = gravity / 1000 if 900 < gravity < 1300 else gravity
    if not 0.9 < gravity < 1.3:
        raise ValueError(f"a specific gravity of {plain(gravity)} is not a beer or a wort")
    return plato_of(gravity) if model_unit == "°P" else gravity


def _gravity_back(value: float, symbol: str, model_unit: str) -> float:
    if symbol in ("°P", "°Bx"):
        return value if model_unit == "°P" else plato_of(value)
    gravity = gravity_of(value) if model_unit == "°P" else value
    return (gravity - 1) * 1000 if symbol == "points" else gravity


def _colour(number: float, symbol: str, model_unit: str) -> float:
    """Convert colours; of malt, SRM = 1.3546 °L - 0.76 (from memory, as in the color stage)."""
    if symbol == model_unit:
        return number
    srm = number
    if symbol == "EBC":
        srm = number / EBC_PER_SRM
    elif symbol == "°L":
        srm = 1.3546 * number - 0.76
    if model_unit == "°L":
        return (srm + 0.76) / 1.3546
    return srm * EBC_PER_SRM if model_unit == "EBC" else srm


def _colour_back(value: float, symbol: str, model_unit: str) -> float:
    return _colour(value, model_unit, symbol)


def _carbonation(number: float, symbol: str, _model_unit: str) -> float:
    return number if symbol == "vol" else number / CO2_G_L_PER_VOL


def _carbonation_back(value: float, symbol: str, _model_unit: str) -> float:
    return value if symbol == "vol" else value * CO2_G_L_PER_VOL


_UNCHANGED = {"number", "bitterness", "pH", "other", "molar concentration"}
_CURVED = {
    "gravity": (_gravity, _gravity_back),
    "colour": (_colour, _colour_back),
    "carbonation": (_carbonation, _carbonation_back),
}
"""Kinds that pint does not know: there and back."""
