"""Normal scores that belong together, and what a share or correlation of scores means in values."""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations, combinations_with_replacement

import numpy as np
from scipy import special
from scipy.optimize import brentq

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant, LogNormal, Normal
from brewsim.errors import DistributionError

_LEAST_EIGENVALUE = 1e-10
_DEGREES = 1000
_GRID = 40_001
_FARTHEST = 12.0


def correlate(scores: FloatArray, matrix: FloatArray, names: Sequence[str] = ()) -> FloatArray:
    """Return scores with the correlations of the matrix: a Gaussian copula on any families.

    `scores` (k, n) are independent standard normal rows, `matrix` (k, k) is a correlation of
    normal scores. Raises DistributionError naming the pair that cannot be, by `names` if given.
    """
    return cholesky(matrix, names) @ scores


def cholesky(matrix: FloatArray, names: Sequence[str] = ()) -> FloatArray:
    """Return L, lower triangular, with L L' = matrix; raises as `correlate` does."""
    wanted = np.asarray(matrix, dtype=float)
    labels = tuple(names) or tuple(f"number {i + 1}" for i in range(len(wanted)))
    if wanted.ndim != 2 or wanted.shape[0] != wanted.shape[1] or len(labels) != len(wanted):
        raise DistributionError(
            f"correlation: {len(labels)} names need a square matrix of that size, not"
            f" {' x '.join(map(str, wanted.shape))}"
        )
    for i, j in combinations_with_replacement(range(len(labels)), 2):
        _check_pair(wanted, i, j, labels)
    if np.linalg.eigvalsh(wanted)[0] < _LEAST_EIGENVALUE:
        raise DistributionError(_impossible(wanted, labels))
    return np.linalg.cholesky(wanted)


def _check_pair(wanted: FloatArray, i: int, j: int, labels: Sequence[str]) -> None:
    value, back = float(wanted[i, j]), float(wanted[j, i])
    if i == j and value != 1:
        raise DistributionError(f"correlation of {labels[i]} with itself must be 1, not {value}")
    pair = f"correlation of {labels[i]} and {labels[j]}"
    if value != back:
        raise DistributionError(f"{pair} is given twice, as {value} and {back}; write one value")
    if i != j and not abs(value) < 1:
        raise DistributionError(
            f"{pair} must lie between -1 and 1, not {value}; for two that always move together"
            " use one factor"
        )


def _impossible(wanted: FloatArray, labels: Sequence[str]) -> str:
    """Say which pair, moved the least, would make the matrix possible."""
    best: tuple[float, str] | None = None
    for i, j in combinations(range(len(labels)), 2):
        room = _room(wanted, i, j)
        if room is None:
            continue
        value = float(wanted[i, j])
        move = max(room[0] - value, value - room[1], 0.0)
        text = (
            f"correlation of {labels[i]} and {labels[j]} cannot be {value:g}: with the others as"
            f" stated it must lie between {room[0]:.3f} and {room[1]:.3f}"
        )
        if best is None or move < best[0]:
            best = move, text
    if best is None:
        return (
            f"the correlations of {', '.join(labels)} contradict each other in more than one pair;"
            " state fewer of them, or nearer to 0"
        )
    return best[1]


def _room(wanted: FloatArray, i: int, j: int) -> tuple[float, float] | None:
    """Return between which values entry (i, j) is possible, None if no value helps."""
    rest = [k for k in range(len(wanted)) if k not in {i, j}]
    if not rest:
        return -1.0, 1.0
    others, to_i, to_j = wanted[np.ix_(rest, rest)], wanted[rest, i], wanted[rest, j]
    if np.linalg.eigvalsh(others)[0] < _LEAST_EIGENVALUE:
        return None
    solved = np.linalg.solve(others, np.stack([to_i, to_j], axis=1))
    free = (1 - to_i @ solved[:, 0], 1 - to_j @ solved[:, 1])
    if min(free) <= 0:
        return None
    middle, half = float(to_i @ solved[:, 1]), math.sqrt(free[0] * free[1])
    return middle - half, middle + half


