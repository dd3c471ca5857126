"""Readings that nothing can be learned from, and why."""

import math
from collections.abc import Iterator

from brewsim.study.model.batch import Batch, Reading


def unreadable(reading: Reading, batch: Batch) -> Iterator[str]:
    """Yield why nothing can be learned from a reading."""
    if reading.trials:
        if not 0 <= reading.value <= reading.trials:
            yield f"cannot be {reading.value} of {reading.trials}"
        return
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
