"""A setting stated with a spread: the setting is its middle, the spread is the input beside it.

What a brewer sets stays fixed, so that it can be turned; how well it is hit is an error of its own.
"""

from dataclasses import replace

from brewsim.quantities.statement import Phrase, Stated, rescaled

ADDED = {
    "mash_set_temperature_c": "mash_temperature_error_c",
    "stand_set_temperature_c": "stand_temperature_error_c",
    "stand_time_min": "stand_time_error_min",
}
"""Setting -> the error that is added to it."""

MULTIPLIED = {
    "evaporation_l_h": "evaporation_factor",
    "stand_cooling_per_min": "stand_cooling_factor",
    "chill_time_min": "chill_time_factor",
    "keg_carbonation_vol": "keg_carbonation_factor",
}
"""Setting -> the factor it is multiplied by."""


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


def beside(quantity: str, stated: Stated) -> dict[str, Stated]:
    """Return what a stated setting says of the setting and of the error beside it."""
    if quantity in ADDED:
        name, spread = ADDED[quantity], error_of(stated)
    elif quantity in MULTIPLIED:
        name, spread = MULTIPLIED[quantity], factor_of(stated)
    else:
        return {quantity: stated}
    return {quantity: exact(stated)} | ({name: spread} if spread is not None else {})
