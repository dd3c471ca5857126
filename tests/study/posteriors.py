"""Posteriors made by hand, for closed forms of what is done with them."""

from dataclasses import replace
from functools import cache

import numpy as np

from brewsim.distributions.constructors import normal
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem


def level(x):
    return 1.0 * x


@cache
def _learned():
    """Return any short run; what it learned is replaced, the rest of its form stays."""
    problem = Problem.of([level], {"x": normal(0, 1)})
    batch = Batch("1", problem, (Reading("level", 0.0, 1.0),))
    return update(problem, [batch], chains=16, burn=1, keep=2, time_limit_s=0)


def by_hand(problem, batches=(), draws=None, size=512):
    """Return what was learned as stated: latent -> a value, or values of that size."""
    stated = {name: np.broadcast_to(v, (size,)).astype(float) for name, v in (draws or {}).items()}
    return replace(
        _learned(),
        problem=problem,
        batches=tuple(batches),
        draws=stated,
        moments={},
        replicate=np.repeat(np.arange(8), size // 8),
        remarks=(),
        surprises=(),
    )


def plain_slopes(model, centre, step):
    """Return d residual / d latent at `centre`, one latent at a time, by central differences."""
    shifts = step * np.eye(len(centre))
    state = np.concatenate([centre[:, None] + shifts, centre[:, None] - shifts], axis=1)
    residual = model.residuals(state)
    return (residual[:, : len(centre)] - residual[:, len(centre) :]) / (2 * step)
