"""Draw a problem's outcomes: replicated quasi-random draws, with everything odd counted."""

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from typing import Any, Literal

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.foreign_model import refuse_reserved
from brewsim.study.model.latents import Latents, latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, Progress, over_replicates
from brewsim.study.model.sampling import Assembly, Plan, Points, blocks
from brewsim.study.propagation.diagnostics import NotFinite, Outside, not_finite, outside_ranges
from brewsim.study.propagation.stopping_rule import not_settled
from brewsim.units import unit_of

AUTO_FIRST_ROWS = 512
AUTO_MOST_DRAWS = 2**20


@dataclass(frozen=True)
class Task:
    """Everything a worker needs to draw any rows of any replicate."""

    problem: Problem
    latents: Latents
    graph: Graph
    assembly: Assembly
    names: tuple[str, ...]
    checked: tuple[str, ...]
    events: tuple[int, ...]
    keep_scores: bool


@dataclass(frozen=True)
class Drawn:
    """Some rows of one replicate: quantities, scores, whether an event happened, odd counts."""

    values: Mapping[str, FloatArray]
    scores: FloatArray | None
    event: Flags | None
    outside: Outside
    not_finite: NotFinite


def simulate(
    problem: Problem,
    draws: int | Literal["auto"] = 16_384,
    seed: int = 1,
    *,
    keep: Iterable[str] = (),
    executor: Executor | None = None,
    progress: Progress | None = None,
    keep_scores: bool = False,
) -> xr.Dataset:
    """Draw the problem's outcomes.

    `draws` is rounded up to 8 replicates of a power of two of rows; "auto" doubles them until
    every figure is settled (see `settled`) or 2**20 draws are used. `keep` names further
    quantities to return, `keep_scores` returns each factor's normal score as `score`.

    The result has dims ("draw",), list axes first where a kept quantity is a list; coordinate
    `replicate`; `event` where the problem has rare events. Attributes `outside` and `not_finite`
    (JSON lists) count draws that left a formula's range and outcomes that are not finite;
    no draw is dropped. Raises StudyError for a quantity that does not exist.

    Values are in each outcome's unit (attribute `unit`). The same `seed` gives the same draws on
    any `executor`; `progress` is called with the share done, 0 to 1, and a text.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> simulate(problem, draws=1000, seed=1).sizes["draw"]
    1024
    """
    task = simulation_task(problem, keep, keep_scores=keep_scores)
    if draws == "auto":
        return _until_settled(task, seed, executor, progress)
    plan = Plan.of(draws, seed)
    parts = over_replicates(
        partial(draw_rows, task, plan, 0, plan.rows),
        plan.replicates,
        rows=plan.rows,
        executor=executor,
        progress=progress,
        text="replicate",
    )
    return _dataset(task, plan, parts)


def simulation_task(
    problem: Problem, keep: Iterable[str] = (), *, keep_scores: bool = False
) -> Task:
    """Return what `draw_rows` needs: the smallest graph that computes what is asked."""
    names = tuple(dict.fromkeys([*problem.outcomes, *problem.targets, *keep]))
    problem.require(names)
    refuse_reserved(names)
    graph = problem.graph.pruned(names)
    assembly = Assembly(problem, set(graph.inputs))
    return Task(
        problem,
        latents(problem),
        graph,
        assembly,
        names,
        tuple(dict.fromkeys([*problem.outcomes, *problem.targets])),
        tuple(i for i in assembly.active if problem.factors[i].event),
        keep_scores,
    )


def draw_rows(task: Task, plan: Plan, start: int, stop: int, replicate: int) -> Drawn:
    """Draw rows start to stop of a replicate, in fixed blocks."""
    return joined(list(draw_blocks(task, plan, start, stop, replicate)))


def draw_blocks(task: Task, plan: Plan, start: int, stop: int, replicate: int) -> Iterable[Drawn]:
    """Yield rows start to stop of a replicate, one fixed block after the other."""
    points = Points(len(task.latents.ids), plan, replicate, start)
    which = None if task.keep_scores else task.assembly.active
    wanted = None
    if which is not None:
        wanted = sorted({c for i in which for c in task.latents.coordinates(i)})
        wanted = None if len(wanted) == len(task.latents.ids) else wanted
    for begin, end in blocks(start, stop):
        normals = points.scores(end - begin, wanted)
        rows = task.latents.rows(normals, replicate, which)
        yield _evaluated(task, rows, end - begin)


def _evaluated(task: Task, rows: list[FloatArray], size: int) -> Drawn:
    inputs = task.assembly.values(rows)
    values = evaluate(task.graph, inputs)
    found = {name: _full(values[name], size) for name in task.names}
    event = None
    if task.events:
        happened = [task.problem.factors[i] for i in task.events]
        shares = [
            inputs[f.quantity] if f.row is None else inputs[f.quantity][f.row] for f in happened
        ]
        event = np.any(np.atleast_2d(np.array(shares)) > 0.5, axis=0)
    return Drawn(
        found,
        np.array(rows) if task.keep_scores else None,
        event,
        outside_ranges(task.graph, values, size),
        not_finite(task.graph, values, task.checked, size),
    )


