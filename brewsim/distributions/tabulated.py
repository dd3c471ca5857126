"""Families read from a table of their standard shape: beta, gamma, t, arcsine and others.

One table serves every location and scale of the same shape. Tables are made on first use and
kept; a distribution itself holds nothing but its parameters, so it travels between processes.
"""

import math
from abc import abstractmethod
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Family
from brewsim.distributions.score_table import ScoreTable

_KEPT = 256
_PHI_0 = 1 / math.sqrt(2 * math.pi)


@dataclass(frozen=True, repr=False)
class Tabulated(Family):
    """A standard shape, moved and scaled."""

    @abstractmethod
    def _table(self) -> ScoreTable:
        """Return the table of the standard shape."""

    @abstractmethod
    def _frame(self) -> tuple[float, float]:
        """Return the location and the scale."""

    def _map(self, score: FloatArray) -> FloatArray:
        location, scale = self._frame()
        value = self._table().read(score)
        value *= scale
        value += location
        return value

    def _standard(self, value: FloatArray) -> FloatArray:
        location, scale = self._frame()
        return (value - location) / scale


@lru_cache(maxsize=_KEPT)
def _beta_table(a: float, b: float) -> ScoreTable:
    def exact(score: FloatArray) -> FloatArray:
        tail, below = special.ndtr(-np.abs(score)), score < 0
        value = np.empty(score.shape)
        value[below] = special.betaincinv(a, b, tail[below])
        value[~below] = 1 - special.betaincinv(b, a, tail[~below])
        return value

    def slope(score: FloatArray, value: FloatArray) -> FloatArray:
        log_density = special.xlogy(a - 1, value) + special.xlog1py(b - 1, -value)
        log_density -= special.betaln(a, b)
        rise: FloatArray = _PHI_0 * np.exp(-0.5 * score * score - log_density)
        return rise

    unit = math.sqrt(a * b / (a + b + 1)) / (a + b)
    return ScoreTable(exact, unit, (0.0, 1.0), slope, cells=1024)


@dataclass(frozen=True, repr=False)
class Beta(Tabulated):
    """Beta with shapes a and b, stretched from low to high."""

    family = "beta"
    a: float
    b: float
    low: float = 0.0
    high: float = 1.0

    def _table(self) -> ScoreTable:
        return _beta_table(self.a, self.b)

    def _frame(self) -> tuple[float, float]:
        return self.low, self.high - self.low

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        width = self.high - self.low
        x = np.clip((value - self.low) / width, 0.0, 1.0)
        y = np.clip((self.high - value) / width, 0.0, 1.0)
        a, b, lower = self.a, self.b, x < y
        below = np.where(lower, special.betainc(a, b, x), special.betaincc(b, a, y))
        return below, np.where(lower, special.betaincc(a, b, x), special.betainc(b, a, y))

    def _moments(self) -> tuple[float, float]:
        a, b, width = self.a, self.b, self.high - self.low
        sd = math.sqrt(a * b / (a + b + 1)) / (a + b)
        return self.low + width * a / (a + b), width * sd

    def _limits(self) -> tuple[float, float]:
        return self.low, self.high


@lru_cache(maxsize=_KEPT)
def _gamma_table(shape: float) -> ScoreTable:
    def exact(score: FloatArray) -> FloatArray:
        tail, below = special.ndtr(-np.abs(score)), score < 0
        value = np.empty(score.shape)
        value[below] = special.gammaincinv(shape, tail[below])
        value[~below] = special.gammainccinv(shape, tail[~below])
        return value

    return ScoreTable(exact, math.sqrt(shape), (0.0, math.inf))


@dataclass(frozen=True, repr=False)
class Gamma(Tabulated):
    """Gamma by shape and scale."""

    family = "gamma"
    shape: float
    scale: float

    def _table(self) -> ScoreTable:
        return _gamma_table(self.shape)

    def _frame(self) -> tuple[float, float]:
        return 0.0, self.scale

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        x = np.maximum(self._standard(value), 0.0)
        return special.gammainc(self.shape, x), special.gammaincc(self.shape, x)

    def _moments(self) -> tuple[float, float]:
        return self.shape * self.scale, math.sqrt(self.shape) * self.scale

    def _limits(self) -> tuple[float, float]:
        return 0.0, math.inf


_FAR_TAIL, _FEW_DEGREES = 1e-200, 30.0
"""Beyond it the library's quantile of few degrees is infinite or off by factors."""


