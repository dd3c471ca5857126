"""Moves of the latents of scatter, every batch's own following so that readings still hold.

With own latents z held, another scatter moves readings; with parts s z held, it has to suit every
part. Between them lies what readings leave free: under a linearisation, own latents given scatters
and what is shared are normal, z = m(s) + L(s) e. With e held the scatter moves as if own latents
had been integrated out; beyond the linearisation, slices keep the posterior as it is.
Source: Papaspiliopoulos, Roberts & Skoeld (2007), A general framework for the parametrization of
hierarchical models, Statistical Science 22, 59 (from memory).
"""

from collections.abc import Sequence

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.elliptical_slice import prior_reference, slice_step
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.surface_normals import times
from brewsim.study.model.replicates import Places
from brewsim.study.model.scatter import scale_of

_SLICES = 2
_LEAST = 1e-9
_EIGEN = 500
"""Multiplications worth the axes of a matrix, beside its rows times columns: measured."""


class FollowedScatters:
    """The scatter of every factor and of everything, with slopes taken at a centre."""

    def __init__(self, model: Model, layout: BlockLayout) -> None:
        self._model = model
        self._layout = layout
        self._everything = model.mixing.everything
        self._scatters = model.mixing.scatters
        self._rows = np.array([self._everything, *(row for row, _ in self._scatters)])
        self._reference = prior_reference(len(self._rows))
        self._which = np.zeros(layout.latents + 1, dtype=int)
        for place, (_, owns) in enumerate(self._scatters, start=1):
            self._which[owns] = place
        self._slope = np.zeros((*layout.rows.shape, layout.own.shape[1]))
        self._scale = np.ones(layout.own.shape)
        self._centre = np.zeros(layout.own.shape)

    def learn(self, centre: FloatArray, room: Sequence[FloatArray]) -> None:
        """Take slopes at a centre (latents,), not whitened, of one chain."""
        self._slope = room[1][0]
        self._scale = self._scales(centre[:, None])[0]
        self._centre = np.append(centre, 0.0)[self._layout.own]

    def move(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Move every chain; returns state (latents, chains) and level anew."""
        for _ in range(_SLICES if self._scatters else 0):
            state, level = self._moved(rng, state, level)
        return state, level

    def _moved(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        wanted = self._wanted(state)
        free, height = self._free(state, wanted)

        def log_target(rows: FloatArray, chains: Places) -> FloatArray:
            moved, high = self._held(state[:, chains], rows, free[chains], wanted[chains])
            return self._model.log_likelihood(moved) + high

        rows, level = slice_step(
            log_target, self._reference, rng, state[self._rows], level + height, by_chain=True
        )
        moved, height = self._held(state, rows, free, wanted)
        return moved, level - height

    def _scales(self, state: FloatArray) -> FloatArray:
        """Return s of every own latent, (chains, batches, own), 1 where none scales it."""
        common = state[self._everything]
        scales = [np.ones(len(common))]
        scales += [scale_of(common, state[row]) for row, _ in self._scatters]
        return np.stack(scales, axis=1)[:, self._which[self._layout.own]]

    def _wanted(self, state: FloatArray) -> FloatArray:
        """Return what slopes times own latents should come to, (chains, batches, readings)."""
        parts = self._centre * self._scale / self._scales(state)
        residual = self._model.residuals(self._with_own(state, parts))
        residual = self._layout.blocks(np.where(np.isfinite(residual), residual, 0.0).T)
        return times(self._slope, self._centre) - residual

    def _free(self, state: FloatArray, wanted: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return e of a state, (chains, batches, own), and what is added to its likelihood."""
        own = np.concatenate([state, np.zeros((1, state.shape[1]))])[self._layout.own]
        own = own.transpose(2, 0, 1)
        square, across, middle = self._normal(state, wanted)
        factor = (np.sqrt(1 + square) - 1) / square
        height = -0.5 * np.log1p(square).sum(axis=(1, 2)) - 0.5 * (own**2).sum(axis=(1, 2))
        return _stretched(own - middle, across, factor), height

    def _held(
        self, state: FloatArray, rows: FloatArray, free: FloatArray, wanted: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the state of these scatters and e, and what is added to its likelihood."""
        moved = state.copy()
        moved[self._rows] = rows
        square, across, middle = self._normal(moved, wanted)
        factor = (1 / np.sqrt(1 + square) - 1) / square
        own = middle + _stretched(free, across, factor)
        height = -0.5 * np.log1p(square).sum(axis=(1, 2)) - 0.5 * (own**2).sum(axis=(1, 2))
        return self._with_own(moved, own), height

    def _normal(
        self, state: FloatArray, wanted: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the normal of own latents: squares of slopes along axes, those axes, the middle.

        The squares are (chains, batches, readings), the axes have a further one of own latents
        and length square, the middle is (chains, batches, own).
        """
        slope = self._slope * (self._scales(state) / self._scale)[:, :, None, :]
        most = slope.shape[2]
        self._model.work.algebra(slope.size * 3 * most + slope[..., 0, 0].size * _EIGEN * most**2)
        square, turn = np.linalg.eigh(np.matmul(slope, slope.swapaxes(-1, -2)))
        square = np.maximum(square, _LEAST)
        turn = turn.swapaxes(-1, -2)
        across = np.matmul(turn, slope)
        pull = times(turn, wanted) / (1 + square)
        return square, across, times(across.swapaxes(-1, -2), pull)

    def _with_own(self, state: FloatArray, own: FloatArray) -> FloatArray:
        """Return the state with these own latents (chains, batches, own)."""
        whole = np.concatenate([state, np.zeros((1, state.shape[1]))])
        whole[self._layout.own] = own.transpose(1, 2, 0)
        return whole[:-1]


def _stretched(vectors: FloatArray, across: FloatArray, factor: FloatArray) -> FloatArray:
    """Return vectors (..., own), along every axis of `across` stretched by 1 + factor square."""
    along = times(across, vectors) * factor
    return vectors + times(across.swapaxes(-1, -2), along)
