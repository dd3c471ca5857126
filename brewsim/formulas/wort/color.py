"""Colour of the beer, from the colour of its malts and sugars."""

import numpy as np

from brewsim.constants import EBC_PER_SRM
from brewsim.dims import Input, PerBatch, PerMalt, PerSugar, Range

_POUND_GALLON = 8.3454
_SPREAD_AT = ((4.5, 5.5, 11.0, 13.0, 56.0, 66.0), (0.15, 0.20, 0.20, 0.15, 0.15, 0.20))

INPUTS = {
    "malt_color_lovibond": Input(("malt",), "Colour of a malt"),
    "sugar_color_lovibond": Input(("sugar",), "Colour of a kettle sugar or extract"),
    "color_formula_error_unit": Input((), "Error of the colour formula, in standard deviations"),
    "kettle_color_factor": Input((), "Batch scatter of the colour the boil adds"),
}

VALID: dict[str, dict[str, Range]] = {"beer_color_srm": {"beer_color_srm": (0.0, 50.0)}}


def malt_color_unit(
    malt_added_kg: PerMalt, malt_color_lovibond: PerMalt, whole_wort_l: PerBatch
) -> PerBatch:
    r"""Malt colour units of the grist (pounds times degrees Lovibond per gallon).

    .. math:: 8.3454 \sum m_i L_i / V

    Source: definition; pounds and US gallons.
    """
    return _POUND_GALLON * (malt_added_kg * malt_color_lovibond).sum(axis=0) / whole_wort_l


def sugar_color_unit(
    sugar_mass_kg: PerSugar,
    sugar_weighing_factor: PerSugar,
    sugar_color_lovibond: PerSugar,
    whole_wort_l: PerBatch,
) -> PerBatch:
    r"""Malt colour units that kettle sugars add.

    .. math:: 8.3454 \sum m_i w_i L_i / V

    Source: definition; pounds and US gallons.
    """
    added = sugar_mass_kg * sugar_weighing_factor
    return _POUND_GALLON * (added * sugar_color_lovibond).sum(axis=0) / whole_wort_l


def beer_color_srm(
    malt_color_unit: PerBatch,
    sugar_color_unit: PerBatch,
    color_formula_error_unit: PerBatch,
    kettle_color_factor: PerBatch,
    decoction_color_factor: PerBatch,
) -> PerBatch:
    r"""Colour of the beer in SRM.

    .. math:: 1.4922 \, \mathrm{MCU}^{0.6859} \cdot e^{s z} \cdot \kappa \cdot d

    s is 0.15 up to 5 MCU, 0.20 from 5 to 12, 0.15 up to 25 SRM and 0.20 above, joined by short
    straight lines: so far apart are this rule and the older ones it was fitted to.

    Source: Morey, Approximating SRM beer color of homebrews, Brewing Techniques (on line).
    Valid: below 50 SRM.
    """
    units = malt_color_unit + sugar_color_unit
    spread = np.interp(units, *_SPREAD_AT)
    formula = 1.4922 * units**0.6859
    process = kettle_color_factor * decoction_color_factor
    return formula * np.exp(spread * color_formula_error_unit) * process


def beer_color_ebc(beer_color_srm: PerBatch) -> PerBatch:
    r"""Colour of the beer in EBC.

    .. math:: \frac{25}{12.7} \, \mathrm{SRM}

    Source: definitions: SRM = 12.7 A430 and EBC = 25 A430 in 1 cm.
    """
    return EBC_PER_SRM * beer_color_srm
