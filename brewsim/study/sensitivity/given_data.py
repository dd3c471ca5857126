"""Fits of outcomes and decisions on one score at a time: what knowing it takes away and gains.

Least-squares fits of Legendre polynomials up to degree 6 in the rank of the score (Strong, Oakley
& Brennan, Medical Decision Making 34, 2014, 311, fit the same conditional means by regression),
all outcomes and decisions of all scores in one product.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.polynomial.legendre import legvander
from numpy.typing import NDArray

from brewsim.dims import FloatArray

DEGREE = 6
_NULLS = 8
_AT_ONCE = 32


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
        self._landed = landed
        self._best = float(landed.mean(axis=1).max()) if len(landed) else 0.0
        self.now = [_half(y[good], self._ends) for y, good in zip(values, self._good, strict=True)]

    def of(self, scores: FloatArray) -> tuple[list[list[tuple[float, float]]], list[float]]:
        """Return, per score, (variance explained, half width left) by outcome; and the gains."""
        kept: list[list[tuple[float, float]]] = []
        gains: list[float] = []
        for start in range(0, len(scores), _AT_ONCE):
            for own, solved in self._solutions(scores[start : start + _AT_ONCE]):
                kept.append([self._kept(own, solved[:, k], k) for k in range(len(self._values))])
                gains.append(self._gain(own, solved))
        if not len(self._landed):
            return kept, gains
        noise = np.random.default_rng([self._seed, 0, 1])
        none = noise.standard_normal((_NULLS, self._landed.shape[1]))
        null = float(np.mean([self._gain(own, solved) for own, solved in self._solutions(none)]))
        return kept, [max(0.0, gain - null) for gain in gains]

    def _solutions(self, scores: FloatArray) -> Iterator[tuple[FloatArray, FloatArray]]:
        """Yield each score's polynomials (terms, n) and weights (terms, outcomes + decisions)."""
        columns = np.stack([_columns(score) for score in scores])
        sides = np.stack([*self._values, *self._landed])
        size, terms, draws = columns.shape
        products = (columns.reshape(size * terms, draws) @ sides.T).reshape(size, terms, -1)
        for own, product in zip(columns, products, strict=True):
            yield own, _solved(own, product)

    def _kept(self, columns: FloatArray, weights: FloatArray, place: int) -> tuple[float, float]:
        y, good, now = self._values[place], self._good[place], self.now[place]
        variance = float(y.var())
        if variance == 0:
            return 0.0, now
        rest = y - weights @ columns
        by_chance = DEGREE / y.size
        share = (1 - float(rest.var()) / variance - by_chance) / (1 - by_chance)
        return (share, min(now, _half(rest[good], self._ends))) if share > 0 else (0.0, now)

    def _gain(self, columns: FloatArray, weights: FloatArray) -> float:
        if not len(self._landed):
            return 0.0
        best = (weights[:, len(self._values) :].T @ columns).max(axis=0)
        return max(0.0, float(best.mean()) - self._best)


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


def _columns(score: FloatArray) -> FloatArray:
    """Return the polynomials (terms, n) in the rank of a score."""
    return np.asarray(legvander(2 * rank_of(score) - 1, DEGREE).T, dtype=np.float64)


def _solved(columns: FloatArray, product: FloatArray) -> FloatArray:
    normal = np.einsum("in,jn->ij", columns, columns)
    normal[np.diag_indices_from(normal)] += 1e-9 * columns.shape[1]
    return np.asarray(np.linalg.solve(normal, product), dtype=np.float64)


def _half(values: FloatArray, ends: Sequence[float]) -> float:
    if not values.size:
        return 0.0
    low, high = np.quantile(values, ends)
    return float(high - low) / 2
