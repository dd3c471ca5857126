"""A gravity that was read where its extract is judged, and back: one reading, told as the other."""

from collections.abc import Collection, Mapping

import numpy as np

from brewsim.dims import FloatArray
from brewsim.recipe.conversion import gravity_of, plato_of
from brewsim.recipe.outcomes import TWINS


def twin_value(quantity: str, value: float) -> float:
    """Return what a value of a gravity is as an extract, of an extract what it is as a gravity."""
    return plato_of(value) if quantity.endswith("_sg") else gravity_of(value)


def log_as_judged(log: Mapping[str, FloatArray], aims: Collection[str]) -> dict[str, FloatArray]:
    """Return a log's columns with readings of a twin among those of the quantity that is judged.

    Judged is the one of the two in `aims`, else the one read more often. A batch with readings of
    both has their mean.
    """
    judged = dict.fromkeys(one for name in log for one in _judged(name, log, aims))
    return {name: _together(name, log) for name in judged}


def _judged(name: str, log: Mapping[str, FloatArray], aims: Collection[str]) -> list[str]:
    pair = (name, TWINS.get(name, name))
    aimed = [one for one in pair if one in aims]
    read = [one for one in log if one in pair]
    return aimed or [max(read, key=lambda one: int(np.isfinite(log[one]).sum()))]


def _together(name: str, log: Mapping[str, FloatArray]) -> FloatArray:
    twin = TWINS.get(name, "")
    rows = [log[name]] if name in log else []
    if twin in log:
        rows.append(np.array([twin_value(twin, value) for value in log[twin]]))
    there = np.isfinite(rows)
    count = there.sum(axis=0)
    whole = np.where(there, rows, 0.0).sum(axis=0)
    return np.where(count > 0, whole / np.maximum(count, 1), np.nan)
