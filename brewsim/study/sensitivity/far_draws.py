"""Where a few far draws carry an outcome's variance, shares of it are rough: told, not hidden."""

import json
from collections.abc import Sequence

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags
from brewsim.study.propagation.figures import BEYOND_SQUARES, with_square
from brewsim.study.propagation.simulate import without_variance

_UNEVEN = 0.5
"""Skewness of a replicate's mean square deviation above which intervals of shares hold too little:
measured, docs/methods.md."""

_NORMAL = 6.0
_SHARES = ("first_order", "total_order")
_MOST = 10.0
"""No share of a variance is ten times the whole: single draws carry such a variance."""


def lumps(values: FloatArray) -> FloatArray:
    """Return mean square deviation, and mean square and cube of one over it, (outcomes, 3).

    `values` are (outcomes, n); what is not finite is left out. nan where values differ and their
    squares leave the floating range.
    """
    found = np.zeros((len(values), 3))
    for place, row in enumerate(values):
        known = row[np.isfinite(row)]
        if not known.size or known.min() == known.max():
            continue
        with np.errstate(over="ignore"):
            square = (known - known.mean()) ** 2
        level = float(with_square(np.array(True), square.mean()))
        apart = square / level
        found[place] = level, (apart**2).mean(), (apart**3).mean()
    return found


def without_squares(found: FloatArray) -> Flags:
    """Tell of each outcome whether any replicate's squares left the floating range (lumps)."""
    return np.asarray(np.isnan(found[:, :, 0]).any(axis=0))


def far_draw_notes(
    problem: Problem, outcomes: Sequence[str], found: FloatArray, rows: int, places: Sequence[int]
) -> str:
    """Return notes, JSON: factors without a variance, outcomes whose variance few draws carry.

    `found` are lumps (replicates, outcomes, 3) of `rows` values, `places` those of the factors.
    """
    notes = [
        f"{label}: without a variance, so shares of a variance that rests on it never settle"
        for label in without_variance(problem, places)
    ]
    level = found[:, :, 0].mean(axis=0)
    lost = without_squares(found) | ~np.isfinite(level)
    share = np.where(lost, 0.0, found[:, :, 0] / np.where((level > 0) & ~lost, level, 1.0))
    second = (found[:, :, 1] * share**2).mean(axis=0)
    third = (found[:, :, 2] * share**3).mean(axis=0)
    spread = np.maximum(second - 1, 0.0) ** 1.5
    skew = (third - 3 * second + 2) / np.where(spread > 0, spread, np.inf) / np.sqrt(rows)
    notes += [
        f"{name}: a few far draws carry its variance: take its shares as rough"
        for name, own in zip(outcomes, skew, strict=True)
        if own > max(_UNEVEN, _NORMAL / np.sqrt(rows))
    ]
    notes += [BEYOND_SQUARES.format(outcomes[int(place)]) for place in np.flatnonzero(lost)]
    return json.dumps(notes)


def with_shares_that_can_be(table: xr.Dataset) -> xr.Dataset:
    """Return a ranking in which a share that cannot be is nan, as its interval is; notes say so."""
    ends = [f"{kind}{end}" for kind in _SHARES for end in ("", "_low", "_high")]
    if not any((np.abs(table[end].to_numpy()) >= _MOST).any() for end in ends):
        return table
    kept, notes = dict(table.data_vars), json.loads(table.attrs["notes"])
    odd = (abs(table["total_order"]) >= _MOST) | (abs(table["first_order"]) >= _MOST)
    for key in _SHARES:
        kept[key] = table[key].where(~odd)
        ends = [f"{key}_low", f"{key}_high"]
        wide = odd | (abs(table[ends[0]]) >= _MOST) | (abs(table[ends[1]]) >= _MOST)
        kept |= {end: table[end].where(~wide) for end in ends}
    kept["distinguishable"] = table["distinguishable"] & ~odd
    for name in table["outcome"].to_numpy()[odd.any("factor").to_numpy()]:
        notes = [note for note in notes if not str(note).startswith(f"{name}: ")]
        notes.append(f"{name}: no share can be told where single draws carry its variance")
    return table.assign(kept).assign_attrs(notes=json.dumps(notes))
