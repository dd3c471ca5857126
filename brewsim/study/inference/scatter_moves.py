"""Moves of the latents of scatter.

With what each batch really had held, no reading changes: the scatter of a factor is then known
from its parts alone, and the scatter that all factors share from theirs. Where readings tell
little of those parts that is a short step; so in other moves parts are held only as far as
readings tell of them: z s^c, with c between 0 (nothing is known of z) and 1.
Source: Papaspiliopoulos, Roberts & Skoeld (2007), A general framework for the parametrization of
hierarchical models, Statistical Science 22, 59 (from memory).
"""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.elliptical_slice import prior_reference, slice_step
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.replicates import Places
from brewsim.study.model.scatter import COMMON_SD, OWN_SD, scale_of

_ROUNDS = 3
_STRIDE = 2.4
_SLICES = 2


class Scatters:
    """The scatter of every factor and of everything."""

    def __init__(self, model: Model) -> None:
        self.everything = model.mixing.everything
        self._model = model
        self._scatters = model.mixing.scatters
        self._rows = np.array([self.everything, *(row for row, _ in self._scatters)])
        self._reference = prior_reference(len(self._rows))
        self._held = np.ones(len(self._scatters))

    def learn(self, state: FloatArray) -> None:
        """Note from a state (latents, chains) how well each factor's parts are known."""
        spread = [state[owns].var(axis=1).mean() for _, owns in self._scatters]
        self._held = 1.0 - np.clip(spread, 0.0, 1.0)

    def move(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Move all scatters at once, parts held as far as they are known; returns both anew."""
        if not self._scatters:
            return state, level
        for _ in range(_SLICES):
            start, before = state[self._rows], state

            def log_target(rows: FloatArray, chains: Places) -> FloatArray:
                return self._value(before[:, chains], rows)[1]  # noqa: B023 - used at once

            here = level + self._value(before, start, known=np.zeros(before.shape[1]))[1]
            rows, _ = slice_step(log_target, self._reference, rng, start, here, by_chain=True)
            state = self._value(before, rows, known=here)[0]
            level = self._model.log_likelihood(state)
        return state, level

    def _value(
        self, state: FloatArray, rows: FloatArray, known: FloatArray | None = None
    ) -> tuple[FloatArray, FloatArray]:
        """Return the state with these scatters, and the log density beside their own prior.

        `known` stands for the log likelihood where given.
        """
        moved = state.copy()
        moved[self._rows] = rows
        value = np.zeros(state.shape[1])
        for (row, owns), held in zip(self._scatters, self._held, strict=True):
            before = scale_of(state[self.everything], state[row])
            shrunk = (before / scale_of(moved[self.everything], moved[row])) ** held
            moved[owns] *= shrunk
            value += len(owns) * np.log(shrunk) - 0.5 * (moved[owns] ** 2).sum(axis=0)
        return moved, value + (self._model.log_likelihood(moved) if known is None else known)

    def redraw(self, rng: np.random.Generator, state: FloatArray) -> None:
        """Move scatters in `state` (latents, chains), in place; the parts they scale stay."""
        for _ in range(_ROUNDS if self._scatters else 0):
            for row, owns in self._scatters:
                self._move_one(rng, state, row, owns)
            self._redraw_common(rng, state)

    def _move_one(
        self, rng: np.random.Generator, state: FloatArray, row: int, owns: np.ndarray
    ) -> None:
        """Move a factor's own scatter, by one Metropolis step as wide as its parts allow."""
        chains, count = state.shape[1], len(owns)
        before = scale_of(state[self.everything], state[row])
        square = ((before * state[owns]) ** 2).sum(axis=0)
        width = _STRIDE / np.sqrt(1 + 2 * count * OWN_SD**2)
        proposed = state[row] + width * rng.standard_normal(chains)
        after = scale_of(state[self.everything], proposed)

        def height(own: FloatArray, scale: FloatArray) -> FloatArray:
            return np.asarray(-0.5 * own**2 - count * np.log(scale) - 0.5 * square / scale**2)

        gain = height(proposed, after) - height(state[row], before)
        accept = np.log(rng.random(chains)) < gain
        state[row] = np.where(accept, proposed, state[row])
        state[owns] *= np.where(accept, before / after, 1.0)

    def _redraw_common(self, rng: np.random.Generator, state: FloatArray) -> None:
        """Draw the common scatter given every factor's whole one, which stays."""
        rows = np.array([row for row, _ in self._scatters])
        total = COMMON_SD * state[self.everything] + OWN_SD * state[rows]
        weight = COMMON_SD / OWN_SD**2
        precision = 1.0 + len(rows) * COMMON_SD * weight
        common = weight * total.sum(axis=0) / precision
        common = common + rng.standard_normal(len(common)) / np.sqrt(precision)
        state[self.everything] = common
        state[rows] = (total - COMMON_SD * common) / OWN_SD
