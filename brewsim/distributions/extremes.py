"""Families of lifetimes, extremes and counts: exponential, Weibull, Gumbel, Poisson."""

import math
from dataclasses import dataclass

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution, Family
from brewsim.distributions.composed import Discrete
from brewsim.distributions.parameters import above_zero, finite
from brewsim.errors import DistributionError

_MOST_MEAN = 1e5
_LEFT_OUT = 1e-15
_EULER = 0.5772156649015329


@dataclass(frozen=True, repr=False)
class Weibull(Family):
    """Weibull: F(x) = 1 - exp(-(x / scale)^shape)."""

    family = "weibull"
    shape: float
    scale: float

    def _map(self, score: FloatArray) -> FloatArray:
        return np.asarray(self.scale * (-special.log_ndtr(-score)) ** (1 / self.shape))

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        power = (np.maximum(value, 0.0) / self.scale) ** self.shape
        return -np.expm1(-power), np.exp(-power)

    def _moments(self) -> tuple[float, float]:
        first, second = (math.lgamma(1 + k / self.shape) for k in (1, 2))
        spread = math.exp(first) * math.sqrt(max(math.expm1(second - 2 * first), 0.0))
        return self.scale * math.exp(first), self.scale * spread

    def _limits(self) -> tuple[float, float]:
        return 0.0, math.inf


@dataclass(frozen=True, repr=False)
class Gumbel(Family):
    """Gumbel, of the largest of many: F(x) = exp(-exp(-(x - location) / scale))."""

    family = "gumbel"
    location: float
    scale: float

    def _map(self, score: FloatArray) -> FloatArray:
        return np.asarray(self.location - self.scale * np.log(-special.log_ndtr(score)))

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        with np.errstate(over="ignore"):
            power = np.exp(-(value - self.location) / self.scale)
        return np.exp(-power), -np.expm1(-power)

    def _moments(self) -> tuple[float, float]:
        return self.location + _EULER * self.scale, math.pi / math.sqrt(6) * self.scale

    def _limits(self) -> tuple[float, float]:
        return -math.inf, math.inf


@dataclass(frozen=True, repr=False)
class Poisson(Discrete):
    """Poisson counts, those with chances below 1e-15 in a tail left out."""

    family = "poisson"

    @property
    def fingerprint(self) -> str:
        """Family and mean, as its constructor takes it."""
        return f"poisson({self.mean!r})"


def weibull(shape: float, scale: float) -> Distribution:
    """Return a Weibull distribution, F(x) = 1 - exp(-(x / scale)^shape).

    >>> round(weibull(2.0, 1.0).mean, 4)
    0.8862
    """
    above_zero("weibull", shape=shape, scale=scale)
    return Weibull(float(shape), float(scale))


def exponential(mean: float) -> Distribution:
    """Return an exponential distribution: a Weibull of shape 1.

    >>> round(exponential(2.0).standard_deviation, 6)
    2.0
    """
    above_zero("exponential", mean=mean)
    return Weibull(1.0, float(mean))


def gumbel(location: float, scale: float) -> Distribution:
    """Return a Gumbel distribution of the largest value, by its mode and scale.

    >>> round(gumbel(1013.0, 558.0).mean, 1)
    1335.1
    """
    finite("gumbel", location=location)
    above_zero("gumbel", scale=scale)
    return Gumbel(float(location), float(scale))


def poisson(mean: float) -> Distribution:
    """Return a Poisson distribution of counts, up to a mean of 100,000.

    >>> round(poisson(3.0).standard_deviation, 6)
    1.732051
    """
    above_zero("poisson", mean=mean)
    if mean > _MOST_MEAN:
        raise DistributionError(f"poisson: above a mean of {_MOST_MEAN:.0f} write a normal")
    most = int(mean + 12 * math.sqrt(mean) + 40)
    counts = np.arange(most + 1, dtype=float)
    chance = np.exp(special.xlogy(counts, mean) - mean - special.gammaln(counts + 1))
    kept = chance > _LEFT_OUT
    chance = chance[kept] / chance[kept].sum()
    return Poisson(tuple(counts[kept].tolist()), tuple(chance.tolist()))
