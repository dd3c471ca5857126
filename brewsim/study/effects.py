"""What draws already made can tell: effect curves, first-order shares, the value of measuring.

Everything is a least-squares fit of Legendre polynomials up to degree 6 in the rank of a factor's
normal score (Strong, Oakley & Brennan, Medical Decision Making 34 (2014) 311, fit the same
conditional means by regression). Curves and shares also use the score itself and its square,
since a polynomial of the rank flattens what grows without bound. A factor without effect gets up
to 8 / draws by chance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version

import numpy as np
import xarray as xr
from numpy.polynomial.legendre import legvander
from scipy.special import ndtr, ndtri
from scipy.stats import rankdata

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.latents import Latents, latents
from brewsim.study.problem import Problem
from brewsim.study.replicates import Places, half_width
from brewsim.study.simulate import describe
from brewsim.study.summary import on_scale

DEGREE = 6
TERMS = DEGREE + 2
SHOWN_SCORES = np.linspace(-2.0, 2.0, 33)
"""Normal scores at which an effect curve is given: from 1 in 44 to 43 in 44."""


def rank_of(score: FloatArray) -> FloatArray:
    """Return each score's place among all, strictly between 0 and 1, along the last axis."""
    return np.asarray((rankdata(score, axis=-1) - 0.5) / score.shape[-1], dtype=np.float64)


def basis(place: FloatArray) -> FloatArray:
    """Return the terms of a fit at places (n,) between 0 and 1, (n, 8), each of mean 0.

    Legendre polynomials of degree 1 to 6 of the place, the normal score and its square less 1.
    """
    score = ndtri(place)
    rest = np.stack([score, score**2 - 1], axis=-1)
    return np.concatenate([legvander(2 * place - 1, DEGREE)[:, 1:], rest], axis=-1)


def _covariance() -> FloatArray:
    """Return the covariance of the terms over all places, (8, 8)."""
    terms = basis((np.arange(4096) + 0.5) / 4096)
    return np.asarray(np.cov(terms.T, bias=True), dtype=np.float64)


def effects(problem: Problem, draws: xr.Dataset) -> xr.Dataset:
    """Return effect curves and given-data first-order indices of draws with `keep_scores`.

    Dims ("outcome", "factor", "point"): `value` of the factor (its own unit) and `effect`, the
    expected outcome there (in the outcome's unit; on a log scale its geometric mean), with
    `effect_error`; `first_order` with 95 % intervals. Independent factors are fitted together,
    correlated or learned ones each alone on what the others leave. Raises StudyError.
    """
    if "score" not in draws:
        raise StudyError("effects need the factors' scores: simulate with keep_scores=True")
    names = [n for n in problem.outcomes if n in draws and draws[n].dims == ("draw",)]
    replicates = int(draws.attrs["replicates"])
    place = rank_of(draws["score"].to_numpy())
    fits = Fits(place, tied_factors(latents(problem)), replicates)
    scale = np.array([problem.scales.get(n, "linear") for n in names])
    found = fits.of(
        np.array([on_scale(draws[n].to_numpy(), s) for n, s in zip(names, scale, strict=True)])
    )
    points = basis(ndtr(SHOWN_SCORES))
    curves = np.array([f.level + f.slopes[0] @ points.T for f in found])
    spread = np.array([half_width(f.slopes[1:] @ points.T) for f in found])
    return _table(problem, names, scale, (curves, spread), found, draws)


@dataclass(frozen=True)
class Fit:
    """One outcome's coefficients (1 + replicates, factors, 8) and shares, pooled ones first."""

    level: float
    slopes: FloatArray
    shares: FloatArray


