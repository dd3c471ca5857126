"""Where an outcome of a tasted batch came from: its exact split over sources, draw by draw.

A source is a set of quantities that only it feeds; they are set to nothing and what follows runs
again. From there on the outcome should be linear in them, so that the parts add up; where they do
not, each part is its Shapley value over all subsets, which is the same where it is linear.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import factorial

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.evaluate import evaluate, run
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch
from brewsim.study.model.common_random_numbers import CommonDraws
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Assembly, Plan
from brewsim.study.steering.relative_draws import own_view

Nodes = tuple[tuple[str, int | None], ...]
"""Quantities that one source feeds, with its row of a list."""

_EXACT = 1e-6
_MOST_SUBSETS = 6


@dataclass(frozen=True)
class Source:
    """One source's share of the outcome: mean, 5, 50 and 95 %, and how often it is the largest.

    `largest` is a chance with the half width of its 95 % interval.
    """

    label: str
    mean: float
    low: float
    middle: float
    high: float
    largest: tuple[float, float]


@dataclass(frozen=True)
class Origin:
    """The sources of an outcome of a batch, the largest mean share first.

    Draws in which the outcome has no value, or is nothing, have no shares and are left out.
    `gap` is the largest part of the outcome that the parts do not add up to.
    """

    batch: str
    outcome: str
    sources: tuple[Source, ...]
    gap: float


def origin(
    learned: Learned,
    batch: Batch,
    outcome: str,
    sources: Mapping[str, Nodes],
    *,
    rows: int = 1024,
    seed: int = 1,
) -> Origin:
    """Split an outcome of a tasted batch over its sources.

    Args:
        learned: posterior draws.
        batch: the tasted one.
        outcome: one value per batch, never negative.
        sources: label -> the quantities that it alone feeds.
        rows: draws of each of 8 replicates, a power of two.
        seed: of the draws.

    Raises
    ------
        StudyError: without a source.
    """
    if not sources:
        raise StudyError(f"nothing is named that {outcome} could come from")
    plan = Plan(rows=rows, seed=seed)
    values, without = _cutting(learned, batch, outcome, sources, plan)
    whole = values[outcome]
    parts = {name: whole - without([name]) for name in sources}
    rest = without(list(sources))
    gap = _gap(whole, sum(parts.values()) + rest)
    if gap > _EXACT and len(sources) <= _MOST_SUBSETS:
        parts = shapley(lambda present: _present(sources, without, present), tuple(sources))
        gap = _gap(whole, sum(parts.values()) + rest)
    parts = {name: part for name, part in parts.items() if np.any(part > 0)}
    known = np.isfinite(whole) & (whole > 0)
    places = np.repeat(np.arange(plan.replicates), len(known) // plan.replicates)[known]
    if not parts or len(np.unique(places)) < 2:
        return Origin(batch.id, outcome, (), gap)
    shares = {name: part[known] / whole[known] for name, part in parts.items()}
    largest = np.stack(list(shares.values())).argmax(axis=0)
    found = [
        _source(name, share, _by_replicate(largest == place, places))
        for place, (name, share) in enumerate(shares.items())
    ]
    return Origin(batch.id, outcome, tuple(sorted(found, key=lambda s: -s.mean)), gap)


def _cutting(
    learned: Learned, batch: Batch, outcome: str, sources: Mapping[str, Nodes], plan: Plan
) -> tuple[dict[str, FloatArray], Callable[[Sequence[str]], FloatArray]]:
    """Return the batch's values, and a function that gives the outcome without some sources."""
    problem = replace(batch.problem, learned=own_view(learned, batch))
    draws = CommonDraws([problem], plan, by_kind=True)
    graph = problem.graph.pruned([outcome])
    inputs = Assembly(problem, graph.inputs).values(draws.factor_rows(problem))
    values = evaluate(graph, inputs)

    def without(gone: Sequence[str]) -> FloatArray:
        changed: dict[str, FloatArray] = {}
        for name, row in (node for label in gone for node in sources[label]):
            if row is None:
                changed[name] = np.zeros_like(values[name])
            else:
                changed.setdefault(name, np.array(values[name]))[row] = 0.0
        after = [node for node in graph.downstream(set(changed)) if node.name not in changed]
        return run(after, {**values, **changed})[outcome]

    return values, without


def _present(
    sources: Mapping[str, Nodes],
    without: Callable[[Sequence[str]], FloatArray],
    present: frozenset[str],
) -> FloatArray:
    return without([name for name in sources if name not in present])


def _gap(whole: FloatArray, total: FloatArray) -> float:
    known = np.isfinite(whole)
    if not known.any():
        return 0.0
    scale = float(np.median(np.abs(whole[known]))) or 1.0
    return float(np.abs(total - whole)[known].max()) / scale


def shapley(
    value: Callable[[frozenset[str]], FloatArray], players: Sequence[str]
) -> dict[str, FloatArray]:
    """Return each player's exact Shapley value; `value` is of a set of players, (n,).

    Source: L. S. Shapley, A value for n-person games, 1953.
    """
    count = len(players)
    found = {}
    for player in players:
        others = [other for other in players if other != player]
        total: FloatArray = np.zeros(1)
        for size in range(count):
            weight = factorial(size) * factorial(count - size - 1) / factorial(count)
            for chosen in combinations(others, size):
                before = frozenset(chosen)
                total = total + weight * (value(before | {player}) - value(before))
        found[player] = total
    return found


def _by_replicate(largest: NDArray[np.bool_], places: NDArray[np.intp]) -> FloatArray:
    """Return how often it is true in each replicate that has a draw of it."""
    return np.array([largest[places == place].mean() for place in np.unique(places)])


def _source(label: str, share: FloatArray, largest: FloatArray) -> Source:
    low, middle, high = (float(v) for v in np.quantile(share, [0.05, 0.5, 0.95]))
    chance = float(largest.mean()), float(half_width(largest))
    return Source(label, float(share.mean()), low, middle, high, chance)
