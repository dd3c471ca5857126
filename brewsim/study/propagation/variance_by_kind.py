"""Brewed again and again: where a brewery's own middle lies, and how its batches scatter round it.

A nested run: for each state of what is not known, many batches. The average share of the batch
variance (`rank` by kind) hides how unsure the scatter itself is; this shows it.
"""

from collections.abc import Sequence
from importlib.metadata import version

import numpy as np
import xarray as xr
from scipy.special import ndtri

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.latents import latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Assembly, Plan, Points, without_events
from brewsim.study.propagation.figures import on_scale
from brewsim.study.propagation.simulate import describe

STATES_PER_BLOCK = 32


def spread_by_kind(
    problem: Problem,
    knowledge: int = 256,
    batches: int = 256,
    seed: int = 1,
    *,
    same_lots: bool = False,
    coverage: float = 0.9,
) -> xr.Dataset:
    """Return each possible brewery's own middle and scatter, from knowledge x batches samples.

    By (outcome, state), in the outcome's unit: `own_middle`, `own_low`, `own_high` (median and
    coverage interval of its batches) and `own_scatter`, half of that interval on the outcome's
    own scale (doublings for log2). By outcome: `middle`, `middle_low`, `middle_high` and
    `scatter`, `scatter_low`, `scatter_high` are the median and the coverage interval of these
    over states; `middle_error` and `scatter_error` half widths of 95 % sampling intervals.
    `inside` (outcome, state) is the share of a brewery's own batches inside the interval of the
    next batch. With `same_lots` a lot stays the same; else each batch takes new ones. Rare
    events are held at not happening. Raises StudyError.

    >>> from brewsim import Kinds, Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> float(spread_by_kind(problem, 64, 64)["scatter"][0])  # nothing changes from brew to brew
    0.0
    """
    replicates = 8
    if knowledge % replicates or (knowledge // replicates) & (knowledge // replicates - 1):
        raise StudyError(f"the number of states must be 8 times a power of two, not {knowledge}")
    if batches & (batches - 1) or batches < 16:
        raise StudyError(f"the number of batches must be a power of two from 16, not {batches}")
    usual = without_events(problem)
    outcomes = [n for n in dict.fromkeys(usual.outcomes) if not usual.graph.axes(n)]
    outer = {"knowledge", "lot"} if same_lots else {"knowledge"}
    plan = Plan(replicates, knowledge // replicates, seed)
    values = np.concatenate(
        [_nested(usual, outcomes, outer, plan, r, batches) for r in range(replicates)], axis=1
    )
    return _table(usual, outcomes, values, plan, coverage)


def _nested(
    problem: Problem,
    outcomes: list[str],
    outer: set[str],
    plan: Plan,
    replicate: int,
    batches: int,
) -> FloatArray:
    """Return outcomes on their scales, (outcomes, states, batches), of one replicate."""
    found = latents(problem, by_kind=True)
    fixed = [i for i, kind in enumerate(found.kinds) if kind in outer]
    free = [i for i, kind in enumerate(found.kinds) if kind not in outer]
    states = Points(len(fixed), plan, replicate).scores(plan.rows)
    inner = Plan(plan.replicates, batches, plan.seed)
    points = Points(len(free), inner, plan.replicates + replicate).uniforms(batches)
    source = np.random.SeedSequence(plan.seed, spawn_key=(replicate, 2))
    shifts = np.random.default_rng(source).random((plan.rows, len(free)))
    graph = problem.graph.pruned(outcomes)
    assembly = Assembly(problem, set(graph.inputs))
    scales = [problem.scales.get(name, "linear") for name in outcomes]
    parts = []
    for start in range(0, plan.rows, STATES_PER_BLOCK):
        some = slice(start, min(start + STATES_PER_BLOCK, plan.rows))
        count = some.stop - start
        normals = np.empty((len(found.ids), count, batches))
        normals[fixed] = states[:, some, None]
        moved = (points.T[:, None, :] + shifts[some].T[:, :, None]) % 1.0
        normals[free] = ndtri(np.maximum(moved, 2.0**-53))
        rows = found.rows(normals.reshape(len(found.ids), -1), replicate)
        reached = evaluate(graph, assembly.values(rows))
        wide = [on_scale(reached[n], s) for n, s in zip(outcomes, scales, strict=True)]
        full = [np.broadcast_to(w, (count * batches,)).reshape(count, batches) for w in wide]
        parts.append(np.stack(full))
    return np.concatenate(parts, axis=1)


@np.errstate(all="ignore")  # on a log scale nothing is −∞, and what comes of it has no value
def _table(
    problem: Problem, outcomes: list[str], values: FloatArray, plan: Plan, coverage: float
) -> xr.Dataset:
    shares = [(1 - coverage) / 2, 0.5, (1 + coverage) / 2]
    low, middle, high = np.quantile(values, shares, axis=2)
    scatter = (high - low) / 2
    everything = np.quantile(values.reshape(len(outcomes), -1), shares, axis=1)
    inside = (values >= everything[0][:, None, None]) & (values <= everything[2][:, None, None])
    scales = [problem.scales.get(name, "linear") for name in outcomes]
    dims = ("outcome", "state")
    columns: dict[str, tuple[tuple[str, ...], FloatArray]] = {
        "own_low": (dims, _unscaled(low, scales)),
        "own_middle": (dims, _unscaled(middle, scales)),
        "own_high": (dims, _unscaled(high, scales)),
        "own_scatter": (dims, scatter),
        "inside": (dims, inside.mean(axis=2)),
    }
    for name, table, shown in (("middle", middle, scales), ("scatter", scatter, None)):
        figures = np.quantile(table, shares, axis=1)
        if shown is not None:
            figures = _unscaled(figures.T, shown).T
        columns |= {
            f"{name}_low": (dims[:1], figures[0]),
            name: (dims[:1], figures[1]),
            f"{name}_high": (dims[:1], figures[2]),
            f"{name}_error": (dims[:1], _error(table, plan, shown)),
        }
    described = [describe(problem, name) for name in outcomes]
    return xr.Dataset(
        columns,
        coords={
            "outcome": outcomes,
            "label": ("outcome", [d["label"] for d in described]),
            "unit": ("outcome", [d["unit"] for d in described]),
            "scale": ("outcome", scales),
            "replicate": ("state", np.repeat(np.arange(plan.replicates), plan.rows)),
        },
        attrs={
            "name": problem.name,
            "version": version("brewsim"),
            "seed": plan.seed,
            "coverage": coverage,
        },
    )


def _error(table: FloatArray, plan: Plan, scales: Sequence[str] | None) -> FloatArray:
    """Return the half width of a median over states, from replicates, (outcomes,)."""
    each = np.median(table.reshape(len(table), plan.replicates, plan.rows), axis=2)
    if scales is not None:
        each = _unscaled(each, scales)
    return half_width(each.T)


def _unscaled(table: FloatArray, scales: Sequence[str]) -> FloatArray:
    """Return values (outcomes, ...) in the outcomes' own units."""
    found = table.copy()
    for i, scale in enumerate(scales):
        if scale != "linear":
            found[i] = np.exp2(table[i]) if scale == "log2" else np.exp(table[i])
    return found
