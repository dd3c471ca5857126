"""A batch log for the page: expected against measured, and why."""

from collections.abc import Callable
from pathlib import Path
from typing import Any


def batches_content(
    recipe: Path,
    batches: Path,
    priors_file: Path | None,
    seed: int,
    progress: Callable[[float, str], None],
) -> Any:  # noqa: ANN401 - the page's Batches
    """Fit a log and explain its batches; raises InputError with every fault of the log."""
    from brewsim.beer.display_units import rows_of
    from brewsim.logbook.brew import read_batches
    from brewsim.priors.library import load_priors
    from brewsim.quantities.format import told_in
    from brewsim.study.inference.update import update
    from brewsim.wording.batches import batches_content as content_of

    log = read_batches(batches, recipe, load_priors(priors_file))
    problem = log.batches[-1].problem
    told = told_in(problem.units)
    learned = update(problem, log.batches, seed=seed, progress=progress, told=told)
    read = {reading.quantity for batch in log.batches for reading in batch.readings}
    posed = learned.problem
    looks = rows_of(posed, dict.fromkeys((*posed.outcomes, *posed.targets, *sorted(read))))
    return content_of(learned, looks, seed=seed)
