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
_ROUNDS, _TRIES, _LOOK_EVERY = 2000, 48, 100
_MOST_STARTS = 4
_PER_DOT, _SLACK = 0.5, 0.45
_PER_CORRELATION = 0.05


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
    search = _Search(margins, counts, dots)
    found = [_improved(search, np.random.default_rng(seed))]
    while not found[-1].holds and len(found) < _MOST_STARTS:
        found.append(_improved(search, np.random.default_rng((seed, len(found)))))
    return min(found, key=lambda one: (not one.holds, max(one.margins.values())))


def _improved(search: "_Search", rng: np.random.Generator) -> LinkedDraws:
    """Exchange one draw at a time, from the best of some plain choices."""
    chosen = search.start(rng)
    cost = search.costs(chosen[None])[0]
    taken = np.zeros(search.scores.shape[1], dtype=bool)
    for count in range(_ROUNDS):
        if count % _LOOK_EVERY == 0 and search.result(chosen).holds:
            break
        trials = np.repeat(chosen[None], _TRIES, axis=0)
        new = search.usable[rng.integers(len(search.usable), size=_TRIES)]
        trials[np.arange(_TRIES), rng.integers(search.dots, size=_TRIES)] = new
        taken[chosen] = True
        fresh = ~taken[new]
        taken[chosen] = False
        found = np.where(fresh, search.costs(trials), np.inf)
        best = int(np.argmin(found))
        if found[best] < cost:
            chosen, cost = trials[best], found[best]
    return search.result(np.sort(chosen))


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
        apart = np.abs(self._products(chosen) - self.together).mean(axis=(1, 2))
        over = np.maximum(0.0, counts - _SLACK).sum(axis=1)
        steep = margins.mean(axis=1) + 2 * np.maximum(0.0, margins - 0.7 * MARGIN).sum(axis=1)
        return np.asarray(steep + _PER_DOT * over + _PER_CORRELATION * apart)

    def start(self, rng: np.random.Generator) -> NDArray[np.intp]:
        """Return the best of some plain choices."""
        trials = np.stack([rng.choice(self.usable, self.dots, replace=False) for _ in range(64)])
        return np.asarray(trials[int(np.argmin(self.costs(trials)))])

    def result(self, chosen: NDArray[np.intp]) -> LinkedDraws:
        """Return the choice with what it is off by."""
        margins, counts = self._off(chosen[None])
        return LinkedDraws(
            chosen,
            dict(zip(self.names, map(float, margins[0]), strict=True)),
            dict(zip(self.asked, map(float, counts[0]), strict=True)),
        )
