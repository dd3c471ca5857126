"""Sweeps of long logs: each batch's own latents by themselves, then those that batches share."""

from collections.abc import Sequence

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.batch_surfaces import BatchSurfaces
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.followed_latents import FollowedLatents
from brewsim.study.inference.followed_scatters import FollowedScatters
from brewsim.study.inference.interweaving import Interweaving
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.manifold_hmc import Trajectories
from brewsim.study.inference.shared_latents import SharedLatents

_ROUNDS = 2


class BatchByBatch:
    """Moves whose acceptance does not fall with the number of batches."""

    def __init__(self, slopes: Linearisation, layout: BlockLayout) -> None:
        self.slopes = slopes
        self.layout = layout
        nobody = np.zeros((layout.latents, 0))
        self._paths = Trajectories(BatchSurfaces(slopes, layout, nobody))
        self._shared = SharedLatents(slopes, layout, np.zeros(len(layout.shared)))
        self._interweaving = Interweaving(slopes.model)
        self._followed = FollowedLatents(slopes.model, layout)
        self._scatters = FollowedScatters(slopes.model, layout)

    def learn(
        self, centre: FloatArray, room: Sequence[FloatArray], whitened: Sequence[FloatArray]
    ) -> None:
        """Take slopes at a centre (latents,) as guide; not while draws are kept."""
        self._followed.learn(centre, self.layout.normals(whitened))
        self._scatters.learn(centre, room)

    def move(
        self,
        rng: np.random.Generator,
        state: FloatArray,
        level: FloatArray,
        *,
        learning: bool = False,
    ) -> tuple[FloatArray, FloatArray]:
        """Move every chain, leaving prior times likelihood unchanged.

        `state` is (latents, chains), `level` its log likelihood; both are returned anew.
        """
        for _ in range(_ROUNDS):
            surfaces = BatchSurfaces(self.slopes, self.layout, state)
            self._paths.surface = surfaces
            own, parts = self._paths.move(rng, *surfaces.start(), learning=learning)
            state, level = surfaces.whole(own), parts.reshape(state.shape[1], -1).sum(axis=1)
            if learning:
                self._shared.start = state[self.layout.shared].mean(axis=1)
            if len(self.layout.shared):
                state, level = self._shared.move(rng, state, level)
            state = self._interweaving.move(rng, state)
            state, level = self._scatters.move(rng, state, level)
            state, level = self._followed.move(rng, state, level)
        return state, level
