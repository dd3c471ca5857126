"""Fifty whole draws that stand for all: a subset whose margins and counts are those of the many."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import StudyError

DOTS = 50
MARGIN = 0.05
"""Mean distance of the chosen draws' quantiles from the wanted ones, in standard deviations."""
HALF_A_DOT = 0.5
_SLOTS = 5
"""Draws that are tried together, each exchanged for every other candidate."""
_MOST_STARTS, _SHAKEN = 16, 0.2
_PER_DOT = 0.5
_PER_CORRELATION = 0.05
_NO_GAIN = 1e-12


@dataclass(frozen=True)
class Margin:
    """An outcome of the candidates, on the axis it is drawn on, and how it should be spread.

    `values` is (candidates,), `quantiles` (dots,) the wanted quantiles (i + 1/2)/dots.
    """

    values: FloatArray
    quantiles: FloatArray


@dataclass(frozen=True)
class Count:
    """A yes or no of the candidates, (candidates,), and the chance of yes it should show."""

    inside: NDArray[np.bool_]
    chance: float


@dataclass(frozen=True)
class LinkedDraws:
    """The places of the chosen candidates, and how far their margins and counts are off.

    `margins` are mean distances of quantiles in standard deviations, `counts` are in draws.
    """

    places: NDArray[np.intp]
    margins: Mapping[str, float]
    counts: Mapping[str, float]

    @property
    def holds(self) -> bool:
        """Whether every margin and every count is as near as a reader may rely on."""
        return all(m <= MARGIN for m in self.margins.values()) and all(
            c <= HALF_A_DOT + 1e-9 for c in self.counts.values()
        )


def linked_draws(
    margins: Mapping[str, Margin], counts: Mapping[str, Count], *, dots: int = DOTS, seed: int = 1
) -> LinkedDraws:
    """Choose draws whose margins, counts and correlations are those of all draws.

    One set of true draws can then stand in every picture: the same draw is the same batch. The
    set is improved by exchanging one draw at a time. Raises StudyError where there are fewer
    candidates with a value than dots.
    """
    if not margins:
        raise StudyError("linked draws need at least one outcome")
    search, rng = _Search(margins, counts, dots), np.random.default_rng(seed)
    found = [_improved(search, search.start(rng), rng)]
    while not found[-1].holds and len(found) < _MOST_STARTS:
        found.append(_improved(search, search.shaken(found[-1].places, rng), rng))
    return min(found, key=lambda one: (not one.holds, max(one.margins.values())))


