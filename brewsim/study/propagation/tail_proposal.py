"""Where to draw so that what is rare is common: a mixture of t laws in the few directions it needs.

Drawing from another law is exact whatever that law is, as long as it reaches everywhere: the
weights put it right. A t law's tails keep every weight bounded; directions in which what lies
beyond looks like everything else are left as they are, so the number of inputs does not matter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri, gammaln, ndtri

from brewsim.dims import FloatArray

_FREEDOM = 6.0
_HUMPS = (1, 2, 3, 4, 6)
_GAIN = 0.02
_MOST_DIRECTIONS = 10
_ROUNDS, _SETTLED = 30, 1e-3
_LEAST_WEIGHT = 1e-3
_NOISE = 1.5

Weighted = Sequence[tuple[FloatArray, FloatArray]]
"""For each replicate scores beyond the limit, (dimension, n), and their weights, (n,)."""


@dataclass(frozen=True)
class Mixture:
    """Humps with shares (k,), middles (k, m) and Cholesky roots (k, m, m) of their tables."""

    shares: FloatArray
    middles: FloatArray
    roots: FloatArray

    def log_density(self, places: FloatArray, freedom: float = np.inf) -> FloatArray:
        """Return the log density at places (m, n), of normals or of t laws, (n,)."""
        return np.asarray(np.logaddexp.reduce(self.humps(places, freedom), axis=0))

    def humps(self, places: FloatArray, freedom: float = np.inf) -> FloatArray:
        """Return each hump's part of it, (k, n)."""
        size = len(places)
        parts = []
        for share, middle, root in zip(self.shares, self.middles, self.roots, strict=True):
            apart = (np.linalg.solve(root, places - middle[:, None]) ** 2).sum(axis=0)
            level = np.log(share) - np.log(np.diag(root)).sum()
            if np.isinf(freedom):
                parts.append(level - size / 2 * np.log(2 * np.pi) - apart / 2)
                continue
            level += gammaln((freedom + size) / 2) - gammaln(freedom / 2)
            level -= size / 2 * np.log(freedom * np.pi)
            parts.append(level - (freedom + size) / 2 * np.log1p(apart / freedom))
        return np.array(parts)

    def drawn(self, uniforms: FloatArray) -> FloatArray:
        """Return places (m, n) of the t laws for uniforms (2 + m, n)."""
        hump = np.searchsorted(np.cumsum(self.shares)[:-1], uniforms[0])
        steps = ndtri(uniforms[2:]) / np.sqrt(chdtri(_FREEDOM, uniforms[1]) / _FREEDOM)
        places = np.empty_like(steps)
        for number, (middle, root) in enumerate(zip(self.middles, self.roots, strict=True)):
            own = hump == number
            places[:, own] = middle[:, None] + root @ steps[:, own]
        return places


@dataclass(frozen=True)
class Proposal:
    """A law of normal scores: a mixture along some directions (dimension, m), else as before."""

    directions: FloatArray
    mixture: Mixture

    @property
    def coordinates(self) -> int:
        """How many uniforms one draw takes."""
        return len(self.directions) + self.directions.shape[1] + 2

    def drawn(self, uniforms: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return scores (dimension, n) and their log weights (n,) for (coordinates, n) uniforms."""
        size = self.directions.shape[1]
        along = self.mixture.drawn(uniforms[: 2 + size])
        scores = ndtri(uniforms[2 + size :])
        scores += self.directions @ (along - self.directions.T @ scores)
        normal = -(along**2).sum(axis=0) / 2 - size / 2 * np.log(2 * np.pi)
        return scores, normal - self.mixture.log_density(along, _FREEDOM)


def fitted(beyond: Weighted, rng: np.random.Generator) -> Proposal:
    """Return a proposal that looks like what lies beyond.

    As many humps as tell the other half of the replicates best (cross-entropy). Source of the
    idea: Kurtz & Song, Structural Safety 42 (2013) 35; of working in few directions: El Masri,
    Morio & Simatos, Reliability Engineering & System Safety 216 (2021) 107991.
    """
    directions = _directions(beyond)
    along = [(directions.T @ scores, weights) for scores, weights in beyond]
    halves = _together(along[::2]), _together(along[1::2])
    best, humps = -np.inf, 1
    for count in _HUMPS:
        held = 0.0
        for own, other in (halves, halves[::-1]):
            found = _mixture(*own, count, rng).log_density(other[0])
            held += float(np.average(found, weights=other[1]))
        if held <= best + _GAIN:
            break
        best, humps = held, count
    return Proposal(directions, _mixture(*_together(along), humps, rng))


def _together(parts: Weighted) -> tuple[FloatArray, FloatArray]:
    scores, weights = zip(*parts, strict=True)
    return np.concatenate(scores, axis=1), np.concatenate(weights)


def _directions(beyond: Weighted) -> FloatArray:
    """Return the directions whose mean square is not 1 beyond, more than chance would have it."""
    scores, weights = _together(beyond)
    shares = weights / weights.sum()
    squares, axes = np.linalg.eigh((scores * shares) @ scores.T)
    noise = _NOISE * np.sqrt(len(scores) * (shares**2).sum())
    far = np.where(squares >= 1, squares - 1, 1 / np.maximum(squares, 1e-12) - 1)
    told = np.flatnonzero((squares > (1 + noise) ** 2) | (squares < max(0.0, 1 - noise) ** 2))
    kept = told[np.argsort(-far[told])][:_MOST_DIRECTIONS]
    return axes[:, kept if len(kept) else [int(np.argmax(far))]]


def _mixture(
    places: FloatArray, weights: FloatArray, humps: int, rng: np.random.Generator
) -> Mixture:
    """Return a mixture of normals by expectation and maximisation, from weighted places (m, n)."""
    weights = weights / weights.sum()
    count, size = 1 / (weights**2).sum(), len(places)
    middles = _starts(places, weights, humps, rng)
    shares, tables = np.full(humps, 1 / humps), np.array([np.eye(size)] * humps)
    before = -np.inf
    for _ in range(_ROUNDS):
        each = Mixture(shares, middles, np.linalg.cholesky(tables)).humps(places)
        whole = np.logaddexp.reduce(each, axis=0)
        owned = np.exp(each - whole) * weights
        reached = float((weights * whole).sum())
        sums = owned.sum(axis=1)
        shares = np.maximum(sums, _LEAST_WEIGHT)
        shares /= shares.sum()
        for k in np.flatnonzero(sums * count >= 2 * size + 5):
            middles[k] = (places * owned[k]).sum(axis=1) / sums[k]
            apart = places - middles[k][:, None]
            held = size / (size + sums[k] * count)
            tables[k] = (1 - held) * (apart * owned[k]) @ apart.T / sums[k] + held * np.eye(size)
        if reached - before < _SETTLED:
            break
        before = reached
    return Mixture(shares, middles, np.linalg.cholesky(tables))


def _starts(
    places: FloatArray, weights: FloatArray, humps: int, rng: np.random.Generator
) -> FloatArray:
    """Return places far from each other to start the humps at, (humps, m)."""
    chosen = [places[:, rng.choice(len(weights), p=weights)]]
    for _ in range(humps - 1):
        squares = [((places - one[:, None]) ** 2).sum(axis=0) for one in chosen]
        chance = np.min(squares, axis=0) * weights
        total = chance.sum()
        place = rng.choice(len(weights), p=chance / total) if total > 0 else 0
        chosen.append(places[:, place])
    return np.array(chosen)
