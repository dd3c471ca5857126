"""A setting stated with a spread: the setting is its middle, the spread is the input beside it.

What a brewer sets stays fixed, so that it can be turned; how well it is hit is an error of its own.
"""

from dataclasses import replace

from brewsim.quantities.statement import Phrase, Stated, rescaled
from brewsim.recipe.sets import Sets


def exact(stated: Stated) -> Stated:
    """Return the middle of a statement, without its spread."""
    return replace(stated, phrase=Phrase("exactly", stated.value))


def error_of(stated: Stated) -> Stated | None:
    """Return the spread of a statement around zero, or None where the usual one holds."""
    if stated.phrase.kind == "plain":
        return None
    return replace(stated, phrase=rescaled(stated.phrase, lambda value: value - stated.value))


def factor_of(stated: Stated) -> Stated | None:
    """Return the spread of a statement around one, or None where the usual one holds."""
    if stated.phrase.kind == "plain" or stated.value <= 0:
        return None
    return replace(stated, phrase=rescaled(stated.phrase, lambda value: value / stated.value))


def beside(sets: Sets, stated: Stated) -> dict[str, Stated]:
    """Return what a stated setting says of the setting and of the input beside it."""
    if not sets.error and not sets.factor:
        return {sets.quantity: stated}
    name, spread = sets.error, error_of(stated)
    if sets.factor:
        name, spread = sets.factor, factor_of(stated)
    return {sets.quantity: exact(stated)} | ({name: spread} if spread is not None else {})