def value_share(distribution: Distribution, score_share: float) -> float:
    """Return the share of the variance of x that a share of its normal score carries.

    With z = sqrt(w) a + sqrt(1 - w) b, that is Var(E[x | a]) / Var(x) = sum of c_k^2 w^k over the
    Hermite coefficients of the score map: w itself for a normal, less for anything else.
    """
    _check_share(score_share)
    if isinstance(distribution, Normal | Constant):
        return score_share
    if isinstance(distribution, LogNormal):
        variance = distribution.log_sd**2
        return math.expm1(score_share * variance) / math.expm1(variance)
    return _carried(_hermite_powers(distribution), score_share)


def score_share(distribution: Distribution, value_share: float) -> float:
    """Return the share of the normal score that carries this share of the variance of x.

    Inverse of `value_share`: closed form for the lognormal, root finding otherwise. Raises
    DistributionError outside 0 to 1 and where x has no variance.
    """
    _check_share(value_share)
    if isinstance(distribution, Normal | Constant) or value_share in {0.0, 1.0}:
        return float(value_share)
    if isinstance(distribution, LogNormal):
        variance = distribution.log_sd**2
        return math.log1p(value_share * math.expm1(variance)) / variance
    powers = _hermite_powers(distribution)
    return float(brentq(lambda w: _carried(powers, w) - value_share, 0.0, 1.0, xtol=1e-12))


def rank_correlation(score_correlation: float) -> float:
    """Return Spearman's correlation of two values from the correlation of their normal scores."""
    return 6 / math.pi * math.asin(score_correlation / 2)


def score_correlation(rank_correlation: float) -> float:
    """Return the correlation of normal scores from Spearman's of two continuous values."""
    return 2 * math.sin(math.pi / 6 * rank_correlation)


def _check_share(share: float) -> None:
    if not 0 <= share <= 1:
        raise DistributionError(f"a share lies between 0 and 1, not {share}; write 50 % as 0.5")


def _carried(powers: FloatArray, share: float) -> float:
    return float(np.polynomial.polynomial.polyval(share, powers))


@lru_cache(maxsize=256)
def _hermite_powers(distribution: Distribution) -> FloatArray:
    """Return c_k^2 / variance of x(z) = sum c_k He_k(z) / sqrt(k!); the last holds the remainder.

    Integrated by parts, c_k = sum of rises of x times phi(z) He_{k-1}(z) / sqrt(k!), so that steps
    are as welcome as smooth maps.
    """
    if not math.isfinite(distribution.standard_deviation):
        raise DistributionError(
            f"{distribution} has no variance to share; state shares of the normal score"
        )
    where, rise = _rises(distribution)
    density = np.exp(-(where**2) / 2) / math.sqrt(2 * math.pi)
    before, now = np.zeros(len(where)), density * rise
    powers = np.zeros(_DEGREES + 2)
    for k in range(1, _DEGREES + 1):
        powers[k] = now.sum() ** 2 / k
        before, now = now, (where * now - math.sqrt(k - 1) * before) / math.sqrt(k)
    powers /= distribution.standard_deviation**2
    powers[-1] = max(1 - powers.sum(), 0.0)
    return powers / powers.sum()


def _rises(distribution: Distribution) -> tuple[FloatArray, FloatArray]:
    """Return scores and by how much x rises there; steps between atoms exactly in place."""
    if sum(chance for _, chance in distribution.atoms) > 1 - 1e-12:
        values = np.array([value for value, _ in distribution.atoms])
        chances = np.array([chance for _, chance in distribution.atoms])
        edges = special.ndtri(np.minimum(np.cumsum(chances)[:-1], 1.0))
        return np.asarray(edges), np.diff(values)
    ends = np.linspace(-_FARTHEST, _FARTHEST, _GRID)
    return (ends[1:] + ends[:-1]) / 2, np.diff(distribution.from_score(ends))
