"""What one odd reading of a batch is likeliest to be: a slip of the pen, a stall, or just odd."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from brewsim.answers.log_table import LogTable
from brewsim.dims import FloatArray
from brewsim.logbook.slips import Slip, slips_of
from brewsim.quantities.measured_value import read_value_of
from brewsim.study.tolerance.changes import Change

_SLIPS, _STALLS, _OTHERS = 0.005, 0.02, 0.005
"""How many readings slip, batches stall, readings are off for another reason: assumptions.

That of stalls is the prior's, `stall_possible_share`.
"""
_STALL_LOSS = (0.03, 0.35)
"""A stall leaves so much apparent attenuation undone, evenly: assumption."""
_WIDE = 3.0
"""Readings that are off for another reason lie so many usual spreads about, Cauchy: assumption."""
_WORTH_A_WORD = 0.1
_FREE = 5
_FERMENTED = "final_gravity_sg"
_BESIDE = ("alcohol_by_volume_fraction", "apparent_attenuation_fraction")
"""What a stall moves too: where it is read and as usual, nothing stalled."""


@dataclass(frozen=True)
class SingleReading:
    """The likeliest cause of one odd reading, `chance` that it is this one of the three.

    `value` was read where `usual` was to be expected, model units. `meant` is what may have been
    meant by what was `typed`, and `what` slipped then; "" where that is not worth a word.
    """

    kind: Literal["slip", "stall", "odd"]
    chance: float
    value: float
    usual: float
    typed: str = ""
    meant: str = ""
    what: str = ""


def single_reading(
    table: LogTable, change: Change, others: Sequence[Change], spread: float | None = None
) -> SingleReading:
    """Return what the one odd reading of a change is likeliest to be.

    `spread` is the usual one on the table's scale; without it that of the log's other readings.
    """
    (place,), (name,) = change.places, change.quantities
    column, batch = table.where[name], table.ids[place]
    middle = float(table.values[place, column]) - change.amount
    if spread is None:
        rest = np.delete(table.values[:, column], place)
        spread = _spread(rest[np.isfinite(rest)], float(table.rounding()[column]))
    slip, density = _slip(table, batch, name, (middle, spread))
    slipped = _SLIPS * density
    off = _OTHERS * _cauchy(change.amount, _WIDE * spread)
    stalled = _STALLS * _stall_density(table, change, others)
    chances = {"slip": slipped, "stall": stalled, "odd": off}
    kind = max(chances, key=lambda one: chances[one])
    told = SingleReading(
        kind,  # type: ignore[arg-type]
        chances[kind] / sum(chances.values()),
        float(table.plain[place, column]),
        math.exp(middle) if table.ratio[column] else middle,
    )
    if slip is None or slipped < _WORTH_A_WORD * sum(chances.values()):
        return told
    typed = table.written(batch, name)
    return SingleReading(
        told.kind, told.chance, told.value, told.usual, typed, slip.text, slip.what
    )


def _cauchy(x: float, scale: float) -> float:
    """Return the Cauchy density about zero."""
    return scale / (math.pi * (scale**2 + x**2))


def _student(t: float) -> float:
    """Return Student's density on `_FREE` degrees of freedom."""
    half = (_FREE + 1) / 2
    norm = math.gamma(half) / (math.gamma(_FREE / 2) * math.sqrt(_FREE * math.pi))
    return norm * float((1 + t**2 / _FREE) ** -half)


def _spread(values: FloatArray, rounding: float) -> float:
    """Return the usual spread of values, whatever else is odd among them."""
    usual = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    return max(usual, rounding / 2, 1e-12)


def _slip(
    table: LogTable, batch: str, name: str, usual: tuple[float, float]
) -> tuple[Slip | None, float]:
    """Return the likeliest slip, and the density of what was typed over all slips.

    A slip's is its share times the density of what was meant among usual values, given their
    middle and spread on the table's scale.
    """
    middle, spread = usual
    found: dict[Slip, float] = {}
    for slip in slips_of(table.written(batch, name)):
        try:
            value = table.on_scale(batch, name, read_value_of(name, slip.text).value)
        except ValueError:
            continue
        if math.isfinite(value):
            density = _student((value - middle) / spread) / spread
            found[slip] = slip.share * density
    best = max(found, key=lambda slip: found[slip], default=None)
    return best, sum(found.values())


def _stall_density(table: LogTable, change: Change, others: Sequence[Change]) -> float:
    """Return how likely a stall leaves a final gravity so high; 0 where nothing can have stalled.

    Per unit of the gravity.
    """
    (name,), (place,) = change.quantities, change.places
    if name != _FERMENTED or change.amount <= 0 or "original_gravity_sg" not in table.where:
        return 0.0
    for beside in (b for b in _BESIDE if b in table.where):
        read = math.isfinite(table.plain[place, table.where[beside]])
        if read and not any(o.quantities == (beside,) and o.places == (place,) for o in others):
            return 0.0
    worts = table.plain[:, table.where["original_gravity_sg"]]
    wort = worts[place] if math.isfinite(worts[place]) else float(np.nanmedian(worts))
    low, high = _STALL_LOSS
    undone = change.amount / (wort - 1.0)
    return 1 / ((high - low) * (wort - 1.0)) if low <= undone <= high else 0.0
