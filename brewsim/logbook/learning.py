"""What batches of a brewery teach: the one way that every command learns from a log."""

from collections.abc import Sequence

from brewsim.quantities.format import written_in
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress


def learned_from(
    problem: Problem,
    batches: Sequence[Batch],
    *,
    seed: int = 1,
    time_limit_s: float | None = None,
    outliers: bool = False,
    progress: Progress | None = None,
) -> Learned:
    """Learn a brewery from its batches, its own scatter too; remarks are in the units of brewers.

    Arguments and errors are those of `update`.
    """
    return update(
        problem,
        batches,
        seed=seed,
        time_limit_s=time_limit_s,
        outliers=outliers,
        own_scatter=True,
        progress=progress,
        written_as=written_in(problem.units),
    )
