"""Fits of outcomes and decisions on one score at a time: what knowing it takes away and gains.

Least-squares fits of Legendre polynomials up to degree 6 in the rank of the score (Strong, Oakley
& Brennan, Medical Decision Making 34, 2014, 311, fit the same conditional means by regression),
all outcomes and decisions of all scores in one product.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial.legendre import legvander
from numpy.typing import NDArray

from brewsim.dims import FloatArray

DEGREE = 6
_NULLS = 8
_AT_ONCE = 32
_EVENLY = 512
"""Ranks at which the best of several fitted decisions is looked for."""
_SEEN = 1e-3
"""A smaller share of the variance leaves the interval what it was."""


class ScoreFits:
    """Outcomes and decisions on the same draws, fitted on one score after the other.

    `now` are the outcomes' half widths. A draw without a value is taken as the mean: it tells
    nothing. What a score without any effect seems to gain by chance is taken off every gain.
    """

    def __init__(
        self, values: Sequence[FloatArray], landed: FloatArray, coverage: float, seed: int
    ) -> None:
        self._ends, self._seed = [(1 - coverage) / 2, (1 + coverage) / 2], seed
        self._good = [np.isfinite(y) for y in values]
        self._values = [_filled(y, good) for y, good in zip(values, self._good, strict=True)]
        with np.errstate(over="ignore"):  # infinite beyond the floating range: no share of it
            self._variances = [float(y.var()) for y in self._values]
        self._landed = landed
        self._best = float(landed.mean(axis=1).max()) if len(landed) else 0.0
        self.now = [_half(y[good], self._ends) for y, good in zip(values, self._good, strict=True)]

    def of(self, scores: FloatArray) -> tuple[list[list[tuple[float, float]]], list[float]]:
        """Return, per score, (variance explained, half width left) by outcome; and the gains."""
        kept: list[list[tuple[float, float]]] = []
        gains: list[float] = []
        for fit in self._fits(scores):
            kept.append(self._kept(fit))
            gains.append(self._gain(fit))
        if not len(self._landed):
            return kept, gains
        noise = np.random.default_rng([self._seed, 0, 1])
        none = noise.standard_normal((_NULLS, self._landed.shape[1]))
        null = float(np.mean([self._gain(fit) for fit in self._fits(none)]))
        return kept, [max(0.0, gain - null) for gain in gains]

    def _fits(self, scores: FloatArray) -> Iterator["_Fit"]:
        sides = np.stack([*self._values, *self._landed])
        for start in range(0, len(scores), _AT_ONCE):
            shapes = [_shape(score) for score in scores[start : start + _AT_ONCE]]
            columns = np.concatenate([columns for _, columns in shapes])
            products = (columns @ sides.T).reshape(len(shapes), DEGREE + 1, -1)
            for (shape, own), product in zip(shapes, products, strict=True):
                yield _Fit(shape, own, np.asarray(np.linalg.solve(shape.normal, product)))

    def _kept(self, fit: "_Fit") -> list[tuple[float, float]]:
        by_chance, found = DEGREE / fit.columns.shape[1], []
        for place, (y, now) in enumerate(zip(self._values, self.now, strict=True)):
            variance, weights = float(self._variances[place]), fit.weights[:, place]
            usable = 0 < variance < np.inf
            explained = float(weights @ fit.shape.spread @ weights) / variance if usable else 0.0
            share = (explained - by_chance) / (1 - by_chance)
            left = now
            if share > _SEEN:
                rest = (y - weights @ fit.columns)[self._good[place]]
                left = min(now, _half(rest, self._ends))
            found.append((share, left) if share > 0 else (0.0, now))
        return found

    def _gain(self, fit: "_Fit") -> float:
        if not len(self._landed):
            return 0.0
        best = (fit.weights[:, len(self._values) :].T @ fit.shape.evenly).max(axis=0)
        return max(0.0, float(best.mean()) - self._best)


@dataclass(frozen=True)
class _Shape:
    """What fits on one score need of its ranks alone.

    `normal` is the matrix of the fit, `spread` the covariance of its polynomials, `evenly` the
    polynomials (terms, places) whose mean is that over all draws.
    """

    normal: FloatArray
    spread: FloatArray
    evenly: FloatArray


@dataclass(frozen=True)
class _Fit:
    """A score's polynomials (terms, n) and weights (terms, outcomes + decisions)."""

    shape: _Shape
    columns: FloatArray
    weights: FloatArray


def _shape(score: FloatArray) -> tuple[_Shape, FloatArray]:
    """Return what a score's ranks give, and its polynomials (terms, n).

    Without ties every score has the same ranks in another order, worked out once.
    """
    order = np.argsort(score)
    ordered = score[order]
    if not (ordered[1:] > ordered[:-1]).all():
        columns = _columns(rank_of(score))
        return _shape_of(columns, columns), columns
    shape, columns = _without_ties(len(score))
    place = np.empty(len(score), dtype=np.intp)
    place[order] = np.arange(len(score))
    return shape, columns[:, place]


@lru_cache(maxsize=4)
def _without_ties(count: int) -> tuple[_Shape, FloatArray]:
    columns = _columns((np.arange(count) + 0.5) / count)
    few = min(count, _EVENLY)
    return _shape_of(columns, _columns((np.arange(few) + 0.5) / few)), columns


def _shape_of(columns: FloatArray, evenly: FloatArray) -> _Shape:
    count = columns.shape[1]
    products, means = columns @ columns.T, columns.mean(axis=1)
    spread = products / count - np.outer(means, means)
    return _Shape(products + 1e-9 * count * np.eye(len(products)), spread, evenly)


def rank_of(score: FloatArray) -> FloatArray:
    """Return each score's place among all, strictly between 0 and 1, along the last axis."""
    rows = score.reshape(-1, score.shape[-1])
    ranks = np.stack([_ranks(row) for row in rows]) if len(rows) else rows.astype(np.float64)
    return (ranks.reshape(score.shape) - 0.5) / score.shape[-1]


def _ranks(row: FloatArray) -> FloatArray:
    """Return ranks from 1 up, ties sharing the mean of theirs; all nan where one is."""
    if np.isnan(row).any():
        return np.full(len(row), np.nan)
    _, place, counts = np.unique(row, return_inverse=True, return_counts=True)
    return (np.cumsum(counts) - (counts - 1) / 2)[place]


def _filled(values: FloatArray, good: NDArray[np.bool_]) -> FloatArray:
    middle = float(values[good].mean()) if good.any() else 0.0
    return np.where(good, values, middle)


def _columns(ranks: FloatArray) -> FloatArray:
    """Return the polynomials (terms, n) at ranks."""
    return np.ascontiguousarray(legvander(2 * ranks - 1, DEGREE).T, dtype=np.float64)


def _half(values: FloatArray, ends: Sequence[float]) -> float:
    if not values.size:
        return 0.0
    low, high = np.quantile(values, ends)
    return float(high - low) / 2
