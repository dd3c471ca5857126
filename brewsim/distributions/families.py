"""Families of distributions: one constructor each, checked parameters, fast score maps.

Closed forms where there is one; every other continuous family is tabulated once from SciPy.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import special, stats

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.composed import (
    bernoulli,
    discrete,
    empirical,
    mixture,
    truncated,
)
from brewsim.distributions.tables import ScoreTable, score_table
from brewsim.errors import DistributionError

__all__ = [
    "arcsine",
    "bernoulli",
    "beta",
    "beta_from_moments",
    "constant",
    "curvilinear_trapezoid",
    "discrete",
    "empirical",
    "gamma",
    "half_normal",
    "lognormal",
    "mixture",
    "normal",
    "student_t",
    "triangular",
    "truncated",
    "uniform",
]


def _finite(name: str, **numbers: float) -> None:
    for key, number in numbers.items():
        if not math.isfinite(number):
            raise DistributionError(f"{name}: {key} must be a finite number, not {number}")


def _above_zero(name: str, **numbers: float) -> None:
    _finite(name, **numbers)
    for key, number in numbers.items():
        if number <= 0:
            raise DistributionError(f"{name}: {key} must be above 0, not {number}")


def _in_order(name: str, low: float, high: float) -> None:
    _finite(name, low=low, high=high)
    if not low < high:
        raise DistributionError(f"{name}: low must lie below high, not {low} and {high}")


class _Closed(Distribution):
    """What families with a closed score map share."""

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


@dataclass(frozen=True)
class Normal(_Closed):
    """Normal: location and standard deviation."""

    location: float
    scale: float

    def from_score(self, score: FloatArray) -> FloatArray:
        return self.location + self.scale * score

    def to_score(self, value: FloatArray) -> FloatArray:
        return (value - self.location) / self.scale

    @property
    def mean(self) -> float:
        return self.location

    @property
    def standard_deviation(self) -> float:
        return self.scale

    @property
    def support(self) -> tuple[float, float]:
        return -math.inf, math.inf


@dataclass(frozen=True)
class LogNormal(_Closed):
    """Lognormal: median and standard deviation of the natural logarithm."""

    middle: float
    log_sd: float

    def from_score(self, score: FloatArray) -> FloatArray:
        return self.middle * np.exp(self.log_sd * score)

    def to_score(self, value: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            return np.log(value / self.middle) / self.log_sd

    @property
    def mean(self) -> float:
        return self.middle * math.exp(self.log_sd**2 / 2)

    @property
    def standard_deviation(self) -> float:
        return self.mean * math.sqrt(math.expm1(self.log_sd**2))

    @property
    def support(self) -> tuple[float, float]:
        return 0.0, math.inf


@dataclass(frozen=True)
class Uniform(_Closed):
    """Uniform between low and high."""

    low: float
    high: float

    def from_score(self, score: FloatArray) -> FloatArray:
        return self.low + (self.high - self.low) * special.ndtr(score)

    def to_score(self, value: FloatArray) -> FloatArray:
        lower = (value - self.low) / (self.high - self.low)
        upper = (self.high - value) / (self.high - self.low)
        return _score_of(np.clip(lower, 0, 1), np.clip(upper, 0, 1))

    @property
    def mean(self) -> float:
        return (self.low + self.high) / 2

    @property
    def standard_deviation(self) -> float:
        return (self.high - self.low) / math.sqrt(12)

    @property
    def support(self) -> tuple[float, float]:
        return self.low, self.high


def _score_of(below: FloatArray, above: FloatArray) -> FloatArray:
    """Return the score from the chances below and above, whichever is smaller."""
    return np.where(below < above, special.ndtri(below), -special.ndtri(above))


@dataclass(frozen=True)
class Triangular(_Closed):
    """Triangular: low, mode, high."""

    low: float
    mode: float
    high: float

    def from_score(self, score: FloatArray) -> FloatArray:
        width, left, right = self.high - self.low, self.mode - self.low, self.high - self.mode
        below = special.ndtr(score)
        rising = self.low + np.sqrt(below * (width * left))
        falling = self.high - np.sqrt(special.ndtr(-score) * (width * right))
        return np.where(below * width < left, rising, falling)

    def to_score(self, value: FloatArray) -> FloatArray:
        width = self.high - self.low
        x = np.clip(value, self.low, self.high)
        with np.errstate(all="ignore"):
            below = np.where(
                x <= self.mode, (x - self.low) ** 2 / (width * (self.mode - self.low)), 1.0
            )
            above = np.where(
                x >= self.mode, (self.high - x) ** 2 / (width * (self.high - self.mode)), 1.0
            )
        below = np.where(x <= self.mode, np.nan_to_num(below), 1 - np.nan_to_num(above))
        above = np.where(x >= self.mode, np.nan_to_num(above), 1 - below)
        return _score_of(below, above)

    @property
    def mean(self) -> float:
        return (self.low + self.mode + self.high) / 3

    @property
    def standard_deviation(self) -> float:
        a, c, b = self.low, self.mode, self.high
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18)

    @property
    def support(self) -> tuple[float, float]:
        return self.low, self.high


@dataclass(frozen=True)
class Arcsine(_Closed):
    """Arcsine (U-shaped) between low and high: a value that swings like a sine."""

    low: float
    high: float

    def from_score(self, score: FloatArray) -> FloatArray:
        below = np.minimum(special.ndtr(-np.abs(score)), 0.5)
        share = np.sin(0.5 * np.pi * below) ** 2
        width = self.high - self.low
        return np.where(score < 0, self.low + width * share, self.high - width * share)

    def to_score(self, value: FloatArray) -> FloatArray:
        width = self.high - self.low
        below = np.clip((value - self.low) / width, 0, 1)
        above = np.clip((self.high - value) / width, 0, 1)
        angle = 2 / np.pi
        return _score_of(angle * np.arcsin(np.sqrt(below)), angle * np.arcsin(np.sqrt(above)))

    @property
    def mean(self) -> float:
        return (self.low + self.high) / 2

    @property
    def standard_deviation(self) -> float:
        return (self.high - self.low) / math.sqrt(8)

    @property
    def support(self) -> tuple[float, float]:
        return self.low, self.high


@dataclass(frozen=True)
class HalfNormal(_Closed):
    """The size of a normal around 0: never below 0; `scale` is that normal's sd."""

    scale: float

    def from_score(self, score: FloatArray) -> FloatArray:
        return -self.scale * special.ndtri(0.5 * special.ndtr(-score))

    def to_score(self, value: FloatArray) -> FloatArray:
        return -special.ndtri(2 * special.ndtr(-np.maximum(value, 0) / self.scale))

    @property
    def mean(self) -> float:
        return self.scale * math.sqrt(2 / math.pi)

    @property
    def standard_deviation(self) -> float:
        return self.scale * math.sqrt(1 - 2 / math.pi)

    @property
    def support(self) -> tuple[float, float]:
        return 0.0, math.inf


