"""Every batch's own latents as chains of their own, given what batches share.

Given the latents that several batches depend on, batches are independent: each moves along the
surface of its own readings, and is accepted or not by itself, however many there are.
"""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.surface_normals import Normals, WholeLayout
from brewsim.study.model.replicates import Places


class BatchSurfaces:
    """The surfaces of all batches of all chains of a state, batch by batch within a chain.

    A chain here is a batch of a chain there: number chain * batches + batch. Its latents are the
    batch's own, filled up with some that nothing depends on.
    """

    def __init__(self, slopes: Linearisation, layout: BlockLayout, state: FloatArray) -> None:
        self.slopes = slopes
        self.layout = layout
        self.state = state
        self._moves = slopes.moves(np.sort(layout.own[layout.own < layout.latents]))

    @property
    def latents(self) -> int:
        """How many latents a batch has of its own, at most."""
        return self.layout.own.shape[1]

    @property
    def numbers(self) -> int:
        """Numbers that the slopes of one batch take."""
        return self.layout.rows.shape[1] * self.latents

    def start(self) -> tuple[FloatArray, FloatArray]:
        """Return the own latents of every batch, (latents, chains), and their log likelihoods."""
        padded = np.concatenate([self.state, np.zeros((1, self.state.shape[1]))])
        own = padded[self.layout.own].transpose(1, 2, 0).reshape(self.latents, -1)
        return own, self.slopes.model.by_batch(self.state).T.ravel()

    def whole(self, own: FloatArray) -> FloatArray:
        """Return the state with these own latents of every batch."""
        return self._placed(own, np.arange(own.shape[1]))[0]

    def residuals(self, state: FloatArray, chains: Places) -> FloatArray:
        """Return residuals (readings, n) at a state (latents, n) of these batches."""
        whole, column, batch = self._placed(state, chains)
        return self._picked(self.slopes.model.residuals(whole), column, batch)

    def normals(self, state: FloatArray, chains: Places) -> tuple[FloatArray, FloatArray, Normals]:
        """Return log likelihood (n,), residuals (readings, n) and normals at (latents, n)."""
        whole, column, batch = self._placed(state, chains)
        predicted, residual, room = self.slopes.moved_apart(whole, self.layout, self._moves)
        slope = room[1][column, batch]
        level = self.slopes.model.by_batch_of(predicted)[batch, column]
        normals = WholeLayout(*slope.shape[1:]).normals((slope,))
        return level, self._picked(residual, column, batch), normals

    def _placed(self, own: FloatArray, chains: Places) -> tuple[FloatArray, Places, Places]:
        """Return whole states with these own latents, and the column and batch of each of them."""
        chain, batch = np.divmod(chains, len(self.layout.own))
        used, column = np.unique(chain, return_inverse=True)
        whole = np.concatenate([self.state[:, used], np.zeros((1, len(used)))])
        whole[self.layout.own[batch], column[:, None]] = own.T
        return whole[:-1], column, batch

    def _picked(self, residual: FloatArray, column: Places, batch: Places) -> FloatArray:
        """Return the residuals (readings, n) of one batch each."""
        padded = np.concatenate([residual, np.zeros((1, residual.shape[1]))])
        return padded[self.layout.rows[batch], column[:, None]].T
