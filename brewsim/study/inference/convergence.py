"""How well an ensemble of chains knows its means, from groups of chains that never meet."""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from brewsim.dims import FloatArray

GROUPS = 8
PRECISION = 0.06
WORST = 0.54
DRIFTS = 3.0
MEMORY = 0.5
FLATTERED = 1.34
"""A run that stops when its error looks small has a larger one: measured over 60 runs."""


@dataclass(frozen=True)
class Reached:
    """How well the means are known: typical standard error, worst half width, drift of halves.

    `memory` is the largest correlation, over latents, of the chains' first and last kept states.
    """

    precision: float
    worst: float
    drift: float
    memory: float

    @property
    def settled(self) -> bool:
        """Whether all four are as good as wanted."""
        exact = FLATTERED * self.precision <= PRECISION and FLATTERED * self.worst <= WORST
        return exact and self.drift <= DRIFTS and self.memory <= MEMORY

    @property
    def trusted(self) -> bool:
        """Whether the answer may be used: means well known, and the start, and modes, forgotten.

        Chains that stay in the mode where they began remember it.
        """
        rough = FLATTERED * self.worst > 1.5 * WORST
        return not rough and self.drift <= DRIFTS and self.memory <= MEMORY


def reached_by(kept: FloatArray) -> Reached:
    """Return what the spread over groups of chains says about the run."""
    steps, latents, chains = kept.shape
    groups = kept.reshape(steps, latents, GROUPS, chains // GROUPS)
    means = groups.mean(axis=(0, 3), dtype=float)
    spread = np.maximum(kept.std(axis=(0, 2), dtype=float), 1e-12)
    error = means.std(axis=1, ddof=1) / np.sqrt(GROUPS) / spread
    half_width = float(stdtrit(GROUPS - 1, 0.975)) * error
    halves = [part.mean(axis=(0, 3), dtype=float) for part in np.array_split(groups, 2)]
    change = np.abs(halves[0].mean(1) - halves[1].mean(1)) / spread
    drift = float((change / np.maximum(half_width, 1e-12)).max() / 2)
    precision = float(np.sqrt(np.mean(error**2)))
    return Reached(precision, float(half_width.max()), drift, _memory(kept[0], kept[-1]))


def _memory(first: FloatArray, last: FloatArray) -> float:
    """Return how alike two states (latents, chains) of the same chains are, at the worst latent."""
    start, end = (part - part.mean(axis=1, keepdims=True) for part in (first, last))
    size = np.sqrt((start**2).sum(axis=1) * (end**2).sum(axis=1))
    alike = (start * end).sum(axis=1) / np.maximum(size, 1e-12)
    return float(alike.max())
