"""Distributions made from others or from values: truncated, discrete, mixed, empirical."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy import integrate, special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.tables import ScoreTable, score_table
from brewsim.errors import DistributionError

_REACH = 8.3


class _Composed(Distribution):
    """Defaults in terms of the score map."""

    def quantile(self, probability: FloatArray) -> FloatArray:
        return self.from_score(special.ndtri(probability))

    def cdf(self, value: FloatArray) -> FloatArray:
        return special.ndtr(self.to_score(value))

    @property
    def median(self) -> float:
        return float(self.from_score(np.zeros(1))[0])

    @property
    def fingerprint(self) -> str:
        return repr(self)

    def __getstate__(self) -> dict[str, object]:
        return {key: value for key, value in self.__dict__.items() if not key.startswith("_")}


@dataclass(frozen=True)
class Truncated(_Composed):
    """Another distribution kept between low and high."""

    whole: Distribution
    low: float
    high: float

    @cached_property
    def _ends(self) -> tuple[float, float]:
        """Scores of the limits under the whole distribution."""
        inner_low, inner_high = self.whole.support
        low = -math.inf if self.low <= inner_low else self._score(self.low)
        high = math.inf if self.high >= inner_high else self._score(self.high)
        return low, high

    def _score(self, value: float) -> float:
        return float(self.whole.to_score(np.array([value]))[0])

    def _exact(self, score: FloatArray) -> FloatArray:
        return np.clip(self.whole.from_score(self._inner(score)), self.low, self.high)

    def _inner(self, score: FloatArray) -> FloatArray:
        """Return the whole distribution's score at the truncated one's score."""
        low, high = self._ends
        kept = special.ndtr(high) - special.ndtr(low)
        if low > 0:
            kept = special.ndtr(-low) - special.ndtr(-high)
        below = special.ndtr(low) + kept * special.ndtr(score)
        above = special.ndtr(-high) + kept * special.ndtr(-score)
        return np.where(below < above, special.ndtri(below), -special.ndtri(above))

    @cached_property
    def _table(self) -> ScoreTable:
        return score_table(self.fingerprint, self._exact)

    def from_score(self, score: FloatArray) -> FloatArray:
        return self._table.read(np.asarray(score, dtype=float))

    def to_score(self, value: FloatArray) -> FloatArray:
        low, high = self._ends
        inner = self.whole.to_score(np.clip(value, self.low, self.high))
        kept = special.ndtr(high) - special.ndtr(low)
        if low > 0:
            kept = special.ndtr(-low) - special.ndtr(-high)
        below = np.clip((special.ndtr(inner) - special.ndtr(low)) / kept, 0, 1)
        above = np.clip((special.ndtr(-inner) - special.ndtr(-high)) / kept, 0, 1)
        return np.where(below < above, special.ndtri(below), -special.ndtri(above))

    def _moment(self, power: int) -> float:
        def integrand(z: float) -> float:
            x = float(self._exact(np.array([z]))[0])
            return (x - self.median) ** power * math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)

        points = np.linspace(-9, 9, 13)
        parts = [integrate.quad(integrand, a, b, limit=100)[0] for a, b in pairwise(points)]
        return float(sum(parts))

    @cached_property
    def _moments(self) -> tuple[float, float]:
        first, second = self._moment(1), self._moment(2)
        return self.median + first, math.sqrt(max(second - first**2, 0.0))

    @property
    def mean(self) -> float:
        return self._moments[0]

    @property
    def standard_deviation(self) -> float:
        return self._moments[1]

    @property
    def support(self) -> tuple[float, float]:
        low, high = self.whole.support
        return max(low, self.low), min(high, self.high)


@dataclass(frozen=True)
class Discrete(_Composed):
    """A few values with their probabilities, in increasing order of value."""

    values: tuple[float, ...]
    probabilities: tuple[float, ...]

    @cached_property
    def _edges(self) -> FloatArray:
        """Scores at which one value gives way to the next."""
        cumulative = np.cumsum(self.probabilities)[:-1]
        return np.asarray(special.ndtri(np.minimum(cumulative, 1.0)))

    def from_score(self, score: FloatArray) -> FloatArray:
        place = np.searchsorted(self._edges, score, side="left")
        return np.asarray(self.values, dtype=float)[place]

    def to_score(self, value: FloatArray) -> FloatArray:
        """Return the score in the middle of a value's probability."""
        cumulative = np.concatenate([[0.0], np.cumsum(self.probabilities)])
        middles = special.ndtri((cumulative[:-1] + cumulative[1:]) / 2)
        place = np.clip(np.searchsorted(self.values, value), 0, len(self.values) - 1)
        return np.asarray(middles)[place]

    def cdf(self, value: FloatArray) -> FloatArray:
        cumulative = np.concatenate([[0.0], np.cumsum(self.probabilities)])
        return cumulative[np.searchsorted(self.values, value, side="right")]

    @property
    def mean(self) -> float:
        return float(np.dot(self.values, self.probabilities))

    @property
    def standard_deviation(self) -> float:
        away = np.asarray(self.values) - self.mean
        return math.sqrt(float(np.dot(away**2, self.probabilities)))

    @property
    def support(self) -> tuple[float, float]:
        return self.values[0], self.values[-1]


