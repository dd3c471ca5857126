"""Units as brewers write them, checked against published sizes."""

from functools import cache

import numpy as np
import pint
import pytest

from brewsim.constants import gravity_of
from brewsim.quantities.conversion import Unit, convert, from_model, resized
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.spellings import BY_KIND
from tests.quantities.reading import value


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("1 lb", "g", 453.59237),
        ("1 oz", "g", 28.349523125),
        ("1 US gal", "L", 3.785411784),
        ("1 US qt", "L", 0.946352946),
        ("1 US pt", "L", 0.473176473),
        ("1 US fl oz", "L", 0.0295735295625),
        ("1 US cup", "L", 0.2365882365),
        ("1 tbsp", "L", 0.01478676478125),
        ("1 tsp", "L", 0.00492892159375),
        ("1 ft", "m", 0.3048),
    ],
)
def test_customary_units_have_their_exact_size(text, unit, expected):
    """Source: NIST Handbook 44, appendix C, tables of units of measurement (exact values)."""

    assert value(text, unit) == pytest.approx(expected, rel=1e-12)


PINT_NAMES = {
    "µg": "microgram",
    "US gal": "gallon",
    "US qt": "quart",
    "US pt": "pint",
    "US cup": "cup",
    "US fl oz": "fluid_ounce",
    "US tbsp": "tablespoon",
    "US tsp": "teaspoon",
    "US bbl": "beer_barrel",
    "imp gal": "imperial_gallon",
    "imp qt": "imperial_quart",
    "imp pt": "imperial_pint",
    "imp cup": "imperial_cup",
    "imp fl oz": "imperial_fluid_ounce",
    "imp tbsp": "imp_tbsp",
    "imp tsp": "imp_tsp",
    "UK bbl": "imperial_barrel",
    "days": "day",
    "weeks": "week",
    "months": "rounded_month",
    "years": "year",
    "°C": "degC",
    "°F": "degF",
}
"""What a library made elsewhere calls the units, where it does not use our symbol."""


@cache
def elsewhere():
    """Return pint's own sizes of units, and three that it does not have."""
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("imp_tbsp = imperial_gallon / 256")
    registry.define("imp_tsp = imperial_gallon / 768")
    registry.define("rounded_month = 30.44 day")
    return registry


@pytest.mark.parametrize(
    ("kind", "symbol"),
    [
        (kind, symbol)
        for kind in ("mass", "volume", "time", "temperature", "pressure", "altitude")
        for symbol in sorted(set(BY_KIND[kind].values()))
    ],
)
def test_every_unit_is_what_the_pint_library_says(kind, symbol):
    model_unit = next(iter(BY_KIND[kind].values()))
    numbers = np.array([0.0, 1.0, 37.5])

    ours = [convert(number, Unit(symbol, kind), model_unit) for number in numbers]
    back = [from_model(number, Unit(symbol, kind), model_unit) for number in ours]

    name, wanted = (PINT_NAMES.get(word, word) for word in (symbol, model_unit))
    theirs = elsewhere().Quantity(numbers, name).m_as(wanted)
    assert ours == pytest.approx(theirs, rel=1e-12)
    assert back == pytest.approx(numbers, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("symbol", "model_unit", "theirs"),
    [
        ("lb/US bbl", "g/L", "lb / beer_barrel"),
        ("oz/US gal", "g/L", "oz / gallon"),
        ("US qt/lb", "L/kg", "quart / lb"),
        ("mg/kg", "µg/kg", "mg / kg"),
        ("US gal/h", "L/h", "gallon / hour"),
        ("1/week", "1/min", "1 / week"),
    ],
)
def test_a_unit_over_a_unit_is_what_the_pint_library_says(symbol, model_unit, theirs):
    wanted = model_unit.replace("µg", "microgram")

    ours = convert(2.5, Unit(symbol, kind_of(model_unit)), model_unit)

    assert ours == pytest.approx(elsewhere().Quantity(2.5, theirs).m_as(wanted), rel=1e-12)


def test_units_of_two_kinds_do_not_convert():
    with pytest.raises(ValueError, match="g/L is no measure of what L/kg measures"):
        resized(1.0, "g/L", "L/kg")
    with pytest.raises(ValueError, match="stone is not a unit"):
        resized(1.0, "stone", "kg")


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("1 imp gal", "L", 4.54609),
        ("1 imp pt", "L", 0.56826125),
        ("1 UK bbl", "L", 36 * 4.54609),
        ("1 UK fl oz", "L", 0.0284130625),
    ],
)
def test_imperial_units_have_their_exact_size(text, unit, expected):
    """Source: UK Units of Measurement Regulations 1995, schedule; a barrel is 36 gallons."""

    assert value(text, unit) == pytest.approx(expected, rel=1e-12)


def test_a_us_beer_barrel_is_31_gallons():
    """Source: 27 CFR 25.11, definition of barrel; 117.348 L."""

    assert value("1 US bbl", "L") == pytest.approx(117.347765304, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "expected"), [("32 °F", 0.0), ("212 F", 100.0), ("-40 °F", -40.0), ("273.15 K", 0.0)]
)
def test_fixed_points_of_the_temperature_scales(text, expected):
    """Source: NIST Special Publication 811 (2008), appendix B.8: °C = (°F - 32)/1.8."""

    assert value(text, "°C") == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("14.5038 psi", 1.0), ("100 kPa", 1.0), ("1 atm", 1.01325)],
)
def test_pressures(text, expected):
    """Source: NIST Special Publication 811 (2008), appendix B.8: 1 psi = 6.894757 kPa."""

    assert value(text, "bar") == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("plato", "gravity"), [(5.0, 1.0197), (10.0, 1.0400), (12.0, 1.0484), (20.0, 1.0830)]
)
def test_gravity_follows_the_sucrose_table(plato, gravity):
    """Source: NBS Circular C440 (1942), table 109, specific gravity 20/20 °C of sucrose."""

    assert gravity_of(plato) == pytest.approx(gravity, abs=1e-4)
