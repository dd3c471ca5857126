"""Moves of the latents that batches share, every batch's own following along.

With a batch's own latents held, what is shared can only move as far as the readings' errors let
it, a little in a long log. So own latents follow by a fixed matrix, the regression of own on
shared under the linearisation: own = rest + matrix shared. Under it rest and shared are
independent, and one draw of shared given rest forgets where it began; beyond it, slices keep the
posterior as it is. The change of variables is a shear, whose volume is 1.
Source: Papaspiliopoulos, Roberts & Skoeld (2007), A general framework for the parametrization of
hierarchical models, Statistical Science 22, 59 (from memory).
"""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.block_normals import BlockLayout, BlockNormals
from brewsim.study.inference.elliptical_slice import Reference, slice_step
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.surface_normals import WholeLayout
from brewsim.study.model.replicates import Places

_WIDENINGS = (1.0, 1.0, 2.0)


class FollowedLatents:
    """The shared latents with own ones that follow, as a linearisation has them.

    Scatters stay: own latents do not follow them along a line.
    """

    def __init__(self, model: Model, layout: BlockLayout) -> None:
        self.model = model
        self.layout = layout
        self._moved_ones = model.mixing.not_scatters(layout.shared)
        self._rows = layout.shared[self._moved_ones]
        self._matrix = np.zeros((*layout.own.shape, len(self._rows)))
        self._references: list[Reference] = []

    def learn(self, centre: FloatArray, normals: BlockNormals) -> None:
        """Take the matrix and the reference from normals at a centre, of one chain."""
        if not len(self._rows):
            return
        leaned = normals.leaned[0][..., self._moved_ones]
        self._matrix = -np.matmul(normals.own[0].transpose(0, 2, 1), leaned)
        flat = (-1, len(self._rows))
        shared = normals.shared[0][..., self._moved_ones]
        known = shared.reshape(flat).T @ leaned.reshape(flat)
        values, vectors = np.linalg.eigh(0.5 * (known + known.T))
        slope = (np.sqrt(np.maximum(values, 0.0)) * vectors).T[None]
        place = WholeLayout(*slope.shape[1:])
        middle = centre[self._rows]
        self._references = [Reference(middle, place.normals((slope / w,))) for w in _WIDENINGS]

    def move(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Move every chain once with each width; returns state (latents, chains) and level."""
        for reference in self._references:
            state, level = self._moved(reference, rng, state, level)
        return state, level

    def _moved(
        self, reference: Reference, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        start = state[self._rows]

        def log_target(shared: FloatArray, chains: Places) -> FloatArray:
            whole = self._followed(state[:, chains], shared - start[:, chains])
            return self.model.log_likelihood(whole) - self._own_square(whole)

        shared, height = slice_step(
            log_target, reference, rng, start, level - self._own_square(state), by_chain=True
        )
        state = self._followed(state, shared - start)
        return state, height + self._own_square(state)

    def _own_square(self, state: FloatArray) -> FloatArray:
        own = state[self.layout.own[self.layout.own < self.layout.latents]]
        return np.asarray(0.5 * (own**2).sum(axis=0))

    def _followed(self, state: FloatArray, step: FloatArray) -> FloatArray:
        """Return the state after this step (shared, chains) of the shared latents."""
        whole = np.concatenate([state, np.zeros((1, state.shape[1]))])
        whole[self._rows] += step
        whole[self.layout.own] += np.matmul(self._matrix, step)
        return whole[:-1]
