"""How much batches scatter beside what is usual: latents that scale the parts of kind batch.

A brewery may repeat itself better than the usual one, or worse, in everything or in one thing. So
a factor's part of kind batch is multiplied by s = exp(common + own), both normal, and shifted so
that the mean of s squared is 1: before anything is read, the spread is that of the prior.
"""

from collections.abc import Mapping

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.factor import Factor

SCATTER = " @scatter"
EVERYTHING = f"everything{SCATTER}"
"""The latent of the scatter that all factors share."""
COMMON_SD, OWN_SD = 0.4, 0.45
"""Standard deviations of log s, of everything and of one factor: assumptions. Together nine in ten
inputs scatter between 0.26 and 1.9 times as much as the usual one does."""

_FARTHEST = 8.0
"""Log s beyond which no search goes: a dozen of its standard deviations."""


def scatter_latent(factor: Factor) -> str:
    """Name of the latent of one factor's own scatter."""
    return f"{factor.id}{SCATTER}"


def scale_of(common: FloatArray, own: FloatArray | None) -> FloatArray:
    """Return s from the scores of the common latent and of a factor's own; None if not known."""
    log = COMMON_SD * common - COMMON_SD**2
    whole = log if own is None else log + OWN_SD * own - OWN_SD**2
    return np.exp(np.clip(whole, -_FARTHEST, _FARTHEST))


def learned_scale(factor: Factor, draws: Mapping[str, FloatArray]) -> FloatArray | None:
    """Return s of a factor in posterior draws, (draws,); None where no scatter was learned."""
    if EVERYTHING not in draws or factor.event or not factor.kinds.batch:
        return None
    return scale_of(np.asarray(draws[EVERYTHING]), draws.get(scatter_latent(factor)))
