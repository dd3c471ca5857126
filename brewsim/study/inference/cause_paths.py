"""Paths from an ordinary batch to a measured one, a cause at a time, each step credited to it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import run
from brewsim.study.inference.correlated_latents import completed
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.factor import Factor
from brewsim.study.model.sampling import Assembly

_SAMPLES_AT_ONCE = 16_384
"""Steps are run together up to so many samples: calls of formulas cost more than samples do."""


@dataclass(frozen=True)
class Cause:
    """One kind of one factor in this batch: what it adds to the factor's score in every draw."""

    row: int
    factor: Factor
    kind: str
    returns: bool
    score: FloatArray


class CausePaths:
    """Telescoping of all wanted outcomes over all causes upstream of them."""

    def __init__(
        self,
        learned: Learned,
        batch: Batch,
        outcomes: Sequence[str],
        against: str,
        rng: np.random.Generator,
    ) -> None:
        self.batch, self.against, problem = batch, against, batch.problem
        self.graph = problem.graph.pruned(outcomes)
        self.outcomes = tuple(outcomes)
        self.assembly = Assembly(problem, self.graph.inputs)
        self.places = self.assembly.active
        self.count = len(learned.replicate)
        self.learned = learned
        self.causes: list[Cause] = []
        self._kept = np.zeros((len(self.places), self.count))
        whole = completed(problem, batch, learned.draws, rng, self.count)
        for row, place in enumerate(self.places):
            self._add_causes(row, problem.factors[place], whole)
        self.credit = self._telescope(rng)
        never = np.zeros((len(self.causes), self.count), dtype=bool)
        self.start, self.end = self._outcomes(never), self._outcomes(~never)

    def _add_causes(self, row: int, factor: Factor, whole: Mapping[str, FloatArray]) -> None:
        """Note what of a factor's score this batch changed; the rest is the same before and after.

        A latent that no reading reached stays at its middle; where it lasts and the house is the
        reference, it is as drawn in `whole`, the same before and after.
        """
        names = latent_names(factor, self.batch)
        for kind, share in factor.kinds.items():
            latent = self.learned.draws.get(names[kind])
            own = kind == "batch" or (kind == "lot" and not factor.lot)
            if latent is None:
                if not own and self.against == "house":
                    self._kept[row] += np.sqrt(share) * whole[names[kind]]
            elif self.against == "recipe" or own:
                self.causes.append(Cause(row, factor, kind, not own, np.sqrt(share) * latent))
            else:
                self._kept[row] += np.sqrt(share) * latent

    def _outcomes(self, swapped: NDArray[np.bool_]) -> FloatArray:
        """Return the outcomes (outcomes, n) with these causes (causes, n) swapped.

        n is a multiple of the draws, which come one after the other again and again.
        """
        size = swapped.shape[1]
        again = size // self.count
        rows: list[FloatArray] = [np.zeros(size)] * len(self.batch.problem.factors)
        for place, kept in zip(self.places, self._kept, strict=True):
            rows[place] = np.tile(kept, again)
        for cause, now in zip(self.causes, swapped, strict=True):
            place = self.places[cause.row]
            rows[place] = rows[place] + np.where(now, np.tile(cause.score, again), 0.0)
        values = run(self.graph.nodes.values(), self.assembly.values(rows))
        return np.stack(
            [
                np.broadcast_to(values[name].reshape(-1, values[name].shape[-1])[0], (size,))
                for name in self.outcomes
            ]
        )

    def _telescope(self, rng: np.random.Generator) -> FloatArray:
        causes = len(self.causes)
        credit = np.zeros((len(self.outcomes), causes, self.count))
        order = np.argsort(rng.random((causes, self.count)), axis=0)
        for walk in (order, order[::-1]):
            place = np.argsort(walk, axis=0)
            last = self._outcomes(place < 0)[:, None]
            at_once = max(1, _SAMPLES_AT_ONCE // self.count)
            for first in range(0, causes, at_once):
                steps = np.arange(first, min(first + at_once, causes))
                swapped = (place[:, None] <= steps[:, None]).reshape(causes, -1)
                now = self._outcomes(swapped).reshape(len(self.outcomes), len(steps), -1)
                index = np.broadcast_to(walk[steps], now.shape)
                change = 0.5 * np.diff(now, axis=1, prepend=last)
                change += np.take_along_axis(credit, index, axis=1)
                np.put_along_axis(credit, index, change, axis=1)
                last = now[:, -1:]
        return credit
