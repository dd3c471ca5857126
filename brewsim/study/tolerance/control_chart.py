"""Run charts of single values in time: individuals, moving ranges, and a smoothed level (EWMA).

Limits say what the process does, not what anybody wants. They leave out what is odd already, so
that the very batches a chart is looked at for do not widen it.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import StudyError

D2 = 1.128
"""Mean range of two values, in standard deviations. Source: NIST/SEMATECH e-Handbook 6.3.2.2."""
RANGE_LIMIT = 3.267
"""Upper limit of a moving range over the mean one, D4 of two values: 1 + 3 √(2 − 4/π) / D2."""
REACH = 3.0
WEIGHT = 0.2
"""Weight of the newest value in the smoothed level; e-Handbook 6.3.2.4: usually 0.2 to 0.3."""
FEWEST = 5
"""Fewer values have no limits worth drawing: assumption."""


@dataclass(frozen=True)
class ControlChart:
    """Values (n,) in time, their limits, moving ranges (n - 1,) and smoothed level, each (n,).

    All on the scale the chart was made on. `used` are the values that the limits rest on; `sigma`
    is the spread from one batch to the next, from the mean moving range.
    """

    values: FloatArray
    centre: float
    sigma: float
    used: NDArray[np.bool_]
    ranges: FloatArray
    mean_range: float
    level: FloatArray
    level_low: FloatArray
    level_high: FloatArray

    @property
    def lower(self) -> float:
        """The lower control limit."""
        return self.centre - REACH * self.sigma

    @property
    def upper(self) -> float:
        """The upper control limit."""
        return self.centre + REACH * self.sigma

    @property
    def range_upper(self) -> float:
        """The upper control limit of the moving ranges; the lower one is 0."""
        return RANGE_LIMIT * self.mean_range

    @property
    def scores(self) -> FloatArray:
        """How many sigmas each value lies from the centre line, (n,)."""
        return (self.values - self.centre) / self.sigma


def control_chart(
    values: FloatArray,
    *,
    robust: bool = True,
    weight: float = WEIGHT,
    centre: float | None = None,
    sigma: float | None = None,
) -> ControlChart:
    """Return the chart of finite values (n,) in the order of time; raises StudyError for too few.

    Without `robust` the limits rest on all values. `weight` is that of the newest value in the
    smoothed level; `centre` and `sigma`, in the values' unit, stand for those of the values where
    they are known from before. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    and 6.3.2.4 (there with limits of the settled level). The robust start leaves out moving ranges
    above their own limit until none is (common practice, no source), then values beyond three
    sigmas from the median.

    >>> import numpy as np
    >>> chart = control_chart(np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2]), robust=False)
    >>> round(chart.centre, 2), round(chart.mean_range, 2)
    (49.57, 2.52)
    """
    data = np.asarray(values, dtype=float)
    if len(data) < FEWEST or not np.isfinite(data).all():
        raise StudyError(f"a control chart takes {FEWEST} finite values or more, not {len(data)}")
    ranges = np.abs(np.diff(data))
    usual = _usual_range(ranges) if robust else float(ranges.mean())
    spread = usual / D2 if sigma is None else sigma
    near = np.abs(data - np.median(data)) <= REACH * spread
    used = near if robust and near.sum() >= len(data) / 2 else np.ones(len(data), dtype=bool)
    middle = float(data[used].mean()) if centre is None else centre
    if not spread > 0:
        raise StudyError("all values are the same: there is no scatter to draw limits from")
    level, ahead = np.empty(len(data)), middle
    for i, value in enumerate(data):
        ahead = level[i] = weight * value + (1 - weight) * ahead
    grown = 1 - (1 - weight) ** (2 * np.arange(1, len(data) + 1))
    half = REACH * spread * np.sqrt(weight / (2 - weight) * grown)
    return ControlChart(
        data, middle, spread, used, ranges, usual, level, middle - half, middle + half
    )


def _usual_range(ranges: FloatArray) -> float:
    """Return the mean moving range without those above their own limit, until none is."""
    kept = ranges
    while True:
        mean = float(kept.mean())
        inside = kept[kept <= RANGE_LIMIT * mean]
        if len(inside) == len(kept) or not inside.any():
            return mean
        kept = inside


def within_subgroups(values: FloatArray, groups: NDArray[np.int_]) -> float:
    """Return the pooled standard deviation of values (n,) inside their subgroups; nan without.

    Source: pooled variance, ISO 22514-1 (from memory): squares about each subgroup's own mean.

    >>> import numpy as np
    >>> within_subgroups(np.array([1.0, 3.0, 11.0, 13.0]), np.array([0, 0, 1, 1])).__round__(3)
    1.414
    """
    squares, degrees = 0.0, 0
    for group in np.unique(groups):
        inside = values[groups == group]
        squares += float(((inside - inside.mean()) ** 2).sum())
        degrees += len(inside) - 1
    return math.sqrt(squares / degrees) if degrees else math.nan