def _t_tail(degrees: float, chance: FloatArray) -> FloatArray:
    """Return the quantile of a far upper tail: where P(T > t) = (c / degrees) t^-degrees."""
    gammas = special.gammaln((degrees + 1) / 2) - special.gammaln(degrees / 2)
    power = (degrees + 1) / 2 * math.log(degrees) - math.log(degrees * math.pi) / 2
    least = np.log(np.maximum(chance, np.finfo(float).tiny))
    with np.errstate(over="ignore"):
        return np.exp((gammas + power - math.log(degrees) - least) / degrees)


@lru_cache(maxsize=_KEPT)
def _t_table(degrees: float) -> ScoreTable:
    def exact(score: FloatArray) -> FloatArray:
        chance = special.ndtr(-np.abs(score))
        far = (chance < _FAR_TAIL) & (degrees <= _FEW_DEGREES)
        value = special.stdtrit(degrees, np.where(far, 0.5, chance))
        return np.copysign(np.where(far, _t_tail(degrees, chance), value), score)

    return ScoreTable(exact, math.sqrt(degrees / (degrees - 2)) if degrees > 3 else 1.0)


@dataclass(frozen=True, repr=False)
class StudentT(Tabulated):
    """Student's t, moved and scaled."""

    family = "student_t"
    location: float
    scale: float
    degrees: float

    def _table(self) -> ScoreTable:
        return _t_table(self.degrees)

    def _frame(self) -> tuple[float, float]:
        return self.location, self.scale

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        x = self._standard(value)
        return special.stdtr(self.degrees, x), special.stdtr(self.degrees, -x)

    def _moments(self) -> tuple[float, float]:
        if self.degrees <= 1:
            return math.nan, math.nan
        spread = self.degrees / (self.degrees - 2) if self.degrees > 2 else math.inf
        return self.location, self.scale * math.sqrt(spread)

    def _limits(self) -> tuple[float, float]:
        return -math.inf, math.inf


@lru_cache(maxsize=1)
def _arcsine_table() -> ScoreTable:
    def exact(score: FloatArray) -> FloatArray:
        return np.copysign(np.cos(math.pi * special.ndtr(-np.abs(score))), score)

    return ScoreTable(exact, math.sqrt(0.5), (-1.0, 1.0))


@dataclass(frozen=True, repr=False)
class Arcsine(Tabulated):
    """Arcsine (U-shaped) between low and high: a value that swings like a sine."""

    family = "arcsine"
    low: float
    high: float

    def _table(self) -> ScoreTable:
        return _arcsine_table()

    def _frame(self) -> tuple[float, float]:
        return (self.low + self.high) / 2, (self.high - self.low) / 2

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        width = self.high - self.low
        below = np.clip((value - self.low) / width, 0.0, 1.0)
        above = np.clip((self.high - value) / width, 0.0, 1.0)
        return 2 / math.pi * np.arcsin(np.sqrt(below)), 2 / math.pi * np.arcsin(np.sqrt(above))

    def _moments(self) -> tuple[float, float]:
        return (self.low + self.high) / 2, (self.high - self.low) / math.sqrt(8)

    def _limits(self) -> tuple[float, float]:
        return self.low, self.high


@lru_cache(maxsize=1)
def _half_normal_table() -> ScoreTable:
    def exact(score: FloatArray) -> FloatArray:
        upper = -special.ndtri(0.5 * special.ndtr(-score))
        lower = special.ndtri(0.5 + 0.5 * special.ndtr(score))
        return np.where(score < 0, lower, upper)

    return ScoreTable(exact, math.sqrt(1 - 2 / math.pi), (0.0, math.inf))


@dataclass(frozen=True, repr=False)
class HalfNormal(Tabulated):
    """The size of a normal around 0."""

    family = "half_normal"
    scale: float

    def _table(self) -> ScoreTable:
        return _half_normal_table()

    def _frame(self) -> tuple[float, float]:
        return 0.0, self.scale

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        x = np.maximum(self._standard(value), 0.0) / math.sqrt(2)
        return special.erf(x), special.erfc(x)

    def _moments(self) -> tuple[float, float]:
        return self.scale * math.sqrt(2 / math.pi), self.scale * math.sqrt(1 - 2 / math.pi)

    def _limits(self) -> tuple[float, float]:
        return 0.0, math.inf
