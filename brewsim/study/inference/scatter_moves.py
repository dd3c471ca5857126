"""Moves of the latents of scatter that change no reading.

With what each batch really had held, no reading changes: the scatter of a factor is then known
from its parts alone, and the scatter that all factors share from theirs. Where readings tell
little of those parts that is a short step; `followed_scatters` has moves for there.
"""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.scatter import COMMON_SD, OWN_SD, scale_of

_ROUNDS = 3
_STRIDE = 2.4


class Scatters:
    """The scatter of every factor and of everything."""

    def __init__(self, model: Model) -> None:
        self.everything = model.mixing.everything
        self._scatters = model.mixing.scatters

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
