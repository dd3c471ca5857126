"""Histograms that merge exactly: quantiles of any number of draws in fixed memory."""

from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.replicates import Places

BINS_AT_FIRST = 4_096
MOST_BINS = 16_384


@dataclass
class Histogram:
    """Counts on the grid origin + i x width x 2^level, i from `first` on.

    The grid grows to either side as values come, and gets coarser (pairs of bins join) when it
    would pass 16,384 bins; what it ends as depends on the values alone, not on their order.
    `low` and `high` are the extremes seen.
    """

    origin: float
    width: float
    level: int = 0
    first: int = 0
    counts: Places = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    low: float = np.inf
    high: float = -np.inf

    @staticmethod
    def around(values: FloatArray) -> "Histogram":
        """Return an empty histogram whose bins suit values like these, all finite."""
        low, high = float(values.min()), float(values.max())
        span = high - low or max(abs(low), 1.0) * 1e-9
        return Histogram(low, span / BINS_AT_FIRST)

    def empty(self) -> "Histogram":
        """Return an empty histogram on the same grid."""
        return Histogram(self.origin, self.width)

    @property
    def total(self) -> int:
        """Number of values counted."""
        return int(self.counts.sum())

    def add(self, values: FloatArray) -> None:
        """Count values, all finite."""
        if not values.size:
            return
        self.low = min(self.low, float(values.min()))
        self.high = max(self.high, float(values.max()))
        self._fit()
        step = self.width * 2.0**self.level
        places = np.floor((values - self.origin) / step).astype(np.intp) - self.first
        np.clip(places, 0, len(self.counts) - 1, out=places)
        self.counts += np.bincount(places, minlength=len(self.counts))

    def merge(self, other: "Histogram") -> None:
        """Add the counts of a histogram on the same grid."""
        if not other.counts.size:
            return
        self.low, self.high = min(self.low, other.low), max(self.high, other.high)
        self._fit()
        first, counts = _coarser(other.first, other.counts, self.level - other.level)
        start = first - self.first
        self.counts[start : start + len(counts)] += counts

    def _fit(self) -> None:
        level = self.level
        while True:
            step = self.width * 2.0**level
            begin = int(np.floor((self.low - self.origin) / step))
            end = int(np.floor((self.high - self.origin) / step)) + 1
            if end - begin <= MOST_BINS:
                break
            level += 1
        first, counts = _coarser(self.first, self.counts, level - self.level)
        grown = np.zeros(end - begin, dtype=np.intp)
        if counts.size:
            grown[first - begin : first - begin + len(counts)] = counts
        self.level, self.first, self.counts = level, begin, grown

    def quantile(self, probability: float) -> float:
        """Return the value with that share of counts below it, linear inside a bin."""
        if not self.counts.size:
            return float("nan")
        step = self.width * 2.0**self.level
        sums = np.cumsum(self.counts)
        wanted = probability * sums[-1]
        place = min(int(np.searchsorted(sums, wanted)), len(sums) - 1)
        before = sums[place] - self.counts[place]
        inside = (wanted - before) / self.counts[place] if self.counts[place] else 0.0
        value = self.origin + (self.first + place + inside) * step
        return float(np.clip(value, self.low, self.high))


def _coarser(first: int, counts: Places, levels: int) -> tuple[int, Places]:
    """Join pairs of bins so many times; bin i goes to bin i // 2."""
    for _ in range(levels):
        if not counts.size:
            break
        before = first % 2
        after = (before + len(counts)) % 2
        counts = np.pad(counts, (before, after)).reshape(-1, 2).sum(axis=1)
        first = (first - before) // 2
    return first, counts
