"""Distributions made of values or of other distributions: discrete, empirical, mixture."""

import math
from collections import Counter
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution, Family, score_between
from brewsim.distributions.score_table import ScoreTable, close_in

_FARTHEST = 37.0


@dataclass(frozen=True, repr=False)
class Discrete(Family):
    """A few values with their probabilities, in increasing order of value."""

    family = "discrete"
    values: tuple[float, ...]
    probabilities: tuple[float, ...]

    def _map(self, score: FloatArray) -> FloatArray:
        values, edges = np.array(self.values), _edges(self.probabilities)
        if not len(edges):
            return np.full(score.shape, values[0])
        if len(edges) == 1:
            return np.where(score > edges[0], values[1], values[0])
        return values[np.searchsorted(edges, score, side="left")]

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        reached = np.searchsorted(self.values, value, side="right")
        below = np.concatenate([[0.0], np.cumsum(self.probabilities)])
        above = np.concatenate([np.cumsum(self.probabilities[::-1])[::-1], [0.0]])
        return np.minimum(below[reached], 1.0), np.minimum(above[reached], 1.0)

    def _moments(self) -> tuple[float, float]:
        mean = float(np.dot(self.values, self.probabilities))
        away = np.array(self.values) - mean
        return mean, math.sqrt(float(np.dot(away * away, self.probabilities)))

    def _limits(self) -> tuple[float, float]:
        return self.values[0], self.values[-1]

    @property
    def atoms(self) -> tuple[tuple[float, float], ...]:
        """Every value with its probability."""
        return tuple(zip(self.values, self.probabilities, strict=True))


@lru_cache(maxsize=256)
def _edges(probabilities: tuple[float, ...]) -> FloatArray:
    """Return the scores at which one value gives way to the next."""
    below = np.cumsum(probabilities)[:-1]
    above = np.cumsum(probabilities[::-1])[::-1][1:]
    return np.maximum.accumulate(score_between(below, above))


@dataclass(frozen=True, repr=False)
class Empirical(Family):
    """Measured values joined by straight lines between mid-ranks (JCGM 101:2008, annex D)."""

    family = "empirical"
    values: tuple[float, ...]

    @cached_property
    def _lines(self) -> tuple[FloatArray, FloatArray]:
        """Return the values and the rise from each to the next."""
        x = np.array(self.values)
        return x, np.append(np.diff(x), 0.0)

    def _ranks(self) -> FloatArray:
        return (np.arange(len(self.values)) + 0.5) / len(self.values)

    def _map(self, score: FloatArray) -> FloatArray:
        x, rise = self._lines
        place = np.asarray(special.ndtr(score))
        place *= len(x)
        place -= 0.5
        np.clip(place, 0.0, len(x) - 1.0, out=place)
        with np.errstate(invalid="ignore"):
            line = place.astype(np.intp)
        place -= line
        place *= rise.take(line, mode="clip")
        place += x.take(line, mode="clip")
        return place

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        x, ranks = np.array(self.values), self._ranks()
        left = np.searchsorted(x, value, side="right") - 1
        j = np.clip(left, 0, len(x) - 2)
        width = np.where(x[j + 1] > x[j], x[j + 1] - x[j], 1.0)
        inside = ranks[j] + (value - x[j]) / (width * len(x))
        below = np.where(value < x[0], 0.0, np.where(value >= x[-1], 1.0, inside))
        return below, 1 - below

    def _moments(self) -> tuple[float, float]:
        x, share = np.array(self.values), 1 / len(self.values)
        mean = share * float(((x[:-1] + x[1:]) / 2).sum() + (x[0] + x[-1]) / 2)
        a, b = x[:-1] - mean, x[1:] - mean
        square = ((a * a + a * b + b * b) / 3).sum() + (a[0] ** 2 + b[-1] ** 2) / 2
        return mean, math.sqrt(share * float(square))

    def _limits(self) -> tuple[float, float]:
        return self.values[0], self.values[-1]

    @property
    def atoms(self) -> tuple[tuple[float, float], ...]:
        """The two ends, half a rank each, and values measured more than once."""
        ranks = Counter(self.values)
        mass = {value: float(count - 1) for value, count in ranks.items()}
        for end in self._limits():
            mass[end] += 0.5
        return tuple((v, m / len(self.values)) for v, m in sorted(mass.items()) if m > 0)

    @property
    def bends(self) -> tuple[float, ...]:
        """The score of every rank."""
        return tuple(map(float, special.ndtri(self._ranks())))


@dataclass(frozen=True, repr=False)
class Mixture(Family):
    """One of several distributions, each with its weight."""

    family = "mixture"
    components: tuple[Distribution, ...]
    weights: tuple[float, ...]

    def _map(self, score: FloatArray) -> FloatArray:
        return _mixture_table(self).read(score)

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        below, above = np.zeros(value.shape), np.zeros(value.shape)
        for component, weight in zip(self.components, self.weights, strict=True):
            under, over = component.chances(value)
            below, above = below + weight * under, above + weight * over
        return below, above

    def bracket(self, score: FloatArray) -> FloatArray:
        """Return the values at (n,) scores, found between the components' own values there."""
        z = np.clip(score, -_FARTHEST, _FARTHEST)
        ends = np.stack([component.from_score(z) for component in self.components])
        low, high = ends.min(axis=0), ends.max(axis=0)
        for atom, chance in self.atoms:
            at_most, more = (float(side) for side in self._chances(np.array(atom)))
            first = score_between(max(at_most - chance, 0.0), more + chance)
            here = (z > first) & (z <= score_between(at_most, more))
            low, high = np.where(here, atom, low), np.where(here, atom, high)
        return close_in(self.to_score, z, low, high)

    def _moments(self) -> tuple[float, float]:
        means = np.array([component.mean for component in self.components])
        spreads = np.array([component.standard_deviation for component in self.components])
        mean = float(np.dot(means, self.weights))
        return mean, math.sqrt(float(np.dot(spreads**2 + (means - mean) ** 2, self.weights)))

    def _limits(self) -> tuple[float, float]:
        ends = [component.support for component in self.components]
        return min(low for low, _ in ends), max(high for _, high in ends)

    @property
    def atoms(self) -> tuple[tuple[float, float], ...]:
        """The components' atoms, weighted, those at one value added up."""
        mass: dict[float, float] = {}
        for component, weight in zip(self.components, self.weights, strict=True):
            for atom, chance in component.atoms:
                mass[atom] = mass.get(atom, 0.0) + weight * chance
        return tuple(sorted(mass.items()))


@lru_cache(maxsize=64)
def _mixture_table(mixture: Mixture) -> ScoreTable:
    spread = mixture.standard_deviation
    if not math.isfinite(spread):
        ends = mixture.bracket(np.array([-1.0, 1.0]))
        spread = float(ends[1] - ends[0]) / 2
    return ScoreTable(mixture.bracket, spread, mixture.support)
