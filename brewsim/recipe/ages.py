"""How old a hop lot is on brew day: as stated, or from harvest to brew day."""

import re

from brewsim.errors import InputError
from brewsim.recipe.schema import Hop, Recipe
from brewsim.recipe.stated import Phrase, Stated

_DATE = re.compile(r"\s*(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?\s*")
_HARVEST_MONTH = 9
"""Hops are picked around September north of the equator [common practice]; say the month if not."""


def age_of(hop: Hop, recipe: Recipe) -> Stated | None:
    """Return the age of a hop in months, or None where nothing says it.

    Raises InputError where a harvest is stated that cannot be counted from.
    """
    if hop.age is not None or not hop.harvest:
        return hop.age
    harvest, brewed = months_of(hop.harvest, _HARVEST_MONTH), months_of(recipe.brewed, 0)
    if harvest is None or brewed is None or brewed < harvest:
        fault = (
            f"line {hop.line}, {hop.variety} harvest: to count its age write the harvest as 2024 or"
            ' 2024-09 and, at the top, brewed = "2025-03-01" (later); or write age = "6 months"'
        )
        raise InputError(recipe.name, [fault])
    months = brewed - harvest
    text = f"{months:.0f} months, harvest {hop.harvest}"
    return Stated(text, Phrase("exactly", months), "months", "months", hop.line)


def months_of(text: str, default_month: int) -> float | None:
    """Return a date in months; `default_month` is taken where there is none (0: refuse)."""
    match = _DATE.fullmatch(text)
    if match is None or not (match[2] or default_month):
        return None
    month, day = int(match[2] or default_month), int(match[3] or 1)
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    return 12 * int(match[1]) + month + (day - 1) / 31