class Fits:
    """Fits of any outcomes on the same factors.

    `place` is (factors, n) between 0 and 1, `tied` lists factors that depend on others, the
    draws are equally many for each replicate, one replicate after the other.
    """

    def __init__(self, place: FloatArray, tied: Sequence[int], replicates: int) -> None:
        apart = set(tied)
        self._size = place.shape[0], place.shape[1]
        self._free = [i for i in range(len(place)) if i not in apart]
        pieces = [np.empty((place.shape[1], 0)), *(basis(place[i]) for i in self._free)]
        self._together = np.concatenate(pieces, axis=1)
        self._alone = {i: basis(place[i]) for i in tied}
        self._parts = np.split(np.arange(place.shape[1]), replicates)

    def of(self, values: FloatArray) -> list[Fit]:
        """Return the fits of outcomes (k, n); draws that are not finite are left out."""
        good = np.isfinite(values).all(axis=1)
        fits: dict[int, Fit] = {}
        if good.any():
            places = np.flatnonzero(good)
            fits |= zip(places.tolist(), self._fitted(values[places], self._parts), strict=True)
        for i in np.flatnonzero(~good):
            rows = [part[np.isfinite(values[i, part])] for part in self._parts]
            fits[int(i)] = self._fitted(values[i : i + 1], rows)[0]
        return [fits[i] for i in range(len(values))]

    def _fitted(self, values: FloatArray, parts: Sequence[Places]) -> list[Fit]:
        everything = np.concatenate(parts)
        pieces = [everything, *parts]
        slopes = np.stack([self._slopes(values[:, piece].T, piece) for piece in pieces])
        variance = np.stack([_variance(values[:, piece]) for piece in pieces])
        parts = np.einsum("...i,ij,...j->...", slopes, _covariance(), slopes)
        shares = parts * _inverse(variance)[:, :, None]
        with np.errstate(all="ignore"):
            levels = values[:, everything].sum(axis=1) / everything.size
        return [Fit(levels[i], slopes[:, i], shares[:, i]) for i in range(len(values))]

    def _slopes(self, values: FloatArray, rows: Places) -> FloatArray:
        """Return (outcomes, factors, 8) for values (rows, outcomes)."""
        slopes = np.zeros((values.shape[1], self._size[0], TERMS))
        if rows.size <= TERMS * len(self._free) + 1:
            return slopes
        rest = values - values.mean(axis=0)
        if self._free:
            columns = self._together if rows.size == self._size[1] else self._together[rows]
            weights = _solved(columns, rest)
            slopes[:, self._free] = weights.T.reshape(len(slopes), -1, TERMS)
            rest = rest - columns @ weights
        for i, columns in self._alone.items():
            slopes[:, i] = _solved(columns[rows], rest).T
        return slopes


def _variance(values: FloatArray) -> FloatArray:
    return values.var(axis=1) if values.shape[1] else np.zeros(len(values))


def _inverse(values: FloatArray) -> FloatArray:
    return np.divide(1.0, values, out=np.zeros_like(values), where=values > 0)


def _solved(columns: FloatArray, values: FloatArray) -> FloatArray:
    normal = columns.T @ columns
    normal[np.diag_indices_from(normal)] += 1e-9 * max(len(columns), 1)
    return np.asarray(np.linalg.solve(normal, columns.T @ values), dtype=np.float64)


def tied_factors(found: Latents) -> list[int]:
    """Return the factors that are not independent of all others."""
    own = [found.coordinates(i) for i in range(len(found.terms))]
    return [
        i
        for i, mine in enumerate(own)
        if any(i != j and not mine.isdisjoint(other) for j, other in enumerate(own))
    ]


def _table(
    problem: Problem,
    names: Sequence[str],
    scale: FloatArray,
    curves: tuple[FloatArray, FloatArray],
    found: Sequence[Fit],
    draws: xr.Dataset,
) -> xr.Dataset:
    dims = ("outcome", "factor", "point")
    middle, low = (_from_scale(c, scale) for c in (curves[0], curves[0] - curves[1]))
    shares = np.array([f.shares for f in found])
    half = np.array([half_width(f.shares[1:]) for f in found])
    described = [describe(problem, name) for name in names]
    shown = [f.distribution.from_score(SHOWN_SCORES) for f in problem.factors]
    return xr.Dataset(
        {
            "value": (dims[1:], np.array(shown)),
            "effect": (dims, middle),
            "effect_error": (dims, middle - low),
            "first_order": (dims[:2], shares[:, 0]),
            "first_order_low": (dims[:2], shares[:, 0] - half),
            "first_order_high": (dims[:2], shares[:, 0] + half),
        },
        coords={
            "outcome": list(names),
            "unit": ("outcome", [d["unit"] for d in described]),
            "scale": ("outcome", list(scale)),
            "factor": [f.id for f in problem.factors],
            "label": ("factor", [f.label for f in problem.factors]),
            "point": ndtr(SHOWN_SCORES),
        },
        attrs={"name": problem.name, "version": version("brewsim"), "seed": draws.attrs["seed"]},
    )


def _from_scale(values: FloatArray, scale: FloatArray) -> FloatArray:
    found = values.copy()
    for i, name in enumerate(scale):
        if name != "linear":
            found[i] = np.exp2(values[i]) if name == "log2" else np.exp(values[i])
    return found


def evppi(scores: FloatArray, utilities: FloatArray) -> FloatArray:
    """Return what knowing each score exactly would add to the best expected utility.

    `scores` is (factors, n), `utilities` (decisions, n), both on the same draws. The answer is
    never negative; nothing below about half a point in a hundred means anything.
    """
    best = utilities.mean(axis=1).max()
    gains = np.empty(len(scores))
    for i, score in enumerate(scores):
        columns = legvander(2 * rank_of(score) - 1, DEGREE)
        weights, *_ = np.linalg.lstsq(columns, utilities.T, rcond=None)
        gains[i] = (columns @ weights).max(axis=1).mean() - best
    return np.maximum(gains, 0.0)