@dataclass(frozen=True)
class Constant(_Closed):
    """No spread at all."""

    value: float

    def from_score(self, score: FloatArray) -> FloatArray:
        return np.full(np.shape(score), self.value)

    def to_score(self, value: FloatArray) -> FloatArray:
        return np.zeros(np.shape(value))

    def cdf(self, value: FloatArray) -> FloatArray:
        return np.where(value >= self.value, 1.0, 0.0)

    @property
    def mean(self) -> float:
        return self.value

    @property
    def standard_deviation(self) -> float:
        return 0.0

    @property
    def support(self) -> tuple[float, float]:
        return self.value, self.value


class _Tabled(_Closed):
    """A continuous family whose score map is read from a table, exact outside it."""

    def _law(self) -> object:
        """Return the frozen SciPy distribution."""
        raise NotImplementedError

    @cached_property
    def _table(self) -> ScoreTable:
        return score_table(self.fingerprint, self._exact)

    def _exact(self, score: FloatArray) -> FloatArray:
        law = self._law()
        below, above = special.ndtr(score), special.ndtr(-score)
        low, high = law.ppf(below), law.isf(above)  # type: ignore[attr-defined]
        return np.where(score < 0, low, high)

    def from_score(self, score: FloatArray) -> FloatArray:
        return self._table.read(np.asarray(score, dtype=float))

    def to_score(self, value: FloatArray) -> FloatArray:
        law = self._law()
        return _score_of(law.cdf(value), law.sf(value))  # type: ignore[attr-defined]

    def quantile(self, probability: FloatArray) -> FloatArray:
        return np.asarray(self._law().ppf(probability))  # type: ignore[attr-defined]

    def cdf(self, value: FloatArray) -> FloatArray:
        return np.asarray(self._law().cdf(value))  # type: ignore[attr-defined]

    @property
    def mean(self) -> float:
        return float(self._law().mean())  # type: ignore[attr-defined]

    @property
    def standard_deviation(self) -> float:
        return float(self._law().std())  # type: ignore[attr-defined]

    @property
    def support(self) -> tuple[float, float]:
        low, high = self._law().support()  # type: ignore[attr-defined]
        return float(low), float(high)

    def __getstate__(self) -> dict[str, object]:
        return {key: value for key, value in self.__dict__.items() if not key.startswith("_")}


