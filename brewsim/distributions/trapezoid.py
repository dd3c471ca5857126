"""A uniform distribution whose ends are not known exactly (JCGM 101:2008, 6.4.3)."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.score_table import ScoreTable
from brewsim.distributions.tabulated import Tabulated

_NEWTON_STEPS = 12


def _flank(share: FloatArray) -> FloatArray:
    """Return h(d) = d + (1 - d) ln(1 - d), by its series where that loses digits."""
    d = np.asarray(share)
    series = d * d * (1 / 2 + d * (1 / 6 + d * (1 / 12 + d * (1 / 20 + d / 30))))
    return np.where(d < 1e-3, series, d + special.xlog1py(1 - d, -d))


def _flank_inverse(height: FloatArray) -> FloatArray:
    """Solve h(d) = height by Newton from above: h is convex and at least d^2 / 2."""
    d = np.minimum(np.sqrt(2 * height), 1.0 - 1e-9)
    for _ in range(_NEWTON_STEPS):
        slope = -np.log1p(-d)
        d = d - np.where(slope > 0, (_flank(d) - height) / np.where(slope > 0, slope, 1.0), 0.0)
    return d


@lru_cache(maxsize=64)
def _table(error: float) -> ScoreTable:
    """Tabulate ends -1 and 1, each uniform within the error."""
    inner, outer = 1 - error, 1 + error
    height = math.log(outer / inner) / (4 * error)
    corner = 0.5 - inner * height

    def exact(score: FloatArray) -> FloatArray:
        tail = special.ndtr(-np.abs(score))
        flank = outer * (1 - _flank_inverse(np.minimum(tail, corner) * (4 * error / outer)))
        return np.copysign(np.where(tail < corner, flank, (0.5 - tail) / height), score)

    return ScoreTable(exact, math.sqrt(1 / 3 + error**2 / 9), (-outer, outer))


@dataclass(frozen=True, repr=False)
class CurvilinearTrapezoid(Tabulated):
    """Uniform between two ends, each itself uniform within half_width_error of what is stated."""

    family = "curvilinear_trapezoid"
    low: float
    high: float
    half_width_error: float

    def _table(self) -> ScoreTable:
        return _table(self._error())

    def _error(self) -> float:
        return 2 * self.half_width_error / (self.high - self.low)

    def _frame(self) -> tuple[float, float]:
        return (self.low + self.high) / 2, (self.high - self.low) / 2

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        error, x = self._error(), self._standard(value)
        inner, outer = 1 - error, 1 + error
        size = np.abs(x)
        share = np.clip(1 - size / outer, 0.0, 1 - inner / outer)
        middle = 0.5 - size * (math.log(outer / inner) / (4 * error))
        tail = np.where(size > inner, _flank(share) * (outer / (4 * error)), middle)
        return np.where(x < 0, tail, 1 - tail), np.where(x < 0, 1 - tail, tail)

    def _moments(self) -> tuple[float, float]:
        variance = (self.high - self.low) ** 2 / 12 + self.half_width_error**2 / 9
        return (self.low + self.high) / 2, math.sqrt(variance)

    def _limits(self) -> tuple[float, float]:
        return self.low - self.half_width_error, self.high + self.half_width_error

    @property
    def bends(self) -> tuple[float, ...]:
        """Scores at which the flat part of the density ends."""
        middle, half = self._frame()
        score = float(self.to_score(np.array(middle + half - self.half_width_error)))
        return -score, score
