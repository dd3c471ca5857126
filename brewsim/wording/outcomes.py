"""From the datasets of the studies to the content of the page; adds no figure of its own."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import xarray as xr

from brewsim.constants import EBC_PER_SRM
from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import lower
from brewsim.wording.beer_swatch import beer_srgb
from brewsim.wording.content import (
    Bar,
    Batches,
    Content,
    Drivers,
    InputRow,
    KindShares,
    Mark,
    Outcome,
    Panel,
)
from brewsim.wording.notes import (
    Label,
    events_of,
    known,
    method_of,
    outside_of,
    ranking_doubts,
)
from brewsim.wording.parts import Danger, Limits

Looks = Mapping[str, Quantity]
Removable = Mapping[str, Mapping[str, float]]
"""By factor and outcome: the share of the variance that measuring the factor takes away."""


@dataclass(frozen=True, slots=True)
class Extras:
    """What the page can say beyond expectation and drivers; every part may stay empty."""

    dangers: tuple[Danger, ...] = ()
    knob_panel: Panel = field(default_factory=Panel)
    spec: Panel = field(default_factory=Panel)
    batches: Batches = field(default_factory=Batches)
    understood: tuple[InputRow, ...] = ()
    assumed: tuple[InputRow, ...] = ()
    warnings: tuple[str, ...] = ()
    sources: tuple[tuple[str, str], ...] = ()
    looks: Looks | None = None


def content_of(
    draws: xr.Dataset,
    summary: xr.Dataset,
    *,
    by_factor: xr.Dataset | None = None,
    by_group: xr.Dataset | None = None,
    by_kind: xr.Dataset | None = None,
    removable: Removable | None = None,
    spread: xr.Dataset | None = None,
    extras: Extras | None = None,
    label: Label | None = None,
) -> Content:
    """Return the page's content from `simulate`, `summarise`, three `rank` and `spread_by_kind`.

    Only the first two are needed; what is not given leaves its section out. `label` gives the
    words for any quantity of the model, `removable` what measuring each factor takes away.
    """
    extra = extras or Extras()
    looks = looks_of(summary, extra.looks)
    return Content(
        title=str(draws.attrs["name"]),
        version=str(draws.attrs["version"]),
        seed=int(draws.attrs["seed"]),
        draws=int(draws.attrs["draws"]),
        replicates=int(draws.attrs["replicates"]),
        outcomes=outcomes_of(draws, summary, looks),
        dangers=extra.dangers,
        joint_chance=known(summary.attrs.get("joint_in_target")),
        joint_error=known(summary.attrs.get("joint_in_target_error")) or 0.0,
        events=events_of(draws, summary),
        drivers=(
            drivers_of(by_factor, by_group, looks, removable) if by_factor is not None else ()
        ),
        knob_panel=extra.knob_panel,
        spec=extra.spec,
        kinds=kinds_of(by_kind, looks, spread) if by_kind is not None else (),
        batches=extra.batches,
        understood=extra.understood,
        assumed=extra.assumed,
        warnings=(
            *extra.warnings,
            *json.loads(summary.attrs.get("notes", "[]")),
            *(ranking_doubts(by_factor, [*looks], {}) if by_factor is not None else ()),
        ),
        outside=outside_of(draws, label),
        method=method_of(draws, by_factor),
        sources=extra.sources,
    )


def looks_of(summary: xr.Dataset, given: Looks | None = None) -> dict[str, Quantity]:
    """Return how each summarised outcome is shown: as given, else as in the catalogue."""
    looks = {}
    for place, name in enumerate(summary["outcome"].to_numpy().tolist()):
        label = lower(str(summary["label"].to_numpy()[place]))
        looks[name] = (given or {}).get(name) or outcome_of(name, label=label)
    return looks


def outcomes_of(draws: xr.Dataset, summary: xr.Dataset, looks: Looks) -> tuple[Outcome, ...]:
    """Return every outcome that has an interval: 50 dots from the draws, numbers as summarised."""
    targets = json.loads(draws.attrs.get("targets", "{}"))
    found = []
    for name, look in looks.items():
        row = summary.sel(outcome=name)
        if not np.isfinite([row["low"].item(), row["high"].item()]).all():
            continue
        limits = limits_of(targets[name], look) if name in targets else None
        dots = quantiles(draws, name)
        found.append(
            Outcome(
                name=name,
                look=look,
                scale=str(row["scale"].item()),
                dots=tuple((dots * look.per_model).tolist()),
                low=row["low"].item() * look.per_model,
                middle=row["median"].item() * look.per_model,
                high=row["high"].item() * look.per_model,
                target=limits,
                chance=known(row["in_target"].item()) if limits else None,
                chance_error=known(row["in_target_error"].item()) or 0.0,
                swatches=_swatches(name, row),
            )
        )
    return tuple(found)


def quantiles(draws: xr.Dataset, name: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return the 50 quantiles (i + 1/2)/50 of an outcome's draws without rare events, (50,)."""
    values = draws[name].to_numpy()
    usual = np.isfinite(values)
    if "event" in draws:
        usual &= ~draws["event"].to_numpy()
    return np.quantile(values[usual], (np.arange(DOTS) + 0.5) / DOTS)


