"""What an ordinary batch of a brewery would read: what lasts as learned, the rest at its middle."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, latent_names

_AT_ONCE = 20_000


def ordinary(learned: Learned, batches: Sequence[Batch]) -> FloatArray:
    """Return what each reading of the batches would be, (readings, draws), on its own scale.

    Instruments' errors are in it; lots that are not named and a brew's own latents are at 0.
    """
    model = Model([replace(batch, answers=()) for batch in batches])
    own = {
        name
        for batch in model.batches
        for factor in batch.problem.factors
        for kind, name in latent_names(factor, batch).items()
        if kind == "batch" or (kind == "lot" and not factor.lot)
    }
    size = len(learned.replicate)
    rows = [
        np.zeros(size) if name in own or name not in learned.draws else learned.draws[name]
        for name in model.names
    ]
    scores = np.array(rows, dtype=float)
    step = max(1, _AT_ONCE // len(batches))
    parts = [scores[:, start : start + step] for start in range(0, size, step)]
    read = [model.read([plan.evaluate(part) for plan in model.plans], part) for part in parts]
    return np.concatenate(read, axis=1)[: len(model.readings)]
