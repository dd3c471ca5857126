"""Refractometer readings of beer: alcohol bends light too, so a reading needs its first one."""

from dataclasses import replace

from brewsim.recipe.spreads import rescaled
from brewsim.recipe.stated import Stated

WORTS = ("original_extract_plato", "preboil_extract_plato")
WORT_FACTOR = 1.04
"""Degrees Brix shown over °P of wort [common practice, no source; 1.04 ± 0.02 between devices]."""


def gravity_of_beer(before_bx: float, after_bx: float) -> float:
    """Return the specific gravity of beer from readings before and after fermentation, in °Bx.

    Both are divided by the wort factor first. Source: S. Terrill, refractometer calculations,
    seanterrill.com, 2011, cubic fit to 68 beers; within 1.2 to 2 points, less sure below an
    apparent attenuation of 61 %.
    """
    a, b = before_bx / WORT_FACTOR, after_bx / WORT_FACTOR
    first = -0.0044993 * a + 0.00027581 * a**2 - 0.0000072800 * a**3
    second = 0.011774 * b - 0.0012717 * b**2 + 0.000063293 * b**3
    return 1.0 + first + second


def plato_of_wort(shown_bx: float) -> float:
    """Return °P of wort from degrees Brix shown (see `WORT_FACTOR`)."""
    return shown_bx / WORT_FACTOR


def wort_shown(quantity: str, stated: Stated) -> Stated:
    """Return what was stated; what a refractometer showed of wort as its extract.

    Raises ValueError for what it showed of beer.
    """
    if stated.unit != "°Bx":
        return stated
    if quantity not in WORTS:
        raise ValueError(f"“{stated.text}”: alcohol bends light; write the gravity or °P instead")
    return replace(stated, phrase=rescaled(stated.phrase, plato_of_wort))
