"""Gravity and extract: one thing in two quantities; refractometer readings of wort and beer.

This file alone knows which gravity goes with which extract. Both stay quantities of their own, for
each is straight where the other is curved: a spread, an instrument's error or a half width in °P
is none of so many points, and a gravity point is 0.25 °P in beer, 0.22 °P in a strong wort.
"""

from collections.abc import Collection, Mapping

import numpy as np

from brewsim.constants import gravity_of, plato_of
from brewsim.dims import FloatArray
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Stated

_PAIRS = (
    ("original_gravity_sg", "original_extract_plato"),
    ("preboil_gravity_sg", "preboil_extract_plato"),
    ("final_gravity_sg", "final_extract_plato"),
)
_PAIR_OF = {
    first: (first, second)
    for gravity, extract in _PAIRS
    for first, second in ((gravity, extract), (extract, gravity))
}


def pair_of(quantity: str) -> tuple[str, ...]:
    """Return a quantity and, where it is a gravity or an extract, the other of the two."""
    return _PAIR_OF.get(quantity, (quantity,))


def is_density(quantity: str) -> bool:
    """Whether a quantity is a gravity or an extract that has the other beside it."""
    return quantity in _PAIR_OF


def extract_of(quantity: str) -> str:
    """Return the extract that a gravity is computed from; any other quantity is itself."""
    return in_unit(quantity, "°P")


def in_unit(quantity: str, unit: str) -> str:
    """Return the one of gravity and extract that has a unit (SG, °P, °Bx, ...), else itself."""
    wanted = "°P" if unit in ("°P", "°Bx") else "SG"
    return next((one for one in pair_of(quantity) if model_unit_of(one) == wanted), quantity)


def as_gravity(quantity: str, value: float) -> float:
    """Return the specific gravity that a value of a gravity or an extract is."""
    return value if quantity.endswith("_sg") else gravity_of(value)


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
    pair = pair_of(name)
    aimed = [one for one in pair if one in aims]
    read = [one for one in log if one in pair]
    return aimed or [max(read, key=lambda one: int(np.isfinite(log[one]).sum()))]


def _together(name: str, log: Mapping[str, FloatArray]) -> FloatArray:
    rows = [log[name]] if name in log else []
    twins = [one for one in pair_of(name)[1:] if one in log]
    rows += [np.array([twin_value(one, value) for value in log[one]]) for one in twins]
    there = np.isfinite(rows)
    count = there.sum(axis=0)
    whole = np.where(there, rows, 0.0).sum(axis=0)
    return np.where(count > 0, whole / np.maximum(count, 1), np.nan)


def read_as_written(quantity: str, written: object) -> tuple[str, Stated]:
    """Read a phrase: a gravity in °P as its extract, an extract in SG as its gravity.

    Raises ValueError with the fault in words.
    """
    stated = read_phrase(written, model_unit_of(quantity) or "")
    if stated.unit not in ("SG", "°P", "°Bx") or in_unit(quantity, stated.unit) == quantity:
        return quantity, stated
    quantity = in_unit(quantity, stated.unit)
    return quantity, read_phrase(written, model_unit_of(quantity) or "")


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
