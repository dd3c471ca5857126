"""Any continuous distribution kept between two limits, exactly.

With a and b the scores of the limits, x = map(t(z)), where t is the score map of a standard
normal kept between a and b. Only t is tabulated; the whole distribution's own map does the rest.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution, Family, score_between
from brewsim.distributions.score_table import ScoreMap, ScoreTable

_FARTHEST = 36.0
_PANEL = 0.25
_NODES = 12


def mass_between(low: FloatArray | float, high: FloatArray | float) -> FloatArray:
    """Return the standard normal's chance between two scores, from the nearer tail."""
    upper = special.ndtr(-np.asarray(low)) - special.ndtr(-np.asarray(high))
    lower = special.ndtr(high) - special.ndtr(low)
    return np.where(np.asarray(low) > 0, upper, lower)


def _exact_map(low: float, high: float) -> ScoreMap:
    kept = float(mass_between(low, high))

    def exact(score: FloatArray) -> FloatArray:
        below = special.ndtr(low) + kept * special.ndtr(score)
        above = special.ndtr(-high) + kept * special.ndtr(-score)
        return np.clip(score_between(below, above), low, high)

    return exact


@lru_cache(maxsize=256)
def _table(low: float, high: float) -> ScoreTable:
    exact = _exact_map(low, high)
    ends = exact(np.array([-1.0, 1.0]))
    return ScoreTable(exact, float(ends[1] - ends[0]) / 2, (low, high))


@dataclass(frozen=True, repr=False)
class Truncated(Family):
    """Another distribution kept between low and high."""

    family = "truncated"
    whole: Distribution
    low: float
    high: float

    def _map(self, score: FloatArray) -> FloatArray:
        value = self.whole.from_score(_table(*_score_limits(self)).read(score))
        return np.clip(value, *self._limits())

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        low, high = _score_limits(self)
        score = np.clip(self.whole.to_score(value), low, high)
        kept = mass_between(low, high)
        below = mass_between(low, score)
        return below / kept, mass_between(score, high) / kept

    def _moments(self) -> tuple[float, float]:
        return _quadrature(self)

    def _limits(self) -> tuple[float, float]:
        low, high = self.whole.support
        return max(low, self.low), min(high, self.high)

    @property
    def bends(self) -> tuple[float, ...]:
        """Scores at which the whole distribution's map is not smooth."""
        low, high = _score_limits(self)
        inside = np.array([bend for bend in self.whole.bends if low < bend < high])
        kept = mass_between(low, high)
        below = mass_between(low, inside)
        above = mass_between(inside, high)
        return tuple(map(float, score_between(below / kept, above / kept)))


@lru_cache(maxsize=1024)
def _score_limits(truncated: Truncated) -> tuple[float, float]:
    """Return the limits as scores of the whole distribution, infinite where none binds."""
    low, high = truncated.whole.support
    a, b = truncated.whole.to_score(np.array([truncated.low, truncated.high]))
    return (
        -math.inf if truncated.low <= low else float(a),
        math.inf if truncated.high >= high else float(b),
    )


@lru_cache(maxsize=1024)
def _quadrature(truncated: Truncated) -> tuple[float, float]:
    """Return mean and standard deviation by Gauss-Legendre panels cut at every bend."""
    regular = np.arange(-_FARTHEST, _FARTHEST + _PANEL, _PANEL)
    ends = np.unique(np.concatenate([regular, truncated.bends]))
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    half = np.diff(ends)[:, np.newaxis] / 2
    score = ends[:-1, np.newaxis] + half * (nodes + 1)
    exact = _exact_map(*_score_limits(truncated))
    weight = half * weights * np.exp(-(score**2) / 2) / math.sqrt(2 * math.pi)
    away = truncated.whole.from_score(exact(score)) - truncated.median
    away = np.where(weight > 0, away, 0.0)
    mean = float((weight * away).sum())
    square = float((weight * (away - mean) ** 2).sum())
    return truncated.median + mean, math.sqrt(square)