def limits_of(pair: Sequence[float | None], look: Quantity) -> Limits:
    """Return a target's limits, model units, in shown units."""
    lower, upper = (None if limit is None else limit * look.per_model for limit in pair)
    return Limits(lower, upper)


def _swatches(name: str, row: xr.Dataset) -> tuple[str, str, str] | None:
    if not name.startswith("beer_color_"):
        return None
    per_srm = EBC_PER_SRM if name.startswith("beer_color_ebc") else 1.0
    low, middle, high = (
        beer_srgb(row[figure].item() / per_srm) for figure in ("low", "median", "high")
    )
    return low, middle, high


def drivers_of(
    by_factor: xr.Dataset,
    by_group: xr.Dataset | None,
    looks: Looks,
    removable: Removable | None = None,
) -> tuple[Drivers, ...]:
    """Return what drives each outcome; outcomes that nothing drives are left out."""
    found = []
    for name in by_factor["outcome"].to_numpy().tolist():
        reach = {f: shares.get(name, 0.0) for f, shares in removable.items()} if removable else None
        bars = bars_of(by_factor.sel(outcome=name), removable=reach)
        if not any(bar.together > 0 for bar in bars):
            continue
        groups = bars_of(by_group.sel(outcome=name), marked=False) if by_group is not None else ()
        label = looks[name].title if name in looks else name
        found.append(Drivers(name, label, bars, groups))
    return tuple(found)


def bars_of(
    ranked: xr.Dataset, *, marked: bool = True, removable: Mapping[str, float] | None = None
) -> tuple[Bar, ...]:
    """Return one outcome's inputs that reach it, largest total order first.

    `removable` is what measuring each factor takes away; one that is not in it only scatters
    from brew to brew, so that nobody controls it.
    """
    columns = {str(key): ranked[key].to_numpy() for key in ranked.variables}
    bars = []
    for place in np.argsort(-np.nan_to_num(columns["total_order"]), kind="stable"):
        row = {key: column[place] for key, column in columns.items() if column.ndim}
        if not row["total_order"] > 0:
            continue
        alone, together = (_interval(row, key) for key in ("first_order", "total_order"))
        found = (removable or {}).get(str(row["factor"]))
        measurable = bool(row["measurable"]) and (removable is None or found is not None)
        mark = _mark(turnable=bool(row["turnable"]), measurable=measurable) if marked else None
        bars.append(Bar(str(row["label"]), *alone, *together, mark, found))
    return tuple(bars)


def _interval(row: Mapping[str, float], key: str) -> tuple[float, float, float]:
    value = float(row[key])
    value = value if math.isfinite(value) else 0.0
    ends = [float(row[f"{key}_{end}"]) for end in ("low", "high")]
    low, high = (end if math.isfinite(end) else value for end in ends)
    return value, low, high


def _mark(*, turnable: bool, measurable: bool) -> Mark:
    if turnable:
        return "turn"
    return "measure" if measurable else "nobody"


def kinds_of(
    by_kind: xr.Dataset, looks: Looks, spread: xr.Dataset | None = None
) -> tuple[KindShares, ...]:
    """Return how each outcome's spread divides: knowledge alone, brew in all, lots the rest.

    Expected variance given knowledge and lot is the brew's total order; variance of the mean
    given the knowledge is knowledge's first order; the three sum to one.
    """
    present = set(by_kind["factor"].to_numpy().tolist())
    found = []
    for name in by_kind["outcome"].to_numpy().tolist():
        row = by_kind.sel(outcome=name)
        if not row["variance"].item() > 0 or name not in looks:
            continue
        knowledge = sum(_share(row, "first_order", kind) for kind in present - {"lot", "batch"})
        batch = _share(row, "total_order", "batch") if "batch" in present else 0.0
        whole = max(1.0, knowledge + batch) if "lot" in present else (knowledge + batch) or 1.0
        knowledge, batch = knowledge / whole, batch / whole
        own = _own(spread, name, looks[name])
        found.append(
            KindShares(
                outcome=name,
                look=looks[name],
                knowledge=knowledge,
                lot=max(0.0, 1.0 - knowledge - batch),
                batch=batch,
                own_half=own[0] if own else None,
                middle_half=own[1] if own else None,
                folds=looks[name].fold or str(row["scale"].item()) != "linear",
            )
        )
    return tuple(found)


def _own(spread: xr.Dataset | None, name: str, look: Quantity) -> tuple[float, float] | None:
    """Return half widths around the own middle and of that middle: shown units or doublings."""
    if spread is None or name not in spread["outcome"].to_numpy():
        return None
    row = spread.sel(outcome=name)
    own, low, high = (row[key].item() for key in ("scatter", "middle_low", "middle_high"))
    scale = str(row["scale"].item())
    if scale != "linear":
        half = math.log2(high / low) / 2 if low > 0 else math.nan
        own = own / math.log(2) if scale == "log" else own
    else:
        own, half = own * look.per_model, (high - low) / 2 * look.per_model
    return (own, half) if math.isfinite(own + half) else None


def _share(row: xr.Dataset, key: str, kind: str) -> float:
    value = row.sel(factor=kind)[key].item()
    return min(1.0, max(0.0, value)) if math.isfinite(value) else 0.0
