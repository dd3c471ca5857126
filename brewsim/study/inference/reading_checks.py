"""Readings that nothing can be learned from, and why."""

import math
from collections.abc import Iterator, Sequence
from numbers import Real

from brewsim.errors import StudyError
from brewsim.study.model.batch import Batch, Reading


def unreadable(reading: Reading, batch: Batch) -> Iterator[str]:
    """Yield why nothing can be learned from a reading."""
    wrong = [n for n in ("value", "noise", "bias") if not isinstance(getattr(reading, n), Real)]
    if wrong:
        yield f"has a {wrong[0]} of {getattr(reading, wrong[0])!r}, which is no number"
    elif reading.trials:
        if not 0 <= reading.value <= reading.trials:
            yield f"cannot be {reading.value} of {reading.trials}"
    else:
        yield from _unmeasured(reading, batch)


def _unmeasured(reading: Reading, batch: Batch) -> Iterator[str]:
    if not 0 < reading.noise < math.inf:
        yield f"needs a noise above 0, not {reading.noise}"
    if not 0 <= reading.bias < math.inf:
        yield f"cannot have a bias of {reading.bias}: it is a standard uncertainty"
    if reading.scale not in ("linear", "log"):
        yield f"is read on a linear or a log scale, not on {reading.scale!r}"
    least = -math.inf if reading.scale == "linear" else 0.0
    for value in (reading.value, reading.value if reading.known is None else reading.known):
        if not least < value < math.inf:
            yield f"cannot be read as {value} on a {reading.scale} scale"
    listed = reading.known is None and bool(batch.problem.graph.axes(reading.quantity))
    if reading.known is None and listed != (reading.row is not None):
        yield "is a list; name the row that was read" if listed else "is one value, without rows"


def checked_batches(batches: Sequence[Batch]) -> tuple[Batch, ...]:
    """Return the batches; raise StudyError for what is no list of them, or holds no readings."""
    given: object = batches
    if not isinstance(given, Sequence) or not all(isinstance(b, Batch) for b in given):
        raise StudyError("batches are a list, each a Batch(id, problem, readings)")
    for batch in batches:
        readings: object = batch.readings
        if not isinstance(readings, Sequence):
            raise StudyError(f"batch {batch.id}: its readings are a list, also of one")
        for reading in readings:
            if not isinstance(reading, Reading):
                raise StudyError(
                    f"batch {batch.id}: a reading is Reading(quantity, value, noise), "
                    f"not {reading!r}"
                )
    return tuple(batches)
