"""Which assumptions move what is aimed at most: a quick look, one input at a time."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Assembly

_MOST = 3
_USUAL = (
    "original_gravity_sg",
    "final_gravity_sg",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
    "beer_color_ebc",
)
"""What counts where a recipe aims at nothing."""
_TOGETHER = 256
"""Factors moved in one evaluation: with 200 hops all at once would take gigabytes."""
_LEAST = 0.01
"""A smaller share of the spread is not worth a sentence."""


@dataclass(frozen=True, slots=True)
class LeadingAssumption:
    """One assumption, the outcome it moves most, and about which share of its variance (0 to 1)."""

    label: str
    outcome: str
    share: float


def leading_assumptions(
    problem: Problem, assumed: Collection[tuple[str, str]], most: int = _MOST
) -> tuple[LeadingAssumption, ...]:
    """Return the assumptions that move the targets most, the five usual figures without targets.

    Each factor is moved by one standard score up and down from the medians; what that does to an
    outcome, squared, over the same of all factors, is its share. Inputs that act together are not
    seen: `rank` measures those. `assumed` are (quantity, label) of the inputs that count.

    Example:
        >>> leading_assumptions.__name__
        'leading_assumptions'
    """
    names = [name for name in (problem.targets or _USUAL) if name in problem.graph]
    if not problem.factors or not names:
        return ()
    shares = _shares(problem, names)
    means = shares.mean(axis=0)
    places = [i for i, f in enumerate(problem.factors) if (f.quantity, f.label) in assumed]
    best = sorted(places, key=lambda i: -means[i])[:most]
    return tuple(
        LeadingAssumption(
            problem.factors[i].label,
            names[int(np.argmax(shares[:, i]))],
            float(shares[:, i].max()),
        )
        for i in best
        if shares[:, i].max() >= _LEAST
    )


def _shares(problem: Problem, names: list[str]) -> FloatArray:
    """Return each factor's share of each outcome's variance, (outcome, factor)."""
    count = len(problem.factors)
    moved = np.concatenate(
        [_moved(problem, names, start) for start in range(0, count, _TOGETHER)], axis=1
    )
    total = moved.sum(axis=1, keepdims=True)
    known = np.isfinite(total) & (total > 0)
    return np.divide(moved, total, out=np.zeros_like(moved), where=known)


def _moved(problem: Problem, names: list[str], start: int) -> FloatArray:
    """Return what some factors do to each outcome, squared, (outcome, factor from `start` on)."""
    count = len(problem.factors)
    some = range(start, min(start + _TOGETHER, count))
    scores = np.zeros((count, 2 * len(some)))
    scores[some, range(len(some))] = 1.0
    scores[some, range(len(some), 2 * len(some))] = -1.0
    graph = problem.graph.pruned(names)
    values = evaluate(graph, Assembly(problem, graph.inputs).values(scores))
    moved = np.zeros((len(names), len(some)))
    for place, name in enumerate(names):
        value = np.broadcast_to(values[name], (2 * len(some),))
        if problem.scales.get(name) == "log":
            value = np.log(np.maximum(value, np.finfo(float).tiny))
        with np.errstate(invalid="ignore"):  # infinite at both ends: no share is known
            moved[place] = (value[: len(some)] - value[len(some) :]) ** 2
    return moved
