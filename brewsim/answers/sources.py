"""Where each target's spread comes from: what to turn, to measure, the lot, the brew, always."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr

from brewsim.study.sensitivity.variance_budget import Budget

Mark = Literal["turn", "measure", "nobody"]
Source = Literal["turn", "measure", "lot", "brew", "always"]
SOURCES: tuple[Source, ...] = ("turn", "measure", "lot", "brew", "always")
MOST_ROWS = 6
LEAST_SHARE = 0.01


@dataclass(frozen=True)
class DriverRow:
    """One input's own share of an outcome's variance, and what can be done about it."""

    factor: str
    label: str
    share: float
    mark: Mark


@dataclass(frozen=True)
class SpreadSources:
    """One outcome: its largest inputs, how many follow and what they have together.

    `parts` divides what single inputs do over the five sources; `acting_together` is what comes
    only from inputs acting on one another. All shares are of the variance and sum to 1.
    """

    outcome: str
    rows: tuple[DriverRow, ...]
    others: int
    others_share: float
    acting_together: float
    parts: Mapping[Source, float]


def spread_sources(
    by_factor: xr.Dataset,
    budgets: Mapping[str, Sequence[Budget]],
    measurable: Mapping[str, Mapping[str, float]] | None,
) -> dict[str, SpreadSources]:
    """Return the sources of every outcome that has a budget by kind.

    Shares are the first-order indices of `by_factor`; `budgets` says how each divides over kinds.
    `measurable` has for each factor what measuring it takes away, None where that was not asked.
    """
    return {
        outcome: _sources(outcome, by_factor.sel(outcome=outcome), budget, measurable)
        for outcome, budget in budgets.items()
        if outcome in by_factor["outcome"].to_numpy()
    }


def _sources(
    outcome: str,
    ranked: xr.Dataset,
    budget: Sequence[Budget],
    measurable: Mapping[str, Mapping[str, float]] | None,
) -> SpreadSources:
    kinds = {row.factor: row for row in budget}
    rows = []
    parts: dict[Source, float] = dict.fromkeys(SOURCES, 0.0)
    names = ranked["factor"].to_numpy().tolist()
    reached = ranked["total_order"].to_numpy() > 0
    first = np.clip(np.nan_to_num(ranked["first_order"].to_numpy()), 0.0, 1.0)
    first = first / max(1.0, float(first[reached].sum()))
    for place, factor in enumerate(names):
        if not reached[place]:
            continue
        row = ranked.isel(factor=place)
        can = bool(row["measurable"]) and (measurable is None or factor in measurable)
        mark: Mark = "turn" if bool(row["turnable"]) else "measure" if can else "nobody"
        rows.append(DriverRow(str(factor), str(row["label"].item()), float(first[place]), mark))
        for source, share in _divided(float(first[place]), mark, kinds.get(str(factor))).items():
            parts[source] += share
    rows.sort(key=lambda one: -one.share)
    shown = tuple(one for one in rows[:MOST_ROWS] if one.share >= LEAST_SHARE)
    alone = sum(parts.values())
    return SpreadSources(
        outcome,
        shown,
        len(rows) - len(shown),
        max(0.0, alone - sum(one.share for one in shown)),
        max(0.0, 1.0 - alone),
        parts,
    )


def _divided(share: float, mark: Mark, budget: Budget | None) -> dict[Source, float]:
    """Divide an input's share over the sources by its kinds; one to turn is turned whole."""
    if mark == "turn":
        return {"turn": share}
    if budget is None or budget.total <= 0:
        return {"measure" if mark == "measure" else "always": share}
    knowledge, lot, batch = (
        share * max(0.0, part) / budget.total
        for part in (budget.knowledge, budget.lot, budget.batch)
    )
    whole = knowledge + lot + batch
    scale = share / whole if whole > 0 else 0.0
    knowledge, lot, batch = knowledge * scale, lot * scale, batch * scale
    if mark == "measure":
        return {"measure": knowledge + lot, "brew": batch}
    return {"always": knowledge, "lot": lot, "brew": batch}
