"""What went odd in some draws: ranges left, outcomes that are not finite; counted, never hidden."""

from collections import Counter
from collections.abc import Iterable

import numpy as np

from brewsim.graph.build import Graph
from brewsim.graph.evaluate import Values
from brewsim.study.model.replicates import Flags

Outside = Counter[tuple[str, str, float, float]]
"""(formula, quantity, low, high) -> draws."""

NotFinite = Counter[tuple[str, str]]
"""(formula at fault, outcome) -> draws; the name of an input where no formula is at fault."""


def outside_ranges(graph: Graph, values: Values, size: int) -> Outside:
    """Count draws in which a formula's need or result left the range the formula is valid in."""
    counts: Outside = Counter()
    for node in graph.nodes.values():
        if _has_nothing(graph, node.needs, values):
            continue
        for quantity, (low, high) in node.valid.items():
            value = values[quantity]
            if not value.size or (value.min() >= low and value.max() <= high):
                continue
            bad = _any_row((value < low) | (value > high), size)
            if bad.any():
                counts[node.formula.__name__, quantity, low, high] += int(bad.sum())
    return counts


def _has_nothing(graph: Graph, needs: Iterable[str], values: Values) -> bool:
    """Whether a formula works on lists only that are empty here, so that its range is no news."""
    lists = [values[name] for name in needs if graph.axes(name)]
    return bool(lists) and not any(len(value) for value in lists)


def _any_row(flags: Flags, size: int) -> Flags:
    lists = tuple(range(flags.ndim - 1))
    return np.broadcast_to(flags.any(axis=lists), (size,))


def not_finite(graph: Graph, values: Values, outcomes: Iterable[str], size: int) -> NotFinite:
    """Count draws in which an outcome is not finite, by the first formula that was not."""
    counts: NotFinite = Counter()
    for name in outcomes:
        bad = _any_row(~np.isfinite(values[name]), size)
        if bad.any():
            for formula, number in _culprits(graph, values, name, bad):
                counts[formula, name] += number
    return counts


def _culprits(graph: Graph, values: Values, outcome: str, bad: Flags) -> Iterable[tuple[str, int]]:
    """Yield the first formula that is not finite in each bad draw, and in how many it is."""
    left = bad.copy()
    small = graph.pruned([outcome])
    names = [(name, "") for name in small.inputs if values[name].dtype.kind == "f"]
    names += [(name, node.formula.__name__) for name, node in small.nodes.items()]
    for name, formula in names:
        guilty = left & _any_row(~np.isfinite(values[name]), left.size)
        if guilty.any():
            yield formula or name, int(guilty.sum())
            left &= ~guilty
