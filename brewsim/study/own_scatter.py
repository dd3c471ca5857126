"""What one brewery's own batches scatter by, and how well its own middle is known.

A nested run: draws of what is not known outside, brews with new lots inside. The variance shares
by kind give only the average of this; how unsure the scatter itself is, they hide.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import run
from brewsim.study.latents import latents
from brewsim.study.problem import Problem
from brewsim.study.sampling import Assembly, Plan, scores, without_events
from brewsim.study.summary import on_scale

_PARTS = 16


@dataclass(frozen=True)
class Scatter:
    """Half widths on the outcome's own scale (doublings for log2), for a share of the batches.

    `own` is the middle, over what is not known, of the half width of a brewery's own batches;
    `own_low` and `own_high` hold nine in ten of those half widths; `middle` is the half width of
    where the brewery's own middle may lie.
    """

    own: float
    own_low: float
    own_high: float
    middle: float


def own_scatter(
    problem: Problem,
    outcomes: Sequence[str] = (),
    *,
    coverage: float = 0.9,
    seed: int = 1,
    outer: int = 256,
    inner: int = 256,
) -> dict[str, Scatter]:
    """Return each outcome's scatter within one brewery, by a nested run of outer x inner brews.

    Rare events are held at not happening. `outer` and `inner` must be powers of two. Outcomes
    without a value in some brews are judged on the brews that have one.
    """
    usual = without_events(problem)
    names = tuple(outcomes) or tuple(n for n in usual.outcomes if not usual.graph.axes(n))
    values = _nested(usual, names, seed, outer, inner)
    tail = (1 - coverage) / 2
    found = {}
    for name, brews in values.items():
        judged = on_scale(brews, usual.scales.get(name, "linear"))
        judged = np.where(np.isfinite(judged), judged, np.nan)
        low, middle, high = np.nanquantile(judged, [tail, 0.5, 1 - tail], axis=1)
        own_low, own, own_high = np.nanquantile((high - low) / 2, [0.05, 0.5, 0.95])
        ends = np.nanquantile(middle, [tail, 1 - tail])
        found[name] = Scatter(
            float(own), float(own_low), float(own_high), float(ends[1] - ends[0]) / 2
        )
    return found


def _nested(
    problem: Problem, names: Sequence[str], seed: int, outer: int, inner: int
) -> Mapping[str, FloatArray]:
    """Return each outcome as (outer, inner): the same inner scores under every knowledge draw."""
    found = latents(problem, by_kind=True)
    known = [i for i, kind in enumerate(found.kinds) if kind == "knowledge"]
    inside = [i for i, kind in enumerate(found.kinds) if kind != "knowledge"]
    ids = [*(found.ids[i] for i in known), *(found.ids[i] for i in inside)]
    outside = scores(ids, Plan(2, outer, seed), 0)[: len(known)]
    brews = scores(ids, Plan(2, inner, seed), 1)[len(known) :]
    graph = problem.graph.pruned(names)
    assembly = Assembly(problem, graph.inputs)
    parts: dict[str, list[FloatArray]] = {name: [] for name in names}
    for some in np.array_split(np.arange(outer), _PARTS):
        normals = np.empty((len(found.ids), len(some) * inner))
        normals[known] = np.repeat(outside[:, some], inner, axis=1)
        normals[inside] = np.tile(brews, len(some))
        values = run(graph.nodes.values(), assembly.values(found.rows(normals, 0)))
        for name in names:
            full = np.broadcast_to(values[name], (normals.shape[1],))
            parts[name].append(full.reshape(len(some), inner))
    return {name: np.concatenate(rows) for name, rows in parts.items()}