def _full(value: FloatArray, size: int) -> FloatArray:
    value = value.astype(float, copy=False)  # a formula may answer yes or no
    return np.broadcast_to(value, (*value.shape[:-1], size))


def joined(parts: Sequence[Drawn]) -> Drawn:
    """Return the parts one after the other."""
    if len(parts) == 1:
        return parts[0]
    first = parts[0]
    return Drawn(
        {n: np.concatenate([p.values[n] for p in parts], axis=-1) for n in first.values},
        _end_to_end([p.scores for p in parts if p.scores is not None]),
        _end_to_end([p.event for p in parts if p.event is not None]),
        sum((p.outside for p in parts), Counter()),
        sum((p.not_finite for p in parts), Counter()),
    )


def _end_to_end(arrays: Sequence[NDArray[Any]]) -> NDArray[Any] | None:
    return np.concatenate(arrays, axis=-1) if arrays else None


def _until_settled(
    task: Task, seed: int, executor: Executor | None, progress: Progress | None
) -> xr.Dataset:
    done, rows = 0, AUTO_FIRST_ROWS
    parts: list[list[Drawn]] = []
    while True:
        plan = Plan(rows=rows, seed=seed)
        more = over_replicates(
            partial(draw_rows, task, plan, done, rows),
            plan.replicates,
            rows=rows - done,
            executor=executor,
        )
        older = parts or [[] for _ in more]
        parts = [[*old, new] for old, new in zip(older, more, strict=True)]
        draws = _dataset(task, plan, [joined(own) for own in parts])
        open_figures = not_settled(draws)
        if progress is not None:
            progress(min(1.0, plan.draws / AUTO_MOST_DRAWS) ** 0.5, f"{plan.draws} draws")
        if not open_figures or plan.draws >= AUTO_MOST_DRAWS:
            draws.attrs["not_settled"] = json.dumps(open_figures)
            return draws
        done, rows = rows, 2 * rows


def _dataset(task: Task, plan: Plan, parts: Sequence[Drawn]) -> xr.Dataset:
    problem, whole = task.problem, joined(parts)
    dataset = xr.Dataset(
        {name: _variable(problem, name, value) for name, value in whole.values.items()},
        coords={
            "draw": np.arange(plan.draws),
            "replicate": ("draw", np.repeat(np.arange(plan.replicates), plan.rows)),
        },
        attrs=attributes(task, plan, whole.outside, whole.not_finite),
    )
    if whole.event is not None:
        dataset["event"] = ("draw", whole.event)
    if whole.scores is not None:
        dataset["score"] = (("factor", "draw"), whole.scores)
        dataset = dataset.assign_coords(factor=[f.id for f in problem.factors])
    for axis, labels in problem.row_labels.items():
        if dataset.sizes.get(axis) == len(labels):
            dataset = dataset.assign_coords({axis: list(labels)})
    return dataset


def _variable(problem: Problem, name: str, value: FloatArray) -> xr.Variable:
    return xr.Variable((*problem.graph.axes(name), "draw"), value, describe(problem, name))


def describe(problem: Problem, name: str) -> dict[str, str]:
    """Return a quantity's unit, label and scale, as attributes of a variable."""
    stated = problem.stated_units
    return {
        "unit": unit_of(name) or "" if stated is None else stated.get(name, ""),
        "label": problem.graph.label(name),
        "scale": problem.scales.get(name, "linear"),
    }


def without_variance(problem: Problem, places: Iterable[int]) -> list[str]:
    """Return the labels of the factors, of those at these places, that have no finite variance."""
    factors = [problem.factors[i] for i in places]
    return [f.label for f in factors if not np.isfinite(f.distribution.standard_deviation)]


def attributes(
    task: Task, plan: Plan, outside: Outside, not_finite_draws: NotFinite
) -> dict[str, str | int]:
    """Return the attributes of draws: where they come from and what went odd."""
    problem = task.problem
    left = [
        {"formula": f, "quantity": q, "low": low, "high": high, "count": n, "draws": plan.draws}
        for (f, q, low, high), n in sorted(outside.items())
    ]
    broken = [
        {"formula": formula, "quantity": quantity, "count": n, "draws": plan.draws}
        for (formula, quantity), n in sorted(not_finite_draws.items())
    ]
    limits = {name: [t.lower, t.upper] for name, t in problem.targets.items()}
    events = [problem.factors[i].label for i in task.events]
    return {
        "name": problem.name,
        "version": version("brewsim"),
        "seed": plan.seed,
        "draws": plan.draws,
        "replicates": plan.replicates,
        "outcomes": json.dumps(problem.outcomes),
        "targets": json.dumps(limits),
        "events": json.dumps(events),
        "outside": json.dumps(left),
        "not_finite": json.dumps(broken),
        "no_variance": json.dumps(without_variance(problem, task.assembly.active)),
    }