@dataclass(frozen=True)
class Beta(_Tabled):
    """Beta with shapes a and b, stretched from low to high."""

    a: float
    b: float
    low: float = 0.0
    high: float = 1.0

    def _law(self) -> object:
        return stats.beta(self.a, self.b, loc=self.low, scale=self.high - self.low)


@dataclass(frozen=True)
class Gamma(_Tabled):
    """Gamma: shape and scale."""

    shape: float
    scale: float

    def _law(self) -> object:
        return stats.gamma(self.shape, scale=self.scale)


@dataclass(frozen=True)
class StudentT(_Tabled):
    """Student's t, shifted and scaled."""

    location: float
    scale: float
    degrees: float

    def _law(self) -> object:
        return stats.t(self.degrees, loc=self.location, scale=self.scale)


@dataclass(frozen=True)
class CurvilinearTrapezoid(_Tabled):
    """A uniform whose ends are themselves uniform within +-slack (JCGM 101 6.4.3)."""

    low: float
    high: float
    slack: float

    def _cdf(self, value: FloatArray) -> FloatArray:
        a, b, d = self.low, self.high, self.slack
        middle, width = (a + b) / 2, (b - a) / 2
        x = np.abs(np.asarray(value, dtype=float) - middle)
        inner, outer = width - d, width + d
        flat = math.log(outer / inner) / (4 * d)
        tail = np.clip(x, inner, outer)
        rest = (tail * (np.log(outer / tail) + 1) - inner * (math.log(outer / inner) + 1)) / (4 * d)
        half = flat * np.minimum(x, inner) + np.where(x > inner, rest, 0.0)
        half = np.where(x >= outer, 0.5, half)
        return np.where(np.asarray(value) < middle, 0.5 - half, 0.5 + half)

    def _exact(self, score: FloatArray) -> FloatArray:
        target = special.ndtr(-np.abs(score))
        low = np.full(np.shape(score), self.low - self.slack)
        high = np.full(np.shape(score), (self.low + self.high) / 2)
        for _ in range(60):
            middle = 0.5 * (low + high)
            short = self._cdf(middle) < target
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        left = 0.5 * (low + high)
        return np.where(np.asarray(score) < 0, left, self.low + self.high - left)

    def to_score(self, value: FloatArray) -> FloatArray:
        return _score_of(self._cdf(value), self._cdf(self.low + self.high - np.asarray(value)))

    def quantile(self, probability: FloatArray) -> FloatArray:
        return self._exact(np.asarray(special.ndtri(probability)))

    def cdf(self, value: FloatArray) -> FloatArray:
        return self._cdf(value)

    @property
    def mean(self) -> float:
        return (self.low + self.high) / 2

    @property
    def standard_deviation(self) -> float:
        return math.sqrt((self.high - self.low) ** 2 / 12 + self.slack**2 / 9)

    @property
    def support(self) -> tuple[float, float]:
        return self.low - self.slack, self.high + self.slack


