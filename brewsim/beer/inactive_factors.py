"""Factors that change nothing in a recipe: a dry hop where there is none, a bottle in a keg."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Places
from brewsim.study.model.sampling import Assembly

_MOVED = 1.7
_STATES = 32
_FAR = 1.6  # every second state lies this much further out: some factors act beyond a threshold
_EVENT_SCORE = 4.0
_MOST_COLUMNS = 8192
"""States evaluated together: with hundreds of hop lots all at once would take gigabytes."""


def without_idle(problem: Problem, also: Sequence[str]) -> Problem:
    """Return the problem with every idle factor held at its median.

    A factor is idle when moving it up or down from several random states, as the recipe stands
    and with the knobs at both ends, changes no outcome, target or side figure (`also`) at all.
    """
    names = tuple(dict.fromkeys((*problem.outcomes, *problem.targets, *also)))
    events = np.array([factor.event for factor in problem.factors], dtype=bool)
    states = np.random.default_rng(20).standard_normal((_STATES, len(problem.factors)))
    states[1::2] *= _FAR
    states[: _STATES // 2, events] = _EVENT_SCORE
    idle = np.arange(len(problem.factors))
    idle = _idle(problem, names, idle, states[:1], ways=(1,))  # most show themselves here
    idle = _idle(problem, names, idle, states)
    for end in (0, 1):
        settings: dict[str, float | str] = {
            k.id: k.choices[-end].label if k.choices else (k.low, k.high)[end]
            for k in problem.knobs
        }
        if settings:
            idle = _idle(problem.set(settings), names, idle, states)
    fixed = dict(problem.fixed)
    kept = []
    for place, factor in enumerate(problem.factors):
        if place not in idle:
            kept.append(factor)
        elif factor.row is None:
            fixed[factor.quantity] = np.array([factor.distribution.median])
    return replace(problem, factors=tuple(kept), fixed=fixed)


def _idle(
    problem: Problem,
    names: Sequence[str],
    asked: Places,
    states: FloatArray,
    ways: Sequence[int] = (1, -1),
) -> Places:
    """Return which of the factors asked for change nothing named, moved from any of the states.

    `states` are scores (state, factor); `ways` are up (1) and down (-1). The rows of a list are
    moved together first: where that changes nothing, none of them does.
    """
    lists: dict[str, list[int]] = {}
    for place in asked:
        lists.setdefault(problem.factors[place].quantity, []).append(int(place))
    alone = list(lists.values())
    idle: list[int] = []
    if len(lists) < len(asked):
        still = _unmoved(problem, names, alone, states, ways)
        idle = [place for rows, same in zip(alone, still, strict=True) if same for place in rows]
        alone = [[p] for rows, same in zip(alone, still, strict=True) if not same for p in rows]
    most = max(1, _MOST_COLUMNS // (len(states) * len(ways)))
    for start in range(0, len(alone), most):
        part = alone[start : start + most]
        still = _unmoved(problem, names, part, states, ways)
        idle += [p for rows, same in zip(part, still, strict=True) if same for p in rows]
    return np.array(sorted(idle), dtype=int)


def _unmoved(
    problem: Problem,
    names: Sequence[str],
    groups: Sequence[Sequence[int]],
    states: FloatArray,
    ways: Sequence[int],
) -> list[bool]:
    """Return for each group of factors whether moving all of it changes nothing named."""
    count = len(groups)
    scores = np.repeat(states.T[:, :, None], 1 + len(ways) * count, axis=2)
    for number, way in enumerate(ways):
        for place, group in enumerate(groups):
            column = 1 + number * count + place  # after the state itself
            for i in group:
                event = problem.factors[i].event
                scores[i, :, column] = way * _EVENT_SCORE if event else states[:, i] + way * _MOVED
    graph = problem.graph.pruned(names)
    given = Assembly(problem, graph.inputs).values(scores.reshape(len(scores), -1))
    values = evaluate(graph, given)
    table = np.stack([_row(values[name], scores[0].size) for name in names])
    table = table.reshape(len(names), *scores.shape[1:])
    same = np.isclose(table[..., 1:], table[..., :1], rtol=1e-13, atol=0.0, equal_nan=True)
    still: list[bool] = np.all(same, axis=(0, 1)).reshape(len(ways), -1).all(axis=0).tolist()
    return still


def _row(value: FloatArray, size: int) -> FloatArray:
    return np.broadcast_to(value.reshape(-1, value.shape[-1]).sum(axis=0), (size,))
