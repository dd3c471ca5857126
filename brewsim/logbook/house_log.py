"""The batches of a house: those of another log added to them, and what the latest ones say."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from brewsim.errors import InputError, StudyError
from brewsim.logbook.log import Log
from brewsim.logbook.measured_value import Calibration
from brewsim.quantities.format import told_in
from brewsim.study.inference.update import Learned, update
from brewsim.study.model.batch import Batch
from brewsim.study.model.replicates import Progress

LATEST = 48
"""So many batches are learned from at most, the latest first; all of them stay in the file."""


def merged(old: Log, new: Log, where: str) -> Log:
    """Return the log of a house with another log's batches, instruments and calibrations.

    Raises InputError, told of the file `where`, for what the two of them say differently.
    """
    faults = list(_clashes(old, new))
    if faults:
        raise InputError(where, faults)
    known = set(map(_said, old.calibrations))
    checks = [item for item in new.calibrations if _said(item) not in known]
    names = {name.lower() for name in old.instruments}
    more = {n: kind for n, kind in new.instruments.items() if n.lower() not in names}
    entries = sorted((*old.entries, *new.entries), key=lambda e: (e.date, e.id))
    return Log(
        tuple(entries),
        {**old.recipes, **new.recipes},
        {**old.instruments, **more},
        (*old.calibrations, *checks),
        taken={**old.taken, **new.taken},
        sittings=(*old.sittings, *new.sittings),
    )


def _clashes(old: Log, new: Log) -> Iterator[str]:
    known = {entry.id for entry in old.entries}
    for entry in new.entries:
        if entry.id in known:
            yield f"batch {entry.id} is already learned; a batch is learned once"
    kinds = _in_lower_case(old.instruments)
    for name, kind in _in_lower_case(new.instruments).items():
        if kinds.get(name, kind) != kind:
            yield f"instrument {name} is of another kind in the house"
    for key, text in new.recipes.items():
        if old.recipes.get(key, text) != text:
            yield (
                f"recipe “{key}” is another text in the house, which batches there were brewed "
                "by; give the changed recipe a key of its own"
            )


def _in_lower_case(named: Mapping[str, str]) -> dict[str, str]:
    return {name.lower(): kind.lower() for name, kind in named.items()}


def _said(item: Calibration) -> tuple[str, ...]:
    return item.instrument.lower(), str(item.read), str(item.known), item.quantity


def latest_learned(
    log: Log, seed: int, time_limit_s: float, progress: Progress | None
) -> tuple[Learned, tuple[str, ...]]:
    """Return what the latest batches of a house say, and what was assumed."""
    remarks = list(log.remarks)
    batches = latest(log.batches)
    if len(batches) < len(log.batches):
        remarks.append(f"learned from the latest {LATEST} of {len(log.batches)} batches")
    if not any(batch.readings or batch.answers for batch in batches):
        raise StudyError("the batches hold no reading to learn from")
    problem = batches[-1].problem
    learned = update(
        problem,
        batches,
        seed=seed,
        time_limit_s=time_limit_s,
        progress=progress,
        told=told_in(problem.units),
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
