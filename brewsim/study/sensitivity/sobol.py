"""What drives each outcome: first- and total-order indices with their sampling errors.

First order by the centred estimator of Saltelli et al., Computer Physics Communications 181
(2010) 259; total order by Jansen, Computer Physics Communications 117 (1999) 35.
"""

import json
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import version

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.latents import latents
from brewsim.study.model.outcome_rows import OutcomeRow, outcome_rows
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, Progress, half_width, over_replicates
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.figures import MOST_BAD
from brewsim.study.sensitivity.factor_groups import By, Unit, merged_notes, units_by
from brewsim.study.sensitivity.far_draws import (
    far_draw_notes,
    with_shares_that_can_be,
    without_squares,
)
from brewsim.study.sensitivity.pickfreeze import Sums, design, replicate_sums

_FEWEST = 16
"""Rows of a replicate from which on stated intervals hold; closeness takes more."""


@dataclass(frozen=True)
class _Indices:
    """Estimates (changes, outcomes) and the same by replicate, replicates first."""

    first: FloatArray
    total: FloatArray
    first_by_replicate: FloatArray
    total_by_replicate: FloatArray
    variance: FloatArray
    left_out: FloatArray


def rank(
    problem: Problem,
    base: int = 2048,
    replicates: int = 8,
    seed: int = 1,
    by: By = "factor",
    *,
    pairs: Iterable[tuple[str, str]] = (),
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Rank what each outcome's variance comes from, dims ("outcome", "factor").

    `first_order`, `total_order` with 95 % intervals `_low`, `_high`; `distinguishable` (from
    zero) and `tied_with_next` (in total order); `variance` per outcome, on its own scale. `pairs`
    of factor ids add `second_order`, dims ("outcome", "pair"). What cannot reach an outcome is
    exactly 0. Rare events are held at not happening (attribute `events_held`); correlated
    factors are ranked as one (attribute `merged`); rows without a value are left out everywhere
    (attribute `left_out`), and above 1 % of them no interval is given; where a few far draws carry
    a variance attribute `notes` (JSON) says so, and a share that cannot be, ten times the whole
    and more, is nan. `base` rows a replicate are a power of two, 16 or more: the intervals hold
    from there on, more rows make them narrower. Raises StudyError.

    `by` is "factor", "group" or "kind"; `replicates` give the intervals. Indices are shares of the
    variance, without unit. `seed`, `executor` and `progress` as in `simulate`. Source: Saltelli et
    al. (2010), Comput. Phys. Commun. 181, 259-270.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> rank(problem)["first_order"].sel(outcome="total").to_numpy().round(2).tolist()
    [0.36, 0.64]
    """
    if base < _FEWEST:
        raise StudyError(
            f"rows of a replicate are at least {_FEWEST}, not {base}: fewer tell nothing"
        )
    usual = without_events(problem)
    found = latents(usual, by_kind=by == "kind")
    outcomes = outcome_rows(usual)
    units = units_by(usual, found, by)
    chosen = [_pair(units, *pair) for pair in pairs]
    both = tuple(_both(units[i], units[j]) for i, j in chosen)
    plan = Plan(replicates, base, seed)
    task = design(usual, found, outcomes, (*units, *both))
    sums = over_replicates(
        partial(replicate_sums, task, plan),
        replicates,
        rows=base,
        executor=executor,
        progress=progress,
        text="replicate",
    )
    spread = np.array([s.lumps for s in sums])
    indices = _indices(sums, without_squares(spread))
    table = _table(usual, outcomes, units, indices, plan)
    table.attrs |= {
        "by": by,
        "merged": merged_notes(usual, units),
        "notes": far_draw_notes(
            usual, [o.id for o in outcomes], spread, base, task.assembly.active
        ),
        "events_held": json.dumps([f.label for f in problem.factors if f.event]),
    }
    table = with_shares_that_can_be(table)
    return table.assign(_second_order(outcomes, units, chosen, indices)) if chosen else table


def _pair(units: Sequence[Unit], one: str, other: str) -> tuple[int, int]:
    ids = [unit.id for unit in units]
    for name in (one, other):
        if name not in ids:
            raise StudyError(f"nothing called {name} is ranked.{did_you_mean(name, ids)}")
    if one == other:
        raise StudyError(f"a pair takes two different factors, not {one} twice")
    return ids.index(one), ids.index(other)


def _both(one: Unit, other: Unit) -> Unit:
    factors = tuple(sorted({*one.factors, *other.factors}))
    return replace(one, coordinates=one.coordinates | other.coordinates, factors=factors)


def _indices(sums: Sequence[Sums], lost: Flags) -> _Indices:
    """Turn sums into indices: pooled over replicates, and for each one; nan for lost outcomes."""
    with np.errstate(all="ignore"):
        rows = np.array([s.rows for s in sums])
        centre = np.array([s.level for s in sums]) / (2 * rows)
        variance = (np.array([s.square for s in sums]) - 2 * rows * centre**2) / (2 * rows)
        first = np.array([s.first - c * s.moved for s, c in zip(sums, centre, strict=True)])
        first /= rows[:, None, :]
        total = np.array([s.total for s in sums]) / (2 * rows[:, None, :])
    first[..., lost], total[..., lost], variance[:, lost] = np.nan, np.nan, np.nan
    return _Indices(
        first=_ratio(first.mean(axis=0), variance.mean(axis=0)),
        total=_ratio(total.mean(axis=0), variance.mean(axis=0)),
        first_by_replicate=_ratio(first, variance[:, None, :]),
        total_by_replicate=_ratio(total, variance[:, None, :]),
        variance=variance.mean(axis=0),
        left_out=np.array([s.left_out for s in sums]).sum(axis=0),
    )


def _ratio(part: FloatArray, whole: FloatArray) -> FloatArray:
    """Divide, with 0 for a part of exactly 0 whatever the whole is."""
    part, whole = np.broadcast_arrays(part, whole)
    usable = (part != 0) & (whole > 0)
    empty = np.where(part == 0, 0.0, np.nan)
    with np.errstate(invalid="ignore"):
        return np.divide(part, whole, out=empty, where=usable)


def _table(
    problem: Problem,
    outcomes: tuple[OutcomeRow, ...],
    units: Sequence[Unit],
    found: _Indices,
    plan: Plan,
) -> xr.Dataset:
    refused = found.left_out > MOST_BAD * plan.draws
    count = len(units)
    first = _interval(found.first, found.first_by_replicate, refused)[:, :, :count]
    total = _interval(found.total, found.total_by_replicate, refused)[:, :, :count]
    dims = ("outcome", "factor")
    scales = [problem.scales.get(o.quantity, "linear") for o in outcomes]
    return xr.Dataset(
        {
            "first_order": (dims, first[0]),
            "first_order_low": (dims, first[1]),
            "first_order_high": (dims, first[2]),
            "total_order": (dims, total[0]),
            "total_order_low": (dims, total[1]),
            "total_order_high": (dims, total[2]),
            "distinguishable": (dims, total[1] > 0),
            "tied_with_next": (dims, _ties(found.total_by_replicate[:, :count])),
            "variance": ("outcome", found.variance),
        },
        coords={
            "outcome": [o.id for o in outcomes],
            "outcome_label": ("outcome", [o.label for o in outcomes]),
            "scale": ("outcome", scales),
            "factor": [unit.id for unit in units],
            "label": ("factor", [unit.label for unit in units]),
            "group": ("factor", [unit.group for unit in units]),
            "turnable": ("factor", [unit.turnable for unit in units]),
            "measurable": ("factor", [unit.measurable for unit in units]),
        },
        attrs={
            "name": problem.name,
            "version": version("brewsim"),
            "seed": plan.seed,
            "base": plan.rows,
            "replicates": plan.replicates,
            "left_out": json.dumps(
                {o.id: int(k) for o, k in zip(outcomes, found.left_out, strict=True) if k}
            ),
        },
    )


def _interval(estimate: FloatArray, by_replicate: FloatArray, refused: Flags) -> FloatArray:
    """Return estimate, low and high, each (outcomes, changes)."""
    half = half_width(by_replicate)
    half = np.where(refused & (estimate != 0), np.nan, half)
    return np.stack([estimate.T, (estimate - half).T, (estimate + half).T])


def _ties(total: FloatArray) -> FloatArray:
    """Tell where a unit's total order cannot be told from the next lower one's.

    `total` is (replicates, units, outcomes); the difference is taken within each replicate.
    """
    tied = np.zeros(total.shape[:0:-1], dtype=bool)
    for place in range(total.shape[2]):
        order = np.argsort(-total[:, :, place].mean(axis=0), kind="stable")
        ranked = total[:, order, place]
        steps = ranked[:, :-1] - ranked[:, 1:]
        tied[place, order[:-1]] = steps.mean(axis=0) <= half_width(steps)
    return tied


def _second_order(
    outcomes: tuple[OutcomeRow, ...],
    units: Sequence[Unit],
    chosen: Sequence[tuple[int, int]],
    found: _Indices,
) -> xr.Dataset:
    count, refused = len(units), np.zeros(len(outcomes), dtype=bool)
    left, right = ([pair[side] for pair in chosen] for side in (0, 1))
    estimate = found.first[count:] - found.first[left] - found.first[right]
    each = found.first_by_replicate
    spread = each[:, count:] - each[:, left] - each[:, right]
    values = _interval(estimate, spread, refused)
    dims = ("outcome", "pair")
    return xr.Dataset(
        {
            "second_order": (dims, values[0]),
            "second_order_low": (dims, values[1]),
            "second_order_high": (dims, values[2]),
        },
        coords={"pair": [f"{units[i].id} × {units[j].id}" for i, j in chosen]},
    )
