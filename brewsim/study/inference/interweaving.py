"""Latents that batches share, drawn anew given every batch's scores.

A factor's score in a batch is a sum of what lasts, what a lot shares and what is the batch's own.
Given the scores, nothing that was read depends on how they divide, so the shared part has a
normal distribution of its own and is drawn from it: no move is refused and no formula runs. Next
to moves with the batches' own parts held it forgets its start quickly where many batches know it.
Source: Yu & Meng (2011), To center or not to center: an ancillarity-sufficiency interweaving
strategy, J. Comput. Graph. Stat. 20, 531 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.scatter_moves import Scatters
from brewsim.study.model.batch import latent_names
from brewsim.study.model.replicates import Places
from brewsim.study.model.scatter import scale_of


@dataclass(frozen=True)
class _Division:
    """A shared latent with weight `share`, and the batches' own with weight `own`."""

    shared: int
    owns: Places
    share: float
    own: float
    scatter: int = -1

    def redraw(self, rng: np.random.Generator, state: FloatArray, everything: int) -> None:
        """Draw the shared latent given every batch's sum; the sums stay."""
        own = np.full(state.shape[1], self.own)
        if self.scatter >= 0:
            own = own * scale_of(state[everything], state[self.scatter])
        total = self.share * state[self.shared] + own * state[self.owns]
        weight = self.share / own**2
        precision = 1.0 + len(self.owns) * self.share * weight
        middle = weight * total.sum(axis=0) / precision
        state[self.shared] = middle + rng.standard_normal(len(middle)) / np.sqrt(precision)
        state[self.owns] = (total - self.share * state[self.shared]) / own


class Interweaving:
    """Every division of a score that several batches share a part of."""

    def __init__(self, model: Model) -> None:
        self._divisions = _divisions(model)
        self.scatters = Scatters(model)

    def move(self, rng: np.random.Generator, state: FloatArray) -> FloatArray:
        """Return the state (latents, chains) with shared parts drawn anew, as likely as before."""
        state = state.copy()
        for division in self._divisions:
            division.redraw(rng, state, self.scatters.everything)
        self.scatters.redraw(rng, state)
        return state


Use = frozenset[tuple[str, str, float]]
"""The latents one score is made of: kind, name and weight."""


def _divisions(model: Model) -> Sequence[_Division]:
    """Return the divisions whose parts are used together and with the same weights everywhere."""
    uses: dict[str, set[Use]] = {}
    for batch in model.batches:
        for factor in batch.problem.factors:
            parts = latent_names(factor, batch)
            if parts and model.index.keys() >= set(parts.values()):
                weights = dict(factor.kinds.items())
                use = frozenset((kind, name, weights[kind] ** 0.5) for kind, name in parts.items())
                for name in parts.values():
                    uses.setdefault(name, set()).add(use)
    correlated = {model.names[place] for place in model.mixing.touched}
    scattered = {int(own): row for row, owns in model.mixing.scatters for own in owns}
    found = []
    for shared in sorted(uses):
        owns = {part for use in uses[shared] for part in use if part[0] == "batch"}
        names = {name for _, name, _ in owns}
        share = {weight for use in uses[shared] for _, name, weight in use if name == shared}
        own = {weight for _, _, weight in owns}
        together = all(any(part[0] == "batch" for part in use) for use in uses[shared])
        together &= all(shared in {part[1] for part in use} for one in names for use in uses[one])
        alike = len(share) == len(own) == 1
        if not together or not alike or shared in names or correlated & {shared, *names}:
            continue
        if len(names) > 1:
            places = np.array(sorted(model.index[name] for name in names))
            scatter = {scattered.get(int(place), -1) for place in places}
            if len(scatter) == 1:
                found.append(
                    _Division(model.index[shared], places, share.pop(), own.pop(), scatter.pop())
                )
    return found
