"""How well an ensemble of chains knows its means, from groups of chains that never meet."""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from brewsim.dims import FloatArray

GROUPS = 8
PRECISION = 0.06
WORST = 0.54
DRIFTS, CHANCE = 3.0, 0.01
"""What drift of the halves may be chance: at least so much, and what so few runs would pass."""

SHIFT, SHIFTS = 2.0, 3.0
"""Change between halves of a run, in its own errors: what makes it begin anew, and untrusted."""

BIAS, BIASES = 0.1, 0.3
"""What may be left of the way to go, in posterior standard deviations: the same two."""

_SURELY = 3.5

MEMORY = 0.5
FLATTERED = 1.34
"""A run that stops when its error looks small has a larger one: measured over 60 runs."""


@dataclass(frozen=True)
class Reached:
    """How well the means are known: typical standard error, worst half width, drift of halves.

    `drift` is that of the worst latent; `drift_limit` what the worst of so many may be by chance.
    `memory` is the largest correlation, over latents, of the chains' first and last kept states.
    `shift` is the change between halves over all latents together, in standard errors: about 1
    where they agree. `bias` is how far off the worst mean may be because the ensemble is still on
    its way: how far it went, times what its chains remember; no spread of groups shows that.
    """

    precision: float
    worst: float
    drift: float
    drift_limit: float
    memory: float
    shift: float
    bias: float

    @property
    def settled(self) -> bool:
        """Whether all four are as good as wanted."""
        exact = FLATTERED * self.precision <= PRECISION and FLATTERED * self.worst <= WORST
        return exact and self.drift <= self.drift_limit and not self.under_way

    @property
    def under_way(self) -> bool:
        """Whether what was kept is not yet of where the search should be."""
        return self.memory > MEMORY or self.shift > SHIFT or self.bias > BIAS

    @property
    def disagrees(self) -> bool:
        """Whether the halves of the run differ by more than their errors."""
        return self.drift > self.drift_limit or self.shift > SHIFTS or self.bias > BIASES

    @property
    def trusted(self) -> bool:
        """Whether the answer may be used: means well known, and the start, and modes, forgotten.

        Chains that stay in the mode where they began remember it.
        """
        rough = FLATTERED * self.worst > 1.5 * WORST
        return not rough and not self.disagrees and self.memory <= MEMORY

    @property
    def remarks(self) -> tuple[str, ...]:
        """What there is to say where not all is as good as wanted."""
        found = []
        if FLATTERED * max(self.precision / PRECISION, self.worst / WORST) > 1:
            found.append(
                "the time ran out: means are known to "
                f"{FLATTERED * self.precision:.2f} of their own spread, "
                f"{PRECISION} was wanted"
            )
        if self.memory > MEMORY:
            found.append(
                "the time ran out before the search had forgotten where it began: take single "
                "inputs as rough, what the readings fix together is firmer. Give it more time"
            )
        if self.disagrees:
            found.append("the two halves of the run disagree: do not trust this answer")
        return tuple(found)


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
    shift = float(np.sqrt(np.mean(change**2))) / max(2 * precision, 1e-12)
    memory = _memory(kept[0], kept[-1])
    bias = _bias(kept[0], kept[-1], memory, spread)
    return Reached(
        precision=precision,
        worst=float(half_width.max()),
        drift=drift,
        drift_limit=_drift_limit(latents),
        memory=float(memory.max()),
        shift=shift,
        bias=float(bias.max()),
    )


def _drift_limit(latents: int) -> float:
    """Return what the worst of so many latents drifts by chance in few runs (Bonferroni's bound).

    A drift is a t value over groups, in half widths: of 50 latents one in a hundred runs has one
    above 3.0, of 1,000 above 4.7.
    """
    rare = float(stdtrit(GROUPS - 1, 1 - CHANCE / 2 / latents))
    return max(DRIFTS, rare / float(stdtrit(GROUPS - 1, 0.975)))


def _memory(first: FloatArray, last: FloatArray) -> FloatArray:
    """Return how alike two states (latents, chains) of the same chains are, (latents,)."""
    start, end = (part - part.mean(axis=1, keepdims=True) for part in (first, last))
    size = np.sqrt((start**2).sum(axis=1) * (end**2).sum(axis=1))
    alike = (start * end).sum(axis=1) / np.maximum(size, 1e-12)
    return np.asarray(alike)


def _bias(
    first: FloatArray, last: FloatArray, memory: FloatArray, spread: FloatArray
) -> FloatArray:
    """Return what is left of the way to go, (latents,), 0 where the ensemble did not move.

    A share of the distance to where the chains will be at last is left after a run, which is the
    share of their deviations that they remember.
    """
    gone = np.abs(first.mean(axis=1, dtype=float) - last.mean(axis=1, dtype=float)) / spread
    share = np.clip(memory, 0.0, 0.9)
    noise = np.sqrt(2 * (1 - share) / first.shape[1])
    return np.where(gone > _SURELY * noise, gone * share / (1 - share), 0.0)
