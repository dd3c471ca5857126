"""Moves of the latents that batches share, with every batch's own held.

Given the batches' own latents, those shared have a posterior of few dimensions that many readings
make nearly normal. Each chain gets its own normal reference there, from Gauss-Newton steps that
begin at one place for all chains and so do not depend on where the chain is; slices around it
leave the posterior as it is however rough the reference (see `elliptical_slice`).
"""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.elliptical_slice import Reference, slice_step
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.model.replicates import Places

_NEWTON_STEPS = 2
_SLICES = 3
_FARTHEST = 8.0


class SharedLatents:
    """The latents that several batches' readings depend on; references begin at `start`."""

    def __init__(self, slopes: Linearisation, layout: BlockLayout, start: FloatArray) -> None:
        self.slopes = slopes
        self.layout = layout
        self.start = start
        self._rows = layout.shared
        width = len(self._rows)
        none = np.zeros((len(layout.rows), 0), dtype=int)
        self._alone = BlockLayout(layout.readings, width, np.arange(width), none, layout.rows)
        self._moves = slopes.moves(self._rows)

    def move(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Move the shared latents of every chain; returns state (latents, chains) and level."""
        reference = self._reference(state)
        here = state[self._rows]

        def log_likelihood(shared: FloatArray, chains: Places) -> FloatArray:
            whole = state[:, chains]
            whole[self._rows] = shared
            return self.slopes.model.log_likelihood(whole)

        for _ in range(_SLICES):
            here, level = slice_step(log_likelihood, reference, rng, here, level, by_chain=True)
        state = state.copy()
        state[self._rows] = here
        return state, level

    def _reference(self, state: FloatArray) -> Reference:
        at, shared = state.copy(), self._rows
        at[shared] = self.start[:, None]
        for _ in range(_NEWTON_STEPS):
            _, residual, (slope, _) = self.slopes.moved_apart(at, self.layout, self._moves)
            normals = self._alone.normals((slope, slope[..., :0]))
            gap = normals.times(at[shared]) - np.where(np.isfinite(residual), residual, 0.0).T
            middle = normals.transposed(normals.solve(gap))
            at[shared] = np.clip(middle, -_FARTHEST, _FARTHEST)
        return Reference(at[shared], normals)