@dataclass(frozen=True)
class Empirical(_Composed):
    """Measured values, each as likely, joined by straight lines between their mid-ranks."""

    values: tuple[float, ...]

    @cached_property
    def _ranks(self) -> FloatArray:
        return (np.arange(len(self.values)) + 0.5) / len(self.values)

    def from_score(self, score: FloatArray) -> FloatArray:
        return np.interp(special.ndtr(score), self._ranks, self.values)

    def to_score(self, value: FloatArray) -> FloatArray:
        share = np.interp(value, self.values, self._ranks)
        return np.asarray(special.ndtri(share))

    def cdf(self, value: FloatArray) -> FloatArray:
        inside = np.interp(value, self.values, self._ranks)
        return np.where(value < self.values[0], 0.0, np.where(value >= self.values[-1], 1, inside))

    @cached_property
    def _moments(self) -> tuple[float, float]:
        x, width = np.asarray(self.values), 1 / len(self.values)
        a, b = x[:-1], x[1:]
        mean = width * (float(((a + b) / 2).sum()) + 0.5 * (x[0] + x[-1]))
        square = width * float(((a * a + a * b + b * b) / 3).sum())
        square += 0.5 * width * (x[0] ** 2 + x[-1] ** 2)
        return float(mean), math.sqrt(max(float(square) - float(mean) ** 2, 0.0))

    @property
    def mean(self) -> float:
        return self._moments[0]

    @property
    def standard_deviation(self) -> float:
        return self._moments[1]

    @property
    def support(self) -> tuple[float, float]:
        return self.values[0], self.values[-1]


@dataclass(frozen=True)
class Mixture(_Composed):
    """One of several distributions, each with its weight."""

    parts: tuple[Distribution, ...]
    weights: tuple[float, ...]

    def cdf(self, value: FloatArray) -> FloatArray:
        pairs = zip(self.parts, self.weights, strict=True)
        return np.sum([weight * part.cdf(value) for part, weight in pairs], axis=0)

    def _above(self, value: FloatArray) -> FloatArray:
        pairs = zip(self.parts, self.weights, strict=True)
        return np.sum([w * special.ndtr(-part.to_score(value)) for part, w in pairs], axis=0)

    def _exact(self, score: FloatArray) -> FloatArray:
        """Bisect between the smallest and largest of the parts' own values at the score."""
        score = np.asarray(score, dtype=float)
        ends = np.stack([part.from_score(np.clip(score, -_REACH, _REACH)) for part in self.parts])
        low, high = ends.min(axis=0), ends.max(axis=0)
        below, above = special.ndtr(score), special.ndtr(-score)
        for _ in range(64):
            middle = 0.5 * (low + high)
            short = np.where(score < 0, self.cdf(middle) < below, self._above(middle) > above)
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return 0.5 * (low + high)

    @cached_property
    def _grid(self) -> tuple[FloatArray, FloatArray]:
        """A fine grid of (score, value); steps and plateaus stay steps."""
        score = np.linspace(-_REACH, _REACH, 200_001)
        return score, self._exact(score)

    def from_score(self, score: FloatArray) -> FloatArray:
        return np.interp(score, *self._grid)

    def to_score(self, value: FloatArray) -> FloatArray:
        below, above = self.cdf(value), self._above(value)
        return np.where(below < above, special.ndtri(below), -special.ndtri(above))

    @property
    def mean(self) -> float:
        return float(np.dot([part.mean for part in self.parts], self.weights))

    @property
    def standard_deviation(self) -> float:
        second = [part.standard_deviation**2 + part.mean**2 for part in self.parts]
        return math.sqrt(float(np.dot(second, self.weights)) - self.mean**2)

    @property
    def support(self) -> tuple[float, float]:
        return min(p.support[0] for p in self.parts), max(p.support[1] for p in self.parts)


def truncated(
    distribution: Distribution, low: float = -math.inf, high: float = math.inf
) -> Distribution:
    """Return the distribution kept between low and high; raises when nothing would be left."""
    inner_low, inner_high = distribution.support
    if not low < high or high <= inner_low or low >= inner_high:
        raise DistributionError(f"truncated: nothing lies between {low} and {high}")
    if low <= inner_low and high >= inner_high:
        return distribution
    kept = distribution.cdf(np.array([low, high]))
    if kept[1] - kept[0] < 1e-6:
        raise DistributionError(f"truncated: almost nothing lies between {low} and {high}")
    return Truncated(distribution, float(low), float(high))


def discrete(values: Sequence[float], probabilities: Sequence[float]) -> Discrete:
    """Return a distribution over a few values; probabilities are positive and sum to 1."""
    if len(values) != len(probabilities) or not len(values):
        raise DistributionError("discrete: give one probability for each value")
    if min(probabilities) < 0 or abs(sum(probabilities) - 1) > 1e-9:
        raise DistributionError("discrete: probabilities must be positive and sum to 1")
    pairs = sorted(zip(map(float, values), map(float, probabilities), strict=True))
    kept = [pair for pair in pairs if pair[1] > 0]
    return Discrete(tuple(v for v, _ in kept), tuple(p for _, p in kept))


def bernoulli(probability: float) -> Distribution:
    """Return an event: 1 with the probability, else 0."""
    if not 0 <= probability <= 1:
        raise DistributionError(f"bernoulli: {probability} is not a probability")
    return discrete([0.0, 1.0], [1 - probability, probability])


def mixture(components: Sequence[Distribution], weights: Sequence[float]) -> Mixture:
    """Return one of several distributions by weight; weights are positive and sum to 1."""
    if len(components) != len(weights) or not components:
        raise DistributionError("mixture: give one weight for each component")
    if min(weights) <= 0 or abs(sum(weights) - 1) > 1e-9:
        raise DistributionError("mixture: weights must be above 0 and sum to 1")
    return Mixture(tuple(components), tuple(map(float, weights)))


def empirical(values: Sequence[float]) -> Empirical:
    """Return the distribution of measured values, two or more."""
    kept = sorted(float(v) for v in values)
    if len(kept) < 2 or not all(math.isfinite(v) for v in kept):
        raise DistributionError("empirical: give two or more finite values")
    return Empirical(tuple(kept))
