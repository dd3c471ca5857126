"""Distributions: what every family answers, and what all families share."""

from abc import ABC, abstractmethod
from dataclasses import dataclass, fields
from typing import ClassVar

import numpy as np
from scipy import special

from brewsim.dims import FloatArray


class Distribution(ABC):
    """One uncertain quantity's distribution.

    All methods take and return float64 arrays of any shape. `from_score` maps a standard normal
    score z to x = quantile(Phi(z)); it is what sampling, conditioning and tightening use.
    """

    @abstractmethod
    def from_score(self, score: FloatArray) -> FloatArray:
        """Return x = F^-1(Phi(z)), increasing in z."""

    @abstractmethod
    def to_score(self, value: FloatArray) -> FloatArray:
        """Return the normal score z at which `from_score` gives the value (inverse of it).

        A value with a probability of its own has many scores: the middle one is returned.
        """

    @abstractmethod
    def quantile(self, probability: FloatArray) -> FloatArray:
        """Return x with F(x) = probability."""

    @abstractmethod
    def cdf(self, value: FloatArray) -> FloatArray:
        """Return F(x)."""

    def chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return F(x) and 1 - F(x), each without loss of digits where it is small."""
        score = self.to_score(value)
        return np.asarray(special.ndtr(score)), np.asarray(special.ndtr(-score))

    @property
    @abstractmethod
    def mean(self) -> float:
        """Expected value; nan where it does not exist."""

    @property
    @abstractmethod
    def standard_deviation(self) -> float:
        """Standard deviation; inf or nan where it does not exist."""

    @property
    @abstractmethod
    def median(self) -> float:
        """The value at normal score 0."""

    @property
    @abstractmethod
    def support(self) -> tuple[float, float]:
        """Smallest and largest possible value, possibly infinite."""

    @property
    @abstractmethod
    def fingerprint(self) -> str:
        """Family and parameters as text: equal fingerprints mean the same normal scores."""

    @property
    def atoms(self) -> tuple[tuple[float, float], ...]:
        """Values with a probability of their own, and that probability; usually none."""
        return ()

    @property
    def bends(self) -> tuple[float, ...]:
        """Scores at which `from_score` is not smooth; usually none."""
        return ()


def score_between(below: FloatArray | float, above: FloatArray | float) -> FloatArray:
    """Return the normal score that has these chances below and above it.

    The smaller of the two is used, so that no digits are lost in either tail.
    """
    smaller = special.ndtri(np.minimum(below, above))
    return np.where(np.asarray(below) < above, smaller, -smaller)


@dataclass(frozen=True, repr=False)
class Family(Distribution):
    """A distribution by its score map, its two tail chances, its moments and its limits.

    The fields of a family are its parameters, in the order its constructor function takes them;
    they are its fingerprint and how it is printed.
    """

    family: ClassVar[str]

    @abstractmethod
    def _map(self, score: FloatArray) -> FloatArray:
        """Return the values at normal scores, as a new array."""

    @abstractmethod
    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return F(x) and 1 - F(x)."""

    @abstractmethod
    def _moments(self) -> tuple[float, float]:
        """Return mean and standard deviation."""

    @abstractmethod
    def _limits(self) -> tuple[float, float]:
        """Return the smallest and the largest possible value."""

    def _score(self, value: FloatArray) -> FloatArray:
        below, above = self._chances(value)
        for atom, chance in self.atoms:
            here = value == atom
            below = np.where(here, below - chance / 2, below)
            above = np.where(here, above + chance / 2, above)
        return score_between(below, above)

    def from_score(self, score: FloatArray) -> FloatArray:
        """Return x = F^-1(Phi(z)), increasing in z; error below 1e-8 standard deviations."""
        return self._map(np.asarray(score, dtype=float))

    def to_score(self, value: FloatArray) -> FloatArray:
        """Return the normal score z of the value; infinite at and beyond the limits."""
        return self._score(np.asarray(value, dtype=float))

    def quantile(self, probability: FloatArray) -> FloatArray:
        """Return x with F(x) = probability; nan outside 0 to 1."""
        return self.from_score(special.ndtri(np.asarray(probability, dtype=float)))

    def cdf(self, value: FloatArray) -> FloatArray:
        """Return F(x)."""
        return self.chances(value)[0]

    def chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return F(x) and 1 - F(x), each without loss of digits where it is small."""
        return self._chances(np.asarray(value, dtype=float))

    @property
    def mean(self) -> float:
        """Expected value; nan where it does not exist."""
        return self._moments()[0]

    @property
    def standard_deviation(self) -> float:
        """Standard deviation; inf or nan where it does not exist."""
        return self._moments()[1]

    @property
    def median(self) -> float:
        """The value at normal score 0."""
        return float(self.from_score(np.zeros(1))[0])

    @property
    def support(self) -> tuple[float, float]:
        """Smallest and largest possible value, possibly infinite."""
        return self._limits()

    @property
    def fingerprint(self) -> str:
        """Family and parameters as its constructor takes them."""
        parameters = ", ".join(repr(getattr(self, field.name)) for field in fields(self))
        return f"{self.family}({parameters})"

    def __repr__(self) -> str:
        """Print as the call that makes it."""
        return self.fingerprint
