"""Distributions from elsewhere: SciPy's frozen ones, and a density drawn around measured values."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution, Family
from brewsim.distributions.constructors import discrete, mixture, normal
from brewsim.distributions.parameters import above_zero, finite
from brewsim.distributions.score_table import ScoreTable
from brewsim.errors import DistributionError

_MOST_VALUES = 100_000
_LEFT_OUT = 1e-13
_KEPT = 64


@dataclass(frozen=True, repr=False)
class Adopted(Family):
    """A continuous distribution of SciPy, read from a table of its own quantiles."""

    family = "scipy"
    name: str
    frozen: Any = field(compare=False, hash=False)

    def _map(self, score: FloatArray) -> FloatArray:
        return _table(self).read(score)

    def exact(self, score: FloatArray) -> FloatArray:
        """Return the values at scores, each from the nearer tail."""
        value = np.empty(score.shape)
        low = score < 0
        value[low] = self.frozen.ppf(special.ndtr(score[low]))
        value[~low] = self.frozen.isf(special.ndtr(-score[~low]))
        return value

    def _chances(self, value: FloatArray) -> tuple[FloatArray, FloatArray]:
        return np.asarray(self.frozen.cdf(value)), np.asarray(self.frozen.sf(value))

    def _moments(self) -> tuple[float, float]:
        return float(self.frozen.mean()), float(self.frozen.std())

    def _limits(self) -> tuple[float, float]:
        low, high = self.frozen.support()
        return float(low), float(high)

    @property
    def fingerprint(self) -> str:
        """Name and parameters as SciPy takes them."""
        return f"from_scipy({self.name})"


@lru_cache(maxsize=_KEPT)
def _table(adopted: Adopted) -> ScoreTable:
    spread = adopted.standard_deviation
    unit = spread if np.isfinite(spread) and spread > 0 else float(np.ptp(_quartiles(adopted)))
    return ScoreTable(adopted.exact, unit, adopted.support)


def _quartiles(adopted: Adopted) -> FloatArray:
    return adopted.exact(special.ndtri(np.array([0.25, 0.75])))


def from_scipy(frozen: Any) -> Distribution:  # noqa: ANN401 - SciPy's frozen ones have no type
    """Return a frozen distribution of `scipy.stats` as one of brewsim's.

    Discrete ones become values with their chances, of which those below 1e-13 in a tail are left
    out. Raises DistributionError for what is not frozen, or has no quantiles.

    >>> from scipy import stats
    >>> round(from_scipy(stats.weibull_min(2.0)).mean, 4)
    0.8862
    """
    if not all(hasattr(frozen, name) for name in ("ppf", "isf", "cdf", "sf", "args", "kwds")):
        raise DistributionError(
            "from_scipy takes a frozen distribution such as stats.gumbel_r(1013, 558), "
            f"not {frozen!r}"
        )
    parameters = [*map(repr, frozen.args), *(f"{k}={v!r}" for k, v in sorted(frozen.kwds.items()))]
    name = f"{frozen.dist.name}({', '.join(parameters)})"
    if np.ndim(frozen.median()) or not np.isfinite(frozen.median()):
        raise DistributionError(f"from_scipy: {name} is not one distribution with a median")
    if hasattr(frozen, "pmf"):
        return _counted(name, frozen)
    return Adopted(name, frozen)


def _counted(name: str, frozen: Any) -> Distribution:  # noqa: ANN401 - as above
    low, high = float(frozen.ppf(_LEFT_OUT)), float(frozen.isf(_LEFT_OUT))
    if not high - low < _MOST_VALUES:
        raise DistributionError(f"from_scipy: {name} has too many values; take a continuous one")
    values = np.arange(low, high + 1)
    chance = np.asarray(frozen.pmf(values), dtype=float)
    return discrete(values.tolist(), (chance / chance.sum()).tolist())


def kernel_density(values: Sequence[float], bandwidth: float | None = None) -> Distribution:
    """Return a smooth density around measured values: a normal at each of them.

    Without a bandwidth Silverman's rule of thumb gives it (Silverman, Density estimation for
    statistics and data analysis, 1986, equation 3.31). Raises DistributionError for fewer than two
    different values.

    >>> round(kernel_density([4.0, 5.0, 6.0], 0.5).mean, 6)
    5.0
    """
    for value in values:
        finite("kernel_density", value=value)
    known = np.sort(np.asarray(values, dtype=float))
    if len(known) < 2 or known[0] == known[-1]:
        raise DistributionError("kernel_density: give two or more different values")
    if bandwidth is None:
        quartile = float(np.subtract(*np.quantile(known, [0.75, 0.25]))) / 1.34
        spread = float(known.std(ddof=1))
        bandwidth = 0.9 * min(spread, quartile or spread) * len(known) ** -0.2
    above_zero("kernel_density", bandwidth=bandwidth)
    share = [1 / len(known)] * len(known)
    return mixture([normal(float(value), bandwidth) for value in known], share)
