"""Gravity and extract: one reading, given as either; refractometer readings of wort and beer."""

from collections.abc import Collection, Mapping

import numpy as np

from brewsim.constants import gravity_of, plato_of
from brewsim.dims import FloatArray
from brewsim.quantities.catalogue import TWINS
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Stated


def twin_value(quantity: str, value: float) -> float:
    """Return the extract (°P) of a specific gravity, or the gravity of an extract."""
    return plato_of(value) if quantity.endswith("_sg") else gravity_of(value)


def log_as_judged(log: Mapping[str, FloatArray], aims: Collection[str]) -> dict[str, FloatArray]:
    """Return a log's columns with gravities and extracts joined in the quantity that is judged.

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


def read_as_written(quantity: str, written: object) -> tuple[str, Stated]:
    """Read a phrase: a gravity in °P as its extract, an extract in SG as its gravity.

    Raises ValueError with the fault in words.
    """
    unit = model_unit_of(quantity) or ""
    stated = read_phrase(written, unit)
    if quantity not in TWINS or {unit, stated.unit.replace("°Bx", "°P")} != {"SG", "°P"}:
        return quantity, stated
    return TWINS[quantity], read_phrase(written, model_unit_of(TWINS[quantity]) or "")


WORT_FACTOR = 1.04
"""Degrees Brix shown over °P of wort [common practice, no source; 1.04 ± 0.02 between devices]."""


def gravity_of_beer(before_bx: float, after_bx: float) -> float:
    """Return the specific gravity of beer from readings before and after fermentation, in °Bx.

    Both are divided by the wort factor first. Source: S. Terrill, refractometer calculations,
    seanterrill.com, 2011, cubic fit to 68 beers; within 1.2 to 2 points, less sure below an
    apparent attenuation of 61 %.
    """
    a, b = before_bx / WORT_FACTOR, after_bx / WORT_FACTOR
    first = -0.0044993 * a + 0.00027581 * a**2 - 0.0000072800 * a**3
    second = 0.011774 * b - 0.0012717 * b**2 + 0.000063293 * b**3
    return 1.0 + first + second


def plato_of_wort(shown_bx: float) -> float:
    """Return °P of wort from degrees Brix shown (see `WORT_FACTOR`)."""
    return shown_bx / WORT_FACTOR
