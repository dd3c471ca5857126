"""Chances and shares as people read them: counts of 50, of 1,000 for a danger."""

import math

FEWEST = 0.001
"""A chance nearer to 0 is bounded, not counted."""
DOTS = 50
"""What chances are counted of: as many batches as a picture shows."""
_THOUSAND = 1000
_LEAST = 1e-6
_HALF = 0.5 / DOTS
_COMMON, _USUAL, _RARE = 0.3, 0.1, 0.01


def percent(share: float) -> str:
    """Return a share as a whole percentage, never below zero; a dash where there is none."""
    return f"{max(0.0, share) * 100:.0f} %" if math.isfinite(share) else "–"


def in_fifty(chance: float) -> str:
    """Return a chance as a count of 50, or a dash where there is no target."""
    return f"{round(DOTS * chance)} of {DOTS}" if math.isfinite(chance) else "–"


def about_fifty(chance: float, error: float = 0.0, wanted: float = 0.0) -> str:
    """Return a chance as about so many of 50, with its sampling error where that shows.

    Less than half a batch is "fewer than 1 of 50", less than half a miss "more than 49 of 50". A
    chance that misses the wanted one by less than the rounding is said to be just under it.
    """
    count = round(DOTS * chance)
    if chance < wanted and DOTS * wanted - count <= _HALF:
        return f"just under {fiftieths(wanted)} of {DOTS}"
    if chance < _HALF:
        return f"fewer than 1 of {DOTS}"
    if chance > 1 - _HALF:
        return f"more than {DOTS - 1} of {DOTS}"
    spread = math.ceil(DOTS * error - 1e-9)
    tail = f", give or take {spread}" if spread > 1 else ""
    return f"about {count} of {DOTS}{tail}"


def fiftieths(share: float, decimals: int | None = None) -> str:
    """Return a share as a count of 50 without what it is of: "7", "47.5", with `decimals` "0.3"."""
    count = DOTS * share
    return f"{count:.6g}" if decimals is None else f"{count:.{decimals}f}"


def in_thousand(chance: float, error: float = 0.0) -> str:
    """Return the chance of a danger as so many in 1,000, bounded by its error where it is rare."""
    if chance < FEWEST:
        most = max(1, math.ceil(_THOUSAND * (chance + error) - 1e-9))
        return f"fewer than {most} in 1,000"
    return f"{_THOUSAND * chance:.0f} in 1,000"


def sought_thousand(chance: float) -> str:
    """Return a rare chance that was sought by itself, in 1,000 like any danger, to one digit."""
    if chance < _LEAST:
        return f"fewer than {_THOUSAND * _LEAST:g} in 1,000"
    one_digit = float(f"{_THOUSAND * chance:.1g}")
    return f"about {one_digit:g} in 1,000"


def in_draws(share: float) -> str:
    """Return a share of the draws as so many of 50 draws."""
    if share < _HALF:
        return f"in fewer than 1 of {DOTS} draws"
    if share > 1 - _HALF:
        return "in nearly every draw"
    return f"in about {round(DOTS * share)} of {DOTS} draws"


def odds(chance: float) -> str:
    """Say how unusual a reading is that deviates so much."""
    if chance > _COMMON:
        return "That is as expected."
    if chance > _RARE:
        level = "Slightly unusual" if chance > _USUAL else "Unusual"
        return f"{level}: {deviating(chance)}."
    if chance > FEWEST:
        return f"Rare: {deviating(chance)}."
    return f"Hardly possible: {deviating(chance)}. Check the reading first."


def deviating(chance: float) -> str:
    """Say how many batches deviate more than one does: of 50, of 1,000 where that is rare."""
    if chance > _RARE:
        count = max(1, round(DOTS * chance))
        return f"{count} of {DOTS} batches deviate{'s' if count == 1 else ''} more"
    return f"{in_thousand(chance)} deviate more"
