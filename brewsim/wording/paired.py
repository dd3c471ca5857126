"""What a change does to one batch in which all else stays the same, in words."""

import math

from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.format import together
from brewsim.study.propagation.paired import Ends


def as_folds(look: Quantity, scale: str) -> bool:
    """Return whether people read a change of an outcome as so many times."""
    return look.fold or scale != "linear"


def change_figure(look: Quantity, scale: str, size: float) -> float:
    """Return a change as people read it: so many times, or a difference in shown units."""
    if look.fold:
        return float(2.0**size)
    return size if as_folds(look, scale) else size * look.per_model


def change_words(look: Quantity, scale: str, ends: Ends) -> str:
    """Return the change and its interval, two figures of the end farthest from none at all.

    `ends` are low, middle and high in the model's unit, "0.83× (0.71 to 0.92×)".
    """
    low, middle, high = (change_figure(look, scale, size) for size in ends)
    folds = as_folds(look, scale)
    if folds and not 0 < middle < math.inf:
        return "to nothing" if middle == 0 else "from nothing"
    if not math.isfinite(middle):
        return "no value"
    known = [abs(size - float(folds)) for size in (low, middle, high)]
    farthest = max(size for size in known if math.isfinite(size))
    texts = together((middle, low, high), farthest, 2 if folds else look.decimals or 0)
    mark = "×" if folds else ""
    return f"{texts[0]}{mark} ({texts[1]} to {texts[2]}{mark})"
