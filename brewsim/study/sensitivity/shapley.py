"""Shapley effects: shares of the variance that add up, also for correlated factors.

A factor's share is what knowing it as well removes, averaged over every order of getting to know
the factors (Owen, SIAM/ASA J. Uncertainty Quantification 2 (2014) 245; Song, Nelson & Staum, ibid.
4 (2016) 1060). Orders are walked one way and back, and all orders inside a small correlated block
are used; blocks that are independent of each other are conditioned apart (Broto, Bachoc, Depecker
& Martinez, arXiv 1801.04095).
"""

import json
from collections.abc import Sequence
from concurrent.futures import Executor
from functools import partial
from importlib.metadata import version

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.latents import Latents, latents
from brewsim.study.model.outcome_rows import asked_graph, outcome_rows
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, Progress, half_width, over_replicates
from brewsim.study.model.sampling import Assembly, Plan, without_events
from brewsim.study.propagation.figures import MOST_BAD
from brewsim.study.sensitivity.far_draws import far_draw_notes, without_squares
from brewsim.study.sensitivity.permutation_paths import (
    WalkSums,
    WalkTask,
    correlated_blocks,
    replicate_shares,
    score_moments,
)


def shapley(
    problem: Problem,
    base: int = 1024,
    replicates: int = 8,
    seed: int = 1,
    turns: int = 12,
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> xr.Dataset:
    """Return Shapley effects with 95 % intervals, dims ("outcome", "factor").

    `turns` is how many orders a replicate walks, each both ways; 12 uses every order inside
    blocks of up to 4. `read` says whether the model reads the factor for that outcome; a factor
    it never reads can still get a share through correlation, and attribute `never_read` (JSON,
    by outcome) names those. `block` names the correlated block. Shares are `approximate` (1)
    after learning, when normal conditionals stand in for the posterior. Rare events are held at
    not happening; attribute `notes` (JSON) says where a few far draws carry a variance. Raises
    StudyError.

    `base` rows in each of `replicates`; effects are shares of the variance, without unit, and sum
    to 1. `seed`, `executor` and `progress` as in `simulate`.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> shapley(problem)["shapley"].sel(outcome="total").to_numpy().round(2).tolist()
    [0.36, 0.64]
    """
    if turns < 1:
        raise StudyError(f"at least one order has to be walked, not {turns}")
    usual = without_events(problem)
    found = latents(usual)
    task = _task(usual, found, turns)
    plan = Plan(replicates, base, seed)
    sums = over_replicates(
        partial(replicate_shares, task, plan),
        replicates,
        rows=base,
        executor=executor,
        progress=progress,
        text="replicate",
    )
    table = _table(task, plan, sums)
    table.attrs["notes"] = far_draw_notes(
        usual,
        [o.id for o in task.outcomes],
        np.array([s.lumps for s in sums]),
        base,
        task.assembly.active,
    )
    table.attrs["approximate"] = int(any(map(found.learned, range(len(found.terms)))))
    return table


def _task(problem: Problem, found: Latents, turns: int) -> WalkTask:
    outcomes = outcome_rows(problem)
    graph = asked_graph(problem, outcomes)
    mean, covariance = score_moments(found)
    blocks = tuple(
        block
        for block in correlated_blocks(covariance)
        if any(problem.factors[i].quantity in graph.inputs for i in block)
    )
    scales = tuple(problem.scales.get(o.quantity, "linear") for o in outcomes)
    assembly = Assembly(problem, set(graph.inputs))
    return WalkTask(problem, graph, assembly, outcomes, scales, mean, covariance, blocks, turns)


def _table(task: WalkTask, plan: Plan, sums: Sequence[WalkSums]) -> xr.Dataset:
    parts = np.array([s.parts for s in sums]).transpose(0, 2, 1)
    variance = parts.sum(axis=2, keepdims=True)
    left_out = np.sum([s.left_out for s in sums], axis=0)
    usable = np.where(variance > 0, variance, np.inf)
    usable[:, without_squares(np.array([s.lumps for s in sums]))] = np.nan
    pooled = parts.mean(axis=0) / usable.mean(axis=0)
    half = half_width(parts / usable)
    half = np.where((left_out > MOST_BAD * plan.draws)[:, None] & (pooled != 0), np.nan, half)
    factors = task.problem.factors
    read = np.array(
        [[f.quantity in task.graph.upstream([o.quantity]) for f in factors] for o in task.outcomes]
    )
    dims = ("outcome", "factor")
    blocks = {i: b for b in task.blocks if len(b) > 1 for i in b}
    return xr.Dataset(
        {
            "shapley": (dims, pooled),
            "shapley_low": (dims, pooled - half),
            "shapley_high": (dims, pooled + half),
            "read": (dims, read),
        },
        coords={
            "outcome": [o.id for o in task.outcomes],
            "scale": ("outcome", list(task.scales)),
            "factor": [f.id for f in factors],
            "label": ("factor", [f.label for f in factors]),
            "group": ("factor", [f.group for f in factors]),
            "block": (
                "factor",
                [" + ".join(factors[j].id for j in blocks.get(i, ())) for i in range(len(factors))],
            ),
        },
        attrs={
            "name": task.problem.name,
            "version": version("brewsim"),
            "seed": plan.seed,
            "base": plan.rows,
            "replicates": plan.replicates,
            "never_read": json.dumps(_never_read(task, read, pooled)),
        },
    )


def _never_read(task: WalkTask, read: Flags, pooled: FloatArray) -> dict[str, list[str]]:
    ids = [f.id for f in task.problem.factors]
    found = {
        asked.id: [ids[i] for i in np.flatnonzero(~read[row] & (pooled[row] != 0))]
        for row, asked in enumerate(task.outcomes)
    }
    return {name: unread for name, unread in found.items() if unread}
