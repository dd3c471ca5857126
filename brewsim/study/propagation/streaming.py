"""Millions of draws in little memory: outcomes are summed up block by block, never kept."""

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from functools import partial

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, Progress, over_replicates, product_sum
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target, lands
from brewsim.study.propagation.diagnostics import NotFinite, Outside
from brewsim.study.propagation.figures import (
    Chances,
    Outcome,
    on_scale,
    share_of,
    table,
    unevenness,
)
from brewsim.study.propagation.histogram import Histogram
from brewsim.study.propagation.simulate import (
    Drawn,
    Task,
    attributes,
    describe,
    draw_blocks,
    simulation_task,
)

FIRST_ROWS = 1_024
"""Rows of replicate 0 that set the grids of the histograms."""


@dataclass
class _Tally:
    """One outcome in one replicate; moments are about `shift`, on the outcome's own scale.

    Infinite values are counted `above` and `below` all others, and in no moment.
    """

    histogram: Histogram
    shift: float
    rows: int = 0
    bad: int = 0
    above: int = 0
    below: int = 0
    level: float = 0.0
    square: float = 0.0
    landed: int = 0
    landed_with_events: int = 0


@dataclass
class _Replicate:
    """Everything summed up over one replicate."""

    tallies: dict[str, _Tally]
    rows: int = 0
    usual: int = 0
    joint: int = 0
    joint_with_events: int = 0
    outside: Outside = field(default_factory=Counter)
    not_finite: NotFinite = field(default_factory=Counter)


