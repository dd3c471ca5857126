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
    busy = _busy(problem, names)
    for end in (0, 1):
        settings: dict[str, float | str] = {
            k.id: k.choices[-end].label if k.choices else (k.low, k.high)[end]
            for k in problem.knobs
        }
        if settings:
            busy |= _busy(problem.set(settings), names)
    fixed = dict(problem.fixed)
    kept = []
    for place, factor in enumerate(problem.factors):
        if busy[place]:
            kept.append(factor)
        elif factor.row is None:
            fixed[factor.quantity] = np.array([factor.distribution.median])
    return replace(problem, factors=tuple(kept), fixed=fixed)


def _busy(problem: Problem, names: Sequence[str]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return whether each factor changes anything named, from random states, up or down."""
    count = len(problem.factors)
    rng = np.random.default_rng(20)
    per_base = 2 * count + 1
    scores = np.repeat(rng.standard_normal((count, _BASES)), per_base, axis=1)
    for place, factor in enumerate(problem.factors):
        if factor.event:
            scores[place, : per_base * (_BASES // 2)] = _EVENT_SCORE
    for base in range(_BASES):
        start = base * per_base + 1
        places = np.arange(count)
        scores[places, start + 2 * places] += _MOVED
        scores[places, start + 2 * places + 1] -= _MOVED
        for place, factor in enumerate(problem.factors):
            if factor.event:
                scores[place, start + 2 * place] = _EVENT_SCORE
                scores[place, start + 2 * place + 1] = -_EVENT_SCORE
    graph = problem.graph.pruned(names)
    values = evaluate(graph, Assembly(problem, graph.inputs).values(scores))
    table = np.stack([_row(values[name], scores.shape[1]) for name in names])
    table = table.reshape(len(names), _BASES, per_base)
    changed = ~np.isclose(table[..., 1:], table[..., :1], rtol=1e-13, atol=0.0, equal_nan=True)
    found = changed.any(axis=(0, 1)).reshape(count, 2).any(axis=1)
    return np.asarray(found)


def _row(value: FloatArray, size: int) -> FloatArray:
    return np.broadcast_to(value.reshape(-1, value.shape[-1]).sum(axis=0), (size,))