def _improved(search: "_Search", chosen: NDArray[np.intp], rng: np.random.Generator) -> LinkedDraws:
    """Exchange one draw at a time while that helps and is needed."""
    in_vain = 0
    while in_vain < search.dots:
        for slots in np.array_split(rng.permutation(search.dots), search.dots // _SLOTS or 1):
            if in_vain >= search.dots or search.result(chosen).holds:
                return search.result(np.sort(chosen))
            better = search.exchanged(chosen, slots)
            in_vain = in_vain + len(slots) if better is None else 0
            chosen = chosen if better is None else better
    return search.result(np.sort(chosen))


class _Line:
    """Candidates and wanted quantiles along one axis: what exchanges do to their distance.

    The mean distance of ordered draws from the quantiles is the area between the two steps of
    counts over the number of quantiles; an exchange moves the step by one between its two draws.
    """

    def __init__(self, scores: FloatArray, quantiles: FloatArray) -> None:
        grid = np.unique(np.concatenate([scores, quantiles]))
        self._widths, self._dots = np.diff(grid), len(quantiles)
        self._places = np.searchsorted(grid, scores)
        self._wanted = self._steps(np.searchsorted(grid, quantiles))

    def _steps(self, places: NDArray[np.intp]) -> FloatArray:
        """Return how many of some places lie at or below each piece of the grid."""
        found = np.bincount(places, minlength=len(self._widths) + 1)[:-1]
        return np.cumsum(found).astype(float)

    def moved(
        self, chosen: NDArray[np.intp], old: NDArray[np.intp], new: NDArray[np.intp]
    ) -> FloatArray:
        """Return how much the distance grows if draws `new` (n,) replace `old` (m,): (m, n)."""
        apart = self._steps(self._places[chosen]) - self._wanted
        areas = [
            np.concatenate([[0.0], np.cumsum((np.abs(apart + by) - np.abs(apart)) * self._widths)])
            for by in (1.0, -1.0)
        ]
        here, there = self._places[old][:, None], self._places[new]
        left = areas[0][here] - areas[0][there]
        right = areas[1][there] - areas[1][here]
        return np.asarray(np.where(there < here, left, right) / self._dots)


class _Search:
    """Candidates on standardised axes, and what a choice of them costs."""

    def __init__(
        self, margins: Mapping[str, Margin], counts: Mapping[str, Count], dots: int
    ) -> None:
        self.names, self.asked, self.dots = list(margins), list(counts), dots
        values = np.stack([m.values for m in margins.values()])
        self.usable = np.flatnonzero(np.isfinite(values).all(axis=0))
        if len(self.usable) < dots:
            raise StudyError(f"{len(self.usable)} draws with a value are too few for {dots} dots")
        known = values[:, self.usable]
        middle, spread = known.mean(axis=1)[:, None], known.std(axis=1)[:, None]
        spread[spread <= 1e-12 * np.abs(middle)] = np.inf  # one and the same value in every draw
        self.scores = np.where(np.isfinite(values), (values - middle) / spread, 0.0)
        wanted = np.stack([m.quantiles for m in margins.values()])
        self.quantiles = (wanted - middle) / spread
        self.inside = np.array([c.inside for c in counts.values()], dtype=float).reshape(
            len(counts), values.shape[1]
        )
        self.wanted = np.array([dots * c.chance for c in counts.values()])
        self.together = self._products(self.usable[None])[0]
        self._squares = self.scores[:, None, :] * self.scores[None, :, :]
        self._lines = [_Line(*pair) for pair in zip(self.scores, self.quantiles, strict=True)]

    def _products(self, chosen: NDArray[np.intp]) -> FloatArray:
        rows = self.scores[:, chosen].transpose(1, 0, 2)
        return rows @ rows.transpose(0, 2, 1) / chosen.shape[1]

    def _off(self, chosen: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
        """Return each choice's distances of margins (choices, outcomes) and of counts."""
        ordered = np.sort(self.scores[:, chosen], axis=2)
        margins = np.abs(ordered - self.quantiles[:, None, :]).mean(axis=2).T
        counts = np.abs(self.inside[:, chosen].sum(axis=2) - self.wanted[:, None]).T
        return margins, counts

    def costs(self, chosen: NDArray[np.intp]) -> FloatArray:
        """Return what each choice, (choices, dots), costs."""
        margins, counts = self._off(chosen)
        return self._cost(margins.T, counts.T, self._products(chosen).transpose(1, 2, 0))

    def _cost(self, margins: FloatArray, counts: FloatArray, products: FloatArray) -> FloatArray:
        """Return costs of distances, (outcomes, ...), of counts and of products of scores."""
        wanted = self.together.reshape(*self.together.shape, *(1,) * (products.ndim - 2))
        apart = np.abs(products - wanted).mean(axis=(0, 1))
        over = (counts > HALF_A_DOT + 1e-9).astype(float) * counts
        steep = margins.mean(axis=0) + 2 * np.maximum(0.0, margins - 0.7 * MARGIN).sum(axis=0)
        return np.asarray(steep + _PER_DOT * over.sum(axis=0) + _PER_CORRELATION * apart)

    def exchanged(
        self, chosen: NDArray[np.intp], slots: NDArray[np.intp]
    ) -> NDArray[np.intp] | None:
        """Return the best choice with one of some draws exchanged, None where none is better."""
        new, old = np.setdiff1d(self.usable, chosen), chosen[slots]
        if not len(new):
            return None
        margins = self._off(chosen[None])[0][0]
        moved = np.stack([line.moved(chosen, old, new) for line in self._lines])
        short = self.inside[:, chosen].sum(axis=1) - self.wanted
        counts = self.inside[:, None, new] - self.inside[:, old, None]
        products = self._products(chosen[None])[0][:, :, None, None] + (
            self._squares[:, :, None, new] - self._squares[:, :, old, None]
        ) / len(chosen)
        costs = self._cost(
            margins[:, None, None] + moved, np.abs(short[:, None, None] + counts), products
        )
        slot, place = np.unravel_index(int(np.argmin(costs)), costs.shape)
        if costs[slot, place] >= self.costs(chosen[None])[0] - _NO_GAIN:
            return None
        better = chosen.copy()
        better[slots[slot]] = new[place]
        return better

    def start(self, rng: np.random.Generator) -> NDArray[np.intp]:
        """Return the best of some plain choices."""
        trials = np.stack([rng.choice(self.usable, self.dots, replace=False) for _ in range(64)])
        return np.asarray(trials[int(np.argmin(self.costs(trials)))])

    def shaken(self, chosen: NDArray[np.intp], rng: np.random.Generator) -> NDArray[np.intp]:
        """Return a choice with some of its draws exchanged for any others."""
        free = np.setdiff1d(self.usable, chosen)
        count = min(len(free), int(np.ceil(_SHAKEN * self.dots)))
        moved = chosen.copy()
        moved[rng.choice(self.dots, count, replace=False)] = rng.choice(free, count, replace=False)
        return moved

    def result(self, chosen: NDArray[np.intp]) -> LinkedDraws:
        """Return the choice with what it is off by."""
        margins, counts = self._off(chosen[None])
        return LinkedDraws(
            chosen,
            dict(zip(self.names, map(float, margins[0]), strict=True)),
            dict(zip(self.asked, map(float, counts[0]), strict=True)),
        )
