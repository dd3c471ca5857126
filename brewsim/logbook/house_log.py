"""What the latest batches of a house say."""

from dataclasses import replace

from brewsim.errors import StudyError
from brewsim.logbook.brew import Batches
from brewsim.logbook.learning import learned_from
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.update import usual_limit_s
from brewsim.study.model.batch import Batch
from brewsim.study.model.replicates import Progress

LATEST = 48
"""So many batches are learned from at most, the latest first; all of them stay in the file."""


def latest_learned(
    log: Batches,
    seed: int,
    time_limit_s: float | None,
    progress: Progress | None,
    *,
    outliers: bool,
) -> tuple[Learned, tuple[str, ...]]:
    """Return what the latest batches of a house say, and what was assumed."""
    remarks = list(log.remarks)
    batches = latest(log.batches)
    if len(batches) < len(log.batches):
        remarks.append(f"learned from the latest {LATEST} of {len(log.batches)} batches")
    if not any(batch.readings or batch.answers for batch in batches):
        raise StudyError("the batches hold no reading to learn from")
    learned = learned_from(
        batches[-1].problem,
        batches,
        seed=seed,
        time_limit_s=usual_limit_s(len(batches), 30.0) if time_limit_s is None else time_limit_s,
        outliers=outliers,
        progress=progress,
    )
    return learned, tuple(remarks)


def latest(batches: tuple[Batch, ...]) -> tuple[Batch, ...]:
    """Return the latest batches; calibrations, which are of no batch, are kept with the first."""
    left = batches[:-LATEST]
    ids = {batch.id for batch in batches[-LATEST:]}
    kept = tuple(
        replace(b, answers=tuple(a for a in b.answers if ids.issuperset(i for i, _ in a.cups)))
        for b in batches[-LATEST:]
    )
    checks = [r for batch in left for r in batch.readings if r.known is not None]
    if not checks:
        return kept
    return (replace(kept[0], readings=(*kept[0].readings, *checks)), *kept[1:])
