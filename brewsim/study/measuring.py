"""What knowing one factor exactly before the brew would gain, factor by factor, as a table."""

from collections.abc import Sequence

import xarray as xr

from brewsim.study.common import Settings
from brewsim.study.problem import Problem
from brewsim.study.worth import worth_of_measuring


def value_of_measuring(
    problem: Problem, settings: Sequence[Settings] = (), draws: int = 16_384, seed: int = 1
) -> xr.Dataset:
    """Return `chance_gained` (factor): how much the best chance of landing every target would rise.

    Over the decisions in `settings` (knob ids to values). 0 for a factor that cannot be measured,
    and for all without settings or targets, for then nothing is decided. Raises StudyError.
    """
    worths = worth_of_measuring(problem, decisions=settings, draws=draws, seed=seed)
    gained = {worth.measurement.factor: worth.gain for worth in worths.found}
    factors = problem.factors
    return xr.Dataset(
        {"chance_gained": ("factor", [gained.get(f.id, 0.0) for f in factors])},
        coords={
            "factor": [f.id for f in factors],
            "label": ("factor", [f.label for f in factors]),
            "measurable": ("factor", [f.measurable for f in factors]),
        },
    )
