"""Chances and shares as people read them: counts of 10, 50, 100 or 1,000."""

import math

FEWEST = 0.001
"""A chance nearer to 0 or 1 is bounded, not counted."""
_DOTS, _THOUSAND = 50, 1000
_LEAST = 1e-6
_FEW = 0.02
_COMMON, _USUAL, _RARE = 0.3, 0.1, 0.01


def percent(share: float) -> str:
    """Return a share as a whole percentage, never below zero; a dash where there is none."""
    return f"{max(0.0, share) * 100:.0f} %" if math.isfinite(share) else "–"


def in_fifty(chance: float) -> str:
    """Return a chance as a count of 50, or a dash where there is no target."""
    return f"{round(_DOTS * chance)} of {_DOTS}" if math.isfinite(chance) else "–"


def in_hundred(chance: float, error: float, wanted: float = 0.0) -> str:
    """Return a chance as so many in 100 with its sampling error, rare ones in 1,000.

    A chance that hardly a draw shows is bounded by its error, on one side.
    One that misses the wanted chance by less than the rounding is said to be just under it.
    """
    if chance < wanted <= round(chance, 2):
        return f"just under {100 * wanted:.0f} chances in 100"
    if chance < FEWEST:
        most = max(1, math.ceil(_THOUSAND * (chance + error) - 1e-9))
        return f"fewer than {most} chance{'' if most == 1 else 's'} in 1,000"
    if chance > 1 - FEWEST:
        least = min(_THOUSAND - 1, math.floor(_THOUSAND * (chance - error) + 1e-9))
        return f"more than {least} chances in 1,000"
    if chance < _FEW or chance > 1 - _FEW:
        return f"about {chance * _THOUSAND:.0f} in 1,000"
    spread = math.ceil(100 * error)
    tail = f", give or take {spread}" if spread > 1 else ""
    return f"about {chance * 100:.0f} chances in 100{tail}"


def one_in(chance: float) -> str:
    """Return a small chance as one in so many, to one digit, down to one in a million."""
    if chance < _LEAST:
        return "fewer than 1 in 1,000,000"
    many = 1 / chance
    digits = math.floor(math.log10(many))
    return f"about 1 in {round(many / 10**digits) * 10**digits:,}"


def in_draws(share: float) -> str:
    """Return a share of the draws as so many in 100 or in 1,000."""
    if share < FEWEST:
        return "in fewer than 1 of 1,000 draws"
    if share > 1 - FEWEST:
        return "in nearly every draw"
    of = _THOUSAND if share < _FEW else 100
    return f"in about {share * of:.0f} of {of:,} draws"


def odds(chance: float) -> str:
    """Say how unusual a reading is that deviates so much."""
    if chance > _COMMON:
        return "That is as expected."
    if chance > _USUAL:
        return f"Slightly unusual: 1 batch in {round(1 / chance)} deviates more."
    if chance > _RARE:
        return f"Unusual: 1 batch in {round(1 / chance)} deviates more."
    if chance > FEWEST:
        return f"Rare: 1 batch in {round(1 / chance, -1 if chance < 0.02 else 0):.0f}."
    return "Hardly possible: fewer than 1 batch in 1,000. Check the reading first."
