"""How old a hop lot is on brew day: as stated, or from harvest to brew day."""

import re

from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.schema import Hop, Recipe

_DATE = re.compile(r"\s*(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?\s*")
MAX_AGE_MONTHS = 120
_HARVEST_MONTH = 9
"""Hops are picked around September north of the equator [common practice]; say the month if not."""


def age_of(hop: Hop, recipe: Recipe) -> Stated | None:
    """Return the age of a hop in months, or None where nothing says it."""
    months = _since_harvest(hop, recipe)
    if hop.age is not None or months is None:
        return hop.age
    text = f"{months:.0f} months, harvest {hop.harvest}"
    return Stated(text, Phrase("exactly", months), "months", "months", hop.line)


def fault_of_age(hop: Hop, recipe: Recipe) -> str:
    """Return why the harvest date gives no age, or an empty string."""
    months = _since_harvest(hop, recipe)
    if months is not None and months > MAX_AGE_MONTHS and hop.age is None:
        return (
            f"harvest: “{hop.harvest}” is {months:.0f} months before brew day; {MAX_AGE_MONTHS}"
            " months are the most"
        )
    if hop.age is not None or not hop.harvest or months is not None:
        return ""
    return (
        f"harvest: “{hop.harvest}” gives no age; write the harvest as 2024 or 2024-09 and, at the"
        ' top, brewed = "2025-03-01" (later); or write age = "6 months"'
    )


def _since_harvest(hop: Hop, recipe: Recipe) -> float | None:
    """Return the months from harvest to brew day, or None where they cannot be counted."""
    harvest, brewed = months_of(hop.harvest, _HARVEST_MONTH), months_of(recipe.brewed, 0)
    if harvest is None or brewed is None or brewed < harvest:
        return None
    return brewed - harvest


def months_of(text: str, default_month: int) -> float | None:
    """Return a date in months; `default_month` is taken where there is none (0: refuse)."""
    match = _DATE.fullmatch(text)
    if match is None or not (match[2] or default_month):
        return None
    month, day = int(match[2] or default_month), int(match[3] or 1)
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    return 12 * int(match[1]) + month + (day - 1) / 31
