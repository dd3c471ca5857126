"""How readings and answers move with the latents: slopes, whole or in blocks by batch."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.batched_evaluation import Evaluated
from brewsim.study.inference.block_normals import layout_of
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.surface_normals import Layout, Normals, WholeLayout
from brewsim.study.model.batch import Batch, bias_latent, latent_names
from brewsim.study.model.replicates import Flags, Places

_STEP = 1e-5
_WIDE_STEP = 0.05

Move = tuple[frozenset[int], Places]
"""Latents moved at once, and which of them each reading tells of, -1 for none."""


class Linearisation:
    """Slopes of a model's residuals in its latents."""

    def __init__(self, model: Model) -> None:
        self.model = model

    @property
    def latents(self) -> int:
        """How many latents there are."""
        return len(self.model.names)

    @property
    def numbers(self) -> int:
        """Numbers that the slopes of one chain take."""
        return self.layout.numbers

    def residuals(self, state: FloatArray, chains: Places) -> FloatArray:  # noqa: ARG002
        """Return residuals (readings, n) at a state (latents, n); chains are all alike."""
        return self.model.residuals(state)

    def at(self, centre: FloatArray) -> Sequence[FloatArray]:
        """Return d residual / d latent at `centre` (latents,), in the layout, for one chain.

        Central differences over a step that is wide beside a kink of a formula.
        """
        both = np.repeat(centre[:, None], 2, axis=1)
        values = [plan.evaluate(self.model.scores(both)) for plan in self.model.plans]
        room = self.layout.empty(1)
        for latents, owner in self._moves:
            moved = both.copy()
            moved[list(latents)] += (_WIDE_STEP, -_WIDE_STEP)
            moved = self.model.scores(moved)
            residual = self.model.residuals_of(
                self.model.read(self._moved(values, moved, latents), moved)
            )
            change = (residual[:, :1] - residual[:, 1:]) / (2 * _WIDE_STEP)
            self.layout.put(room, owner, np.where(np.isfinite(change), change, 0.0))
        return room

    def _moved(
        self, values: Sequence[Evaluated], state: FloatArray, latents: frozenset[int]
    ) -> list[Evaluated]:
        plans, reach = (
            zip(self.model.plans, values, strict=True),
            self.model.mixing.reached(latents),
        )
        return [plan.moved(before, state, reach) for plan, before in plans]

    def slopes(self, state: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return log likelihood (n,), residuals (readings, n) and slopes (n, readings, latents)."""
        layout = WholeLayout(len(self.reach.T), len(self.model.names))
        predicted, residual, room = self.moved_apart(state, layout, self._moves)
        return self.model.level_of(predicted), residual, room[0]

    def normals(
        self,
        state: FloatArray,
        chains: Places,  # noqa: ARG002 - all are alike here
    ) -> tuple[FloatArray, FloatArray, Normals]:
        """Return log likelihood (n,), residuals (readings, n) and the surface's normals."""
        predicted, residual, room = self.moved_apart(state, self.layout, self._moves)
        return self.model.level_of(predicted), residual, self.layout.normals(room)

    def moved_apart(
        self, state: FloatArray, layout: Layout, moves: Sequence[Move]
    ) -> tuple[FloatArray, FloatArray, Sequence[FloatArray]]:
        """Return predictions, residuals and slopes in a layout, by forward differences.

        Latents that reach no reading in common are moved at once, and only what depends on them
        runs again.
        """
        scores = self.model.scores(state)
        values = [plan.evaluate(scores) for plan in self.model.plans]
        predicted = self.model.read(values, scores)
        residual = self.model.residuals_of(predicted)
        room = layout.empty(state.shape[1])
        for latents, owner in moves:
            moved = state.copy()
            moved[list(latents)] += _STEP
            moved = self.model.scores(moved)
            after = self._moved(values, moved, latents)
            change = (self.model.residuals_of(self.model.read(after, moved)) - residual) / _STEP
            layout.put(room, owner, np.where(np.isfinite(change), change, 0.0))
        self.model.work.algebra(state.shape[1] * layout.operations)
        return predicted, residual, room

    @cached_property
    def layout(self) -> Layout:
        """How the slopes of the readings are kept."""
        owner = np.argmax(self.model.owner, axis=0)
        return layout_of(self.reach, owner, in_blocks=bool(self.model.mixing.scatters))

    @cached_property
    def reach(self) -> Flags:
        """Return which latents reach which readings and answers, (latents, both)."""
        rows = len(self.model.readings) + len(self.model.answers)
        reach = np.zeros((len(self.model.names), rows), dtype=bool)
        for column, (batch, reading) in enumerate(self.model.readings):
            if reading.bias > 0:
                reach[self.model.index[bias_latent(reading)], column] = True
            if reading.known is None:
                reach[self._upstream(batch, reading.quantity), column] = True
        for column, answer in enumerate(self.model.answers, start=len(self.model.readings)):
            reach[[self.model.index[name] for name in answer.latents], column] = True
            for name, quantity in answer.cups:
                reach[self._upstream(self.model.by_id[name], quantity), column] = True
        return self.model.mixing.spread(reach)

    def _upstream(self, batch: Batch, quantity: str) -> list[int]:
        """Return the latents that a quantity of a batch depends on."""
        upstream = batch.problem.graph.upstream([quantity])
        factors = [f for f in batch.problem.factors if f.quantity in upstream]
        return [self.model.index[name] for f in factors for name in latent_names(f, batch).values()]

    @cached_property
    def _moves(self) -> Sequence[Move]:
        return self.moves(np.arange(len(self.reach)))

    def moves(self, latents: Places) -> Sequence[Move]:
        """Return the groups of these latents moved at once, each with readings of its own."""
        owners: list[Places] = []
        members: list[list[int]] = []
        for latent in latents:
            reached = self.reach[latent]
            free = (i for i, owner in enumerate(owners) if (owner[reached] < 0).all())
            place = next(free, len(owners))
            if place == len(owners):
                owners.append(np.full(len(reached), -1))
                members.append([])
            owners[place][reached] = latent
            members[place].append(int(latent))
        return [(frozenset(own), owner) for own, owner in zip(members, owners, strict=True)]