def curvilinear_trapezoid(low: float, high: float, slack: float) -> CurvilinearTrapezoid:
    """Return a uniform with inexact ends (JCGM 101 6.4.3); slack below half the width."""
    _in_order("curvilinear_trapezoid", low, high)
    _above_zero("curvilinear_trapezoid", slack=slack)
    if slack >= (high - low) / 2:
        raise DistributionError("curvilinear_trapezoid: slack must be below half the width")
    return CurvilinearTrapezoid(float(low), float(high), float(slack))


def normal(mean: float, sd: float) -> Normal:
    """Return a normal distribution; raises DistributionError unless sd is above 0."""
    _finite("normal", mean=mean)
    _above_zero("normal", sd=sd)
    return Normal(float(mean), float(sd))


def lognormal(median: float, log_sd: float) -> LogNormal:
    """Return a lognormal distribution by its median and the sd of its natural logarithm."""
    _above_zero("lognormal", median=median, log_sd=log_sd)
    return LogNormal(float(median), float(log_sd))


def uniform(low: float, high: float) -> Uniform:
    """Return a uniform distribution; raises DistributionError unless low is below high."""
    _in_order("uniform", low, high)
    return Uniform(float(low), float(high))


def triangular(low: float, mode: float, high: float) -> Triangular:
    """Return a triangular distribution; the mode lies between low and high."""
    _in_order("triangular", low, high)
    if not low <= mode <= high:
        raise DistributionError(f"triangular: {mode} must lie between {low} and {high}")
    return Triangular(float(low), float(mode), float(high))


def arcsine(low: float, high: float) -> Arcsine:
    """Return an arcsine distribution (JCGM 101 6.4.6)."""
    _in_order("arcsine", low, high)
    return Arcsine(float(low), float(high))


def half_normal(sd: float) -> HalfNormal:
    """Return the size of a normal around 0."""
    _above_zero("half_normal", sd=sd)
    return HalfNormal(float(sd))


def constant(value: float) -> Constant:
    """Return a distribution without spread."""
    _finite("constant", value=value)
    return Constant(float(value))


def beta(a: float, b: float, low: float = 0.0, high: float = 1.0) -> Beta:
    """Return a beta distribution by its shapes, on low to high."""
    _above_zero("beta", a=a, b=b)
    _in_order("beta", low, high)
    return Beta(float(a), float(b), float(low), float(high))


def beta_from_moments(mean: float, sd: float) -> Beta:
    """Return the beta on 0 to 1 with that mean and standard deviation."""
    _above_zero("beta", sd=sd)
    if not 0 < mean < 1 or sd * sd >= mean * (1 - mean):
        raise DistributionError(f"beta: no beta has mean {mean} and sd {sd}")
    size = mean * (1 - mean) / sd**2 - 1
    return beta(mean * size, (1 - mean) * size)


def gamma(shape: float, scale: float) -> Gamma:
    """Return a gamma distribution by shape and scale."""
    _above_zero("gamma", shape=shape, scale=scale)
    return Gamma(float(shape), float(scale))


def student_t(location: float, scale: float, degrees: float) -> StudentT:
    """Return a shifted and scaled t (JCGM 101 6.4.9); without variance at 2 degrees or fewer."""
    _finite("student_t", location=location)
    _above_zero("student_t", scale=scale, degrees=degrees)
    return StudentT(float(location), float(scale), float(degrees))
