"""Several outcomes together: covariance and a region that holds them jointly.

Source: JCGM 102:2011, clauses 6.5 and 7.7 (hyper-ellipsoid and hyper-rectangle).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr
from scipy.special import chdtri

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.replicates import half_width
from brewsim.study.propagation.coverage import check_share
from brewsim.study.propagation.summary import columns_of, replicate_places

_SAME, _BOUND = 1e-10, 1e-3


@dataclass(frozen=True)
class JointRegion:
    """Estimates, covariance, and the factors of two regions that hold a share of the draws.

    The ellipsoid is (y - estimate)' covariance^-1 (y - estimate) <= ellipsoid^2, the box is
    estimate +- box x standard_uncertainty; `normal_ellipsoid` is the factor that a normal law
    would have. Each `_error` is half of a 95 % sampling interval. `dropped` counts draws in which
    an outcome has no value.
    """

    outcomes: tuple[str, ...]
    coverage: float
    estimate: FloatArray
    covariance: FloatArray
    ellipsoid: float
    ellipsoid_error: float
    box: float
    box_error: float
    normal_ellipsoid: float
    estimate_error: FloatArray
    standard_uncertainty_error: FloatArray
    correlation_error: FloatArray
    dropped: int

    @property
    def standard_uncertainty(self) -> FloatArray:
        """Standard uncertainty of each outcome."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def correlation(self) -> FloatArray:
        """Correlation of the outcomes."""
        return _correlation(self.covariance)

    def contains(self, values: Sequence[float]) -> bool:
        """Tell whether a point lies in the ellipsoid."""
        apart = np.asarray(values, dtype=float) - self.estimate
        return float(apart @ np.linalg.solve(self.covariance, apart)) <= self.ellipsoid**2


def joint_region(
    draws: xr.Dataset, outcomes: Sequence[str] = (), coverage: float = 0.95
) -> JointRegion:
    """Return covariance and joint regions of outcomes from draws of `simulate`.

    Without names all outcomes are taken, a list row by row. Draws of a rare event are left out.
    Raises StudyError for an unknown outcome, for fewer than two, and for outcomes of which one
    follows from the others, so that there is no region of their number of dimensions.

    >>> from brewsim import Problem, normal, simulate
    >>> def one(a):
    ...     return 1 * a
    >>> def two(a, b):
    ...     return a + b
    >>> problem = Problem.of([one, two], {"a": normal(0.0, 1.0), "b": normal(0.0, 1.0)})
    >>> found = joint_region(simulate(problem))
    >>> round(float(found.correlation[0, 1]), 2), round(found.normal_ellipsoid, 4)
    (0.71, 2.4477)
    """
    check_share("coverage", coverage)
    columns = columns_of(draws, {})
    for name in outcomes:
        if name not in columns:
            raise StudyError(f"there are no draws of {name}.{did_you_mean(name, columns)}")
    names = tuple(outcomes) or tuple(columns)
    if len(names) < 2:
        raise StudyError("a joint region takes two outcomes or more")
    where, there = replicate_places(draws)
    usual = there if "event" not in draws else there & ~draws["event"].to_numpy()[where]
    table = np.stack([columns[name][1] for name in names])[:, where]
    good = usual & np.isfinite(table).all(axis=0)
    pooled = _figures(table[:, good], coverage, names)
    parts = [_figures(table[:, i][:, good[i]], coverage, names) for i in range(len(where))]
    means, covariances, ellipsoids, boxes = (np.array(part) for part in zip(*parts, strict=True))
    spreads = np.sqrt(np.diagonal(covariances, axis1=1, axis2=2))
    return JointRegion(
        outcomes=names,
        coverage=coverage,
        estimate=pooled[0],
        covariance=pooled[1],
        ellipsoid=pooled[2],
        ellipsoid_error=float(half_width(ellipsoids)),
        box=pooled[3],
        box_error=float(half_width(boxes)),
        normal_ellipsoid=float(np.sqrt(chdtri(len(names), 1 - coverage))),
        estimate_error=half_width(means),
        standard_uncertainty_error=half_width(spreads),
        correlation_error=half_width(np.array([_correlation(c) for c in covariances])),
        dropped=int(usual.sum() - good.sum()),
    )


def _figures(
    values: FloatArray, coverage: float, names: Sequence[str]
) -> tuple[FloatArray, FloatArray, float, float]:
    """Return mean, covariance and both factors of draws (outcomes, n)."""
    mean, covariance = values.mean(axis=1), np.cov(values, bias=True)
    spread = np.sqrt(np.diag(covariance))
    if not (spread > 0).all():
        raise StudyError(f"{names[int(np.argmin(spread))]} has no spread, so there is no region")
    standard = (values - mean[:, None]) / spread[:, None]
    correlation = _correlation(covariance)
    sizes, directions = np.linalg.eigh(correlation)
    if sizes[0] < _SAME:
        bound = [n for n, w in zip(names, directions[:, 0], strict=True) if abs(w) > _BOUND]
        raise StudyError(
            f"of {', '.join(bound)} one follows from the others: leave one of them out"
        )
    lower = np.linalg.cholesky(correlation)
    distance = np.sqrt((np.linalg.solve(lower, standard) ** 2).sum(axis=0))
    widest = np.abs(standard).max(axis=0)
    factors = [float(np.quantile(part, coverage)) for part in (distance, widest)]
    return mean, covariance, factors[0], factors[1]


def _correlation(covariance: FloatArray) -> FloatArray:
    spread = np.sqrt(np.diag(covariance))
    return np.asarray(covariance / np.outer(spread, spread))
