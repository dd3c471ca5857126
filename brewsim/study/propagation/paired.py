"""The same batch before and after: what a setting does when all else stays as it is."""

import math

import numpy as np

from brewsim.dims import FloatArray

Ends = tuple[float, float, float]
"""Low, middle and high of a change."""


def paired_change(before: FloatArray, after: FloatArray, scale: str, coverage: float) -> Ends:
    """Return low, median and high of what the pairs differ by.

    A fold, after / before, for an outcome on a log scale (0 or infinite where one has none at
    all), else a difference; `coverage` is the share of pairs between low and high.

    >>> paired_change(np.array([2.0, 4.0]), np.array([1.0, 2.0]), "log", 0.9)
    (0.5, 0.5, 0.5)
    """
    folds = scale != "linear"
    with np.errstate(all="ignore"):
        x, y = (np.log2(v) if folds else v for v in (before, after))
        change = np.where(after == before, 0.0, y - x)
    low, middle, high = middle_and_ends(change, coverage)
    return (2.0**low, 2.0**middle, 2.0**high) if folds else (low, middle, high)


def middle_and_ends(change: FloatArray, coverage: float) -> Ends:
    """Return low, middle, high; all infinite where every batch goes from or to nothing."""
    ends = [(1 - coverage) / 2, 0.5, (1 + coverage) / 2]
    finite = change[np.isfinite(change)]
    if finite.size:
        low, middle, high = np.quantile(finite, ends)
        return float(low), float(middle), float(high)
    known = np.sort(change[~np.isnan(change)])
    if not known.size:
        return math.nan, math.nan, math.nan
    places = [min(int(end * known.size), known.size - 1) for end in ends]
    return float(known[places[0]]), float(known[places[1]]), float(known[places[2]])
