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
    """Return which of the factors asked for change nothing named, from random states.

    Most factors show themselves at the first move up; only those still idle are asked again.
    """
    rng = np.random.default_rng(20)
    states = rng.standard_normal((_BASES, len(problem.factors)))
    events = np.array([factor.event for factor in problem.factors])
    states[: _BASES // 2, events] = _EVENT_SCORE
    graph = problem.graph.pruned(names)
    assembly = Assembly(problem, graph.inputs)
    idle = np.array(asked, dtype=int)
    for state, ways in ((states[0], (1,)), *((state, (1, -1)) for state in states)):
        scores = np.repeat(state[:, None], len(ways) * len(idle) + 1, axis=1)
        columns = 1 + np.arange(len(idle))
        for way in ways:
            ends = np.where(events[idle], way * _EVENT_SCORE, state[idle] + way * _MOVED)
            scores[idle, columns] = ends
            columns += len(idle)
        values = evaluate(graph, assembly.values(scores))
        table = np.stack([_row(values[name], scores.shape[1]) for name in names])
        same = np.isclose(table[:, 1:], table[:, :1], rtol=1e-13, atol=0.0, equal_nan=True)
        idle = idle[same.all(axis=0).reshape(len(ways), -1).all(axis=0)]
        if not len(idle):
            break
    return [int(place) for place in idle]


def _row(value: FloatArray, size: int) -> FloatArray:
    return np.broadcast_to(value.reshape(-1, value.shape[-1]).sum(axis=0), (size,))