def summarise_large(
    problem: Problem,
    draws: int = 2**22,
    seed: int = 1,
    coverage: float = 0.9,
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Return what `summarise(simulate(problem, draws), coverage)` would, in fixed memory.

    Quantiles come from histograms of thousands of bins; on a log scale a value at or below 0
    counts as none. The numbers depend on nothing but the problem, `draws` and `seed`. Raises
    StudyError.

    `executor` shares the work, `progress` hears the share done, 0 to 1. Figures are in each
    outcome's unit, dims ("outcome",).

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> round(float(summarise_large(problem, draws=2**16)["median"][0]), 2)
    3.0
    """
    task = simulation_task(problem)
    plan = Plan.of(draws, seed)
    names = [n for n in task.checked if not problem.graph.axes(n)]
    grids = _grids(task, plan, names)
    found = over_replicates(
        partial(_summed, task, plan, grids),
        plan.replicates,
        rows=plan.rows,
        executor=executor,
        progress=progress,
        text="replicate",
    )
    outcomes = [
        _outcome(problem, name, [r.tallies[name] for r in found], found, coverage) for name in names
    ]
    counted = attributes(
        task,
        plan,
        sum((r.outside for r in found), Counter()),
        sum((r.not_finite for r in found), Counter()),
    )
    return table(outcomes, _chances(found, bool(problem.targets)), coverage, counted)


def _grids(task: Task, plan: Plan, names: Sequence[str]) -> dict[str, Histogram]:
    first = next(iter(draw_blocks(task, plan, 0, min(FIRST_ROWS, plan.rows), 0)))
    grids = {}
    for name in names:
        values = on_scale(first.values[name], task.problem.scales.get(name, "linear"))
        good = values[np.isfinite(values)]
        grids[name] = Histogram.around(good if good.size else np.zeros(1))
    return grids


def _summed(task: Task, plan: Plan, grids: dict[str, Histogram], replicate: int) -> _Replicate:
    total = _Replicate({n: _Tally(g.empty(), g.origin) for n, g in grids.items()})
    for drawn in draw_blocks(task, plan, 0, plan.rows, replicate):
        _add(task.problem, total, drawn)
    return total


def _add(problem: Problem, total: _Replicate, drawn: Drawn) -> None:
    size = len(next(iter(drawn.values.values())))
    usual = np.ones(size, dtype=bool) if drawn.event is None else ~drawn.event
    total.rows += size
    total.usual += int(usual.sum())
    total.outside += drawn.outside
    total.not_finite += drawn.not_finite
    joint = np.ones(size, dtype=bool)
    for name, tally in total.tallies.items():
        values = drawn.values[name]
        _add_outcome(tally, values, usual, problem.scales.get(name, "linear"))
        target: Target | None = problem.targets.get(name)
        if target is not None:
            inside = lands(values, target)
            joint &= inside
            tally.landed += int((inside & usual).sum())
            tally.landed_with_events += int(inside.sum())
    total.joint += int((joint & usual).sum())
    total.joint_with_events += int(joint.sum())


def _add_outcome(tally: _Tally, values: FloatArray, usual: Flags, scale: str) -> None:
    scaled = on_scale(values, scale)
    good = usual & np.isfinite(scaled)
    kept = scaled if good.all() else scaled[good]
    above = int((usual & (scaled == np.inf)).sum())
    below = int((usual & (values == -np.inf)).sum()) if scale == "linear" else 0
    tally.above, tally.below = tally.above + above, tally.below + below
    tally.bad += int(usual.sum()) - len(kept) - above - below
    tally.rows += len(kept)
    tally.histogram.add(kept)
    centred = kept - tally.shift
    tally.level += float(centred.sum())
    tally.square += product_sum(centred, centred)


def _outcome(
    problem: Problem,
    name: str,
    tallies: Sequence[_Tally],
    replicates: Sequence[_Replicate],
    coverage: float,
) -> Outcome:
    scale = problem.scales.get(name, "linear")
    pooled = _Tally(tallies[0].histogram.empty(), tallies[0].shift)
    for tally in tallies:
        pooled.histogram.merge(tally.histogram)
        for part in ("rows", "bad", "above", "below", "level", "square"):
            setattr(pooled, part, getattr(pooled, part) + getattr(tally, part))
    sizes = np.array([r.rows for r in replicates])
    usual = np.array([r.usual for r in replicates])
    nothing = np.full(1 + len(tallies), np.nan)
    asked = name in problem.targets
    landed = np.array([t.landed for t in tallies])
    with_events = np.array([t.landed_with_events for t in tallies])
    return Outcome(
        name,
        describe(problem, name),
        _figures(pooled, scale, coverage),
        np.array([_figures(tally, scale, coverage) for tally in tallies]),
        pooled.bad,
        int(usual.sum()),
        int(sizes.sum()),
        share_of(landed, usual) if asked else nothing,
        share_of(with_events, sizes) if asked else nothing,
        infinite=pooled.above + pooled.below,
        uneven=_unevenness(pooled, len(tallies)),
    )


def _unevenness(pooled: _Tally, replicates: int) -> float:
    counts = pooled.histogram.counts
    filled = np.flatnonzero(counts)
    if filled.size < 2:
        return 0.0
    return unevenness(filled.astype(float), counts[filled].astype(float), replicates)


def _figures(tally: _Tally, scale: str, coverage: float) -> FloatArray:
    """Return estimate, median, standard uncertainty, low and high."""
    if tally.rows < 2:
        return np.full(5, np.nan)
    shares = ((1 - coverage) / 2, 0.5, (1 + coverage) / 2)
    low, median, high = (_unscaled(_quantile(tally, p), scale) for p in shares)
    mean = tally.level / tally.rows
    spread = np.sqrt(max(tally.square - tally.rows * mean**2, 0.0) / tally.rows)
    estimate = tally.shift + mean if scale == "linear" else median
    return np.array([estimate, median, spread, low, high])


def _quantile(tally: _Tally, probability: float) -> float:
    """Return a quantile with infinite values at their ends."""
    wanted = probability * (tally.below + tally.rows + tally.above) - tally.below
    if 0 <= wanted <= tally.rows:
        return tally.histogram.quantile(wanted / tally.rows)
    return float("inf") if wanted > 0 else -float("inf")


def _unscaled(value: float, scale: str) -> float:
    if scale == "linear":
        return value
    return float(np.exp2(value) if scale == "log2" else np.exp(value))


def _chances(found: Sequence[_Replicate], asked: bool) -> Chances:
    rows = np.array([r.rows for r in found])
    usual = np.array([r.usual for r in found])
    nothing = np.full(1 + len(found), np.nan)
    joint = np.array([r.joint for r in found])
    with_events = np.array([r.joint_with_events for r in found])
    return Chances(
        share_of(joint, usual) if asked else nothing,
        share_of(with_events, rows) if asked else nothing,
        share_of(rows - usual, rows),
        int(usual.sum()),
        int(rows.sum()),
    )
