"""Families whose score map is written down: normal, lognormal, uniform, triangular, constant."""

import math
from dataclasses import dataclass

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Family, score_between


@dataclass(frozen=True, repr=False)
class Normal(Family):
    """Normal: x = mean + sd z."""

    family = "normal"
    location: float
    scale: float

    def _map(self, score: FloatArray) -> FloatArray:
        value = self.scale * score
        value += self.location
        return value

    def _score(self, value: FloatArray) -> FloatArray:
        return (value - self.location) / self.scale

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        score = self._score(value)
        return special.ndtr(score), special.ndtr(-score)

    def _moments(self) -> tuple[float, float]:
        return self.location, self.scale

    def _limits(self) -> tuple[float, float]:
        return -math.inf, math.inf


@dataclass(frozen=True, repr=False)
class LogNormal(Family):
    """Lognormal: x = median exp(log_sd z)."""

    family = "lognormal"
    middle: float
    log_sd: float

    def _map(self, score: FloatArray) -> FloatArray:
        value = np.asarray(self.log_sd * score)
        np.exp(value, out=value)
        value *= self.middle
        return value

    def _score(self, value: FloatArray) -> FloatArray:
        with np.errstate(divide="ignore"):
            return np.log(np.maximum(value, 0.0) / self.middle) / self.log_sd

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        score = self._score(value)
        return special.ndtr(score), special.ndtr(-score)

    def _moments(self) -> tuple[float, float]:
        mean = self.middle * math.exp(self.log_sd**2 / 2)
        return mean, mean * math.sqrt(math.expm1(self.log_sd**2))

    def _limits(self) -> tuple[float, float]:
        return 0.0, math.inf


@dataclass(frozen=True, repr=False)
class Uniform(Family):
    """Uniform (rectangular) between low and high."""

    family = "uniform"
    low: float
    high: float

    def _map(self, score: FloatArray) -> FloatArray:
        value = np.asarray(special.ndtr(score))
        value *= self.high - self.low
        value += self.low
        return value

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        width = self.high - self.low
        below, above = (value - self.low) / width, (self.high - value) / width
        return np.clip(below, 0.0, 1.0), np.clip(above, 0.0, 1.0)

    def _moments(self) -> tuple[float, float]:
        return (self.low + self.high) / 2, (self.high - self.low) / math.sqrt(12)

    def _limits(self) -> tuple[float, float]:
        return self.low, self.high


@dataclass(frozen=True, repr=False)
class Triangular(Family):
    """Triangular: density rises from low to the mode and falls to high."""

    family = "triangular"
    low: float
    mode: float
    high: float

    def _map(self, score: FloatArray) -> FloatArray:
        width, left, right = self.high - self.low, self.mode - self.low, self.high - self.mode
        rising = score < self.bends[0]
        share = np.asarray(special.ndtr(np.where(rising, score, -score)))
        share *= np.where(rising, width * left, width * right)
        np.sqrt(share, out=share)
        return np.where(rising, self.low + share, self.high - share)

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        width, left, right = self.high - self.low, self.mode - self.low, self.high - self.mode
        from_low = np.clip(value - self.low, 0.0, left)
        from_high = np.clip(self.high - value, 0.0, right)
        rising = from_low * from_low / (width * left) if left else np.zeros_like(value)
        falling = from_high * from_high / (width * right) if right else np.zeros_like(value)
        before = value < self.mode
        return np.where(before, rising, 1 - falling), np.where(before, 1 - rising, falling)

    def _moments(self) -> tuple[float, float]:
        left, right = self.mode - self.low, self.high - self.mode
        mean = (self.low + self.mode + self.high) / 3
        return mean, math.sqrt((left * left + left * right + right * right) / 18)

    def _limits(self) -> tuple[float, float]:
        return self.low, self.high

    @property
    def bends(self) -> tuple[float, ...]:
        """Score of the mode, where the density has its corner."""
        width, left, right = self.high - self.low, self.mode - self.low, self.high - self.mode
        return (float(score_between(left / width, right / width)),)


@dataclass(frozen=True, repr=False)
class Constant(Family):
    """No spread at all."""

    family = "constant"
    value: float

    def _map(self, score: FloatArray) -> FloatArray:
        return np.full(score.shape, self.value)

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        reached = value >= self.value
        return np.where(reached, 1.0, 0.0), np.where(reached, 0.0, 1.0)

    def _moments(self) -> tuple[float, float]:
        return self.value, 0.0

    def _limits(self) -> tuple[float, float]:
        return self.value, self.value

    @property
    def atoms(self) -> tuple[tuple[float, float], ...]:
        """The value, with certainty."""
        return ((self.value, 1.0),)
