"""What every family of distributions can answer."""

from abc import ABC, abstractmethod

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
