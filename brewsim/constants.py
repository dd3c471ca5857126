"""Numbers that several rooms need, each with its unit and its source; they carry no spread here.

A constant whose error matters stands in `priors/coefficients.toml` instead.
"""

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:  # the command line needs a number from here and should not wait for NumPy
    from brewsim.dims import FloatArray

Number = TypeVar("Number", float, "FloatArray")

EXTRACT_L_KG = 0.617
"""Room that dissolved extract takes, L/kg.

Source: sucrose tables of the ASBC (0.617 ± 0.002 from 5 to 20 °P).
"""
WATER_KG_L = 0.9982
"""Density of water at 20 °C, kg/L. Source: IAPWS-95 (0.99821)."""
ZERO_CELSIUS_K = 273.15
"""0 °C in kelvin. Source: definition (SI brochure, 2019)."""
ATMOSPHERE_BAR = 1.01325
"""Standard atmosphere, bar. Source: definition (CGPM, 1954)."""
CO2_G_L_PER_VOL = 1.977
"""Density of carbon dioxide at 0 °C and 1 atm, g/L.

Source: NIST Chemistry WebBook, fluid properties.
"""
CO2_G_PER_G_GLUCOSE = 0.4886
"""Carbon dioxide of fermented glucose, g/g. Source: stoichiometry, 2 · 44.01 / 180.16."""
EBC_PER_SRM = 25 / 12.7
"""EBC units per SRM unit.

Both are the absorbance at 430 nm in 1 cm times a number: 25 and 12.7, so 1.9685, which the
standards round to 1.97.
Source: EBC Analytica 9.6 and ASBC Beer-10.
"""
SRM_PER_LOVIBOND, SRM_AT_ZERO_LOVIBOND = 1.3546, -0.76
"""Colour of malt: SRM = 1.3546 °L - 0.76. Source: from memory."""
MOLAR_3SH, MOLAR_3SHA, MOLAR_4MSP, MOLAR_3S4MP = 134.24, 176.27, 132.22, 134.24
"""Molar masses of four free thiols, g/mol. Source: sums of the standard atomic masses."""
DAYS_PER_MONTH = 30.44
"""A twelfth of a year, in days. Source: definition (365.25 / 12, rounded)."""
STILL_AIR_LIMIT_C = 319.55 - ZERO_CELSIUS_K
"""Temperature that wort left alone cools towards, °C.

Source: Hosom, brewing-science log, post 16 (319.55 K): natural cooling of a kettle.
"""
WANTED_CHANCE = 0.8
"""Chance of landing in the targets that steering and specifying aim at unless asked otherwise.

Source: a choice, not a measurement.
"""

_A, _B, _C = 258.6, 227.1, 258.2


def gravity_of(plato: Number) -> Number:
    r"""Return the specific gravity 20/20 °C of an extract in °P.

    .. math:: S = 1 + \frac{P}{258.6 - 227.1 P / 258.2}

    Source: the rational form brewers use, checked against NBS Circular C440 (Bates, 1942).
    Valid: -3 to 32 °P; within 0.006 °P of the NBS table to 25 °P, 0.017 above.
    """
    return 1.0 + plato / (_A - _B * plato / _C)


def plato_of(gravity: Number) -> Number:
    """Return the extract in °P of a specific gravity: the exact inverse of `gravity_of`."""
    return _A * (gravity - 1) / (1 + _B / _C * (gravity - 1))
