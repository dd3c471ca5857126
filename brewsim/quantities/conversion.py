"""Conversions between units: the one place where a number changes its unit."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from brewsim.constants import (
    CO2_G_L_PER_VOL,
    EBC_PER_SRM,
    SRM_AT_ZERO_LOVIBOND,
    SRM_PER_LOVIBOND,
    ZERO_CELSIUS_K,
    gravity_of,
    plato_of,
)
from brewsim.quantities.numerals import plain
from brewsim.quantities.spellings import SIZES, Size

_ZERO_C = {"°C": 0.0, "K": -ZERO_CELSIUS_K, "°F": -160 / 9}
PARTS_PER = {"ppm": 1e-6, "ppb": 1e-9, "ppt": 1e-12}


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as it is shown, and what it measures."""

    symbol: str
    kind: str


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
        return resized(number * PARTS_PER[unit.symbol] * 1000, _base(model_unit), model_unit)
    if unit.kind in _UNCHANGED:
        return number
    if unit.kind == "temperature":
        return _warmth(number, unit.symbol, model_unit)
    return resized(number, unit.symbol, model_unit)


def from_model(value: float, unit: Unit, model_unit: str) -> float:
    """Return a model value in a unit: the inverse of `convert`."""
    if unit.kind in _CURVED:
        return _CURVED[unit.kind][1](value, unit.symbol, model_unit)
    if unit.symbol == "%":
        return value * 100
    if unit.symbol in PARTS_PER:
        return resized(value, model_unit, _base(model_unit)) / 1000 / PARTS_PER[unit.symbol]
    if unit.kind in _UNCHANGED:
        return value
    if unit.kind == "temperature":
        return _warmth(value, model_unit, unit.symbol)
    return resized(value, model_unit, unit.symbol)


def _base(model_unit: str) -> str:
    return "g/kg" if model_unit.endswith("/kg") else "g/L"


def resized(number: float, symbol: str, wanted: str) -> float:
    """Return a number of one unit (a symbol of spellings.py) in another of the same kind.

    Units are sizes here, and °C a difference. Raises ValueError for units of two kinds.
    """
    ratio = _ratio(symbol, wanted)
    return number * ratio if ratio >= 1 else number / _ratio(wanted, symbol)  # 10 is exact, .1 not


@cache
def _ratio(symbol: str, wanted: str) -> float:
    kind, size = _size(symbol)
    kind_wanted, size_wanted = _size(wanted)
    if kind != kind_wanted:
        raise ValueError(f"{symbol} is no measure of what {wanted} measures")
    return float(size / size_wanted)


def _size(symbol: str) -> tuple[tuple[str, ...], Fraction]:
    """Return what a unit measures, over what, and how large it is."""
    parts = [_simple_size(part) for part in symbol.removeprefix("Δ").split("/")]
    (_, above), *below = parts
    return tuple(kind for kind, _ in parts), Fraction(above) / math.prod(b for _, b in below)


def _simple_size(symbol: str) -> tuple[str, Size]:
    for kind, sizes in SIZES.items():
        if symbol in sizes:
            return kind, sizes[symbol]
    raise ValueError(f"{symbol} is not a unit")


def _warmth(number: float, symbol: str, wanted: str) -> float:
    """Return a temperature in another unit."""
    celsius = resized(number, symbol, "°C") + _ZERO_C[symbol]
    return resized(celsius - _ZERO_C[wanted], "°C", wanted)


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


def _color(number: float, symbol: str, model_unit: str) -> float:
    """Return a colour in the model unit; °L is a malt's."""
    if symbol == model_unit:
        return number
    srm = number
    if symbol == "EBC":
        srm = number / EBC_PER_SRM
    elif symbol == "°L":
        srm = SRM_PER_LOVIBOND * number + SRM_AT_ZERO_LOVIBOND
    if model_unit == "°L":
        return (srm - SRM_AT_ZERO_LOVIBOND) / SRM_PER_LOVIBOND
    return srm * EBC_PER_SRM if model_unit == "EBC" else srm


def _color_back(value: float, symbol: str, model_unit: str) -> float:
    return _color(value, model_unit, symbol)


def _carbonation(number: float, symbol: str, _model_unit: str) -> float:
    return number if symbol == "vol" else number / CO2_G_L_PER_VOL


def _carbonation_back(value: float, symbol: str, _model_unit: str) -> float:
    return value if symbol == "vol" else value * CO2_G_L_PER_VOL


_UNCHANGED = {"number", "bitterness", "pH", "other", "molar concentration"}
_CURVED = {
    "gravity": (_gravity, _gravity_back),
    "colour": (_color, _color_back),
    "carbonation": (_carbonation, _carbonation_back),
}
"""Kinds whose units are not sizes of each other: there and back."""
