"""Factors that change nothing in a recipe: a dry hop where there is none, a bottle in a keg."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import evaluate
from brewsim.study.problem import Problem
from brewsim.study.sampling import Assembly

_MOVED = 1.7
_BASES = 4
_EVENT_SCORE = 4.0


def without_idle(problem: Problem, also: Sequence[str]) -> Problem:
    """Return the problem with every idle factor held at its median.

    A factor is idle when moving it up or down from several random states, as the recipe stands
    and with the knobs at both ends, changes no outcome, target or side figure (`also`) at all.
    """
    names = tuple(dict.fromkeys((*problem.outcomes, *problem.targets, *also)))
    idle = _idle(problem, names, range(len(problem.factors)))
    for end in (0, 1):
        settings: dict[str, float | str] = {
            k.id: k.choices[-end].label if k.choices else (k.low, k.high)[end]
            for k in problem.knobs
        }
        if settings and idle:
            idle = _idle(problem.set(settings), names, idle)
    fixed = dict(problem.fixed)
    kept = []
    for place, factor in enumerate(problem.factors):
        if place not in idle:
            kept.append(factor)
        elif factor.row is None:
            fixed[factor.quantity] = np.array([factor.distribution.median])
    return replace(problem, factors=tuple(kept), fixed=fixed)


def _idle(problem: Problem, names: Sequence[str], asked: Sequence[int]) -> list[int]:
    """Return which of the factors asked for change nothing named, from random states."""
    rng = np.random.default_rng(20)
    places, per_base = np.array(asked), 2 * len(asked) + 1
    scores = rng.standard_normal((len(problem.factors), _BASES))
    scores = np.repeat(scores, per_base, axis=1)
    events = np.array([factor.event for factor in problem.factors])
    scores[events, : per_base * (_BASES // 2)] = _EVENT_SCORE
    for base in range(_BASES):
        up = base * per_base + 1 + 2 * np.arange(len(asked))
        event = events[places]
        scores[places, up] = np.where(event, _EVENT_SCORE, scores[places, up] + _MOVED)
        scores[places, up + 1] = np.where(event, -_EVENT_SCORE, scores[places, up + 1] - _MOVED)
    graph = problem.graph.pruned(names)
    values = evaluate(graph, Assembly(problem, graph.inputs).values(scores))
    table = np.stack([_row(values[name], scores.shape[1]) for name in names])
    table = table.reshape(len(names), _BASES, per_base)
    changed = ~np.isclose(table[..., 1:], table[..., :1], rtol=1e-13, atol=0.0, equal_nan=True)
    busy = changed.any(axis=(0, 1)).reshape(len(asked), 2).any(axis=1)
    return [int(place) for place in places[~busy]]


def _row(value: FloatArray, size: int) -> FloatArray:
    return np.broadcast_to(value.reshape(-1, value.shape[-1]).sum(axis=0), (size,))
