"""Sums of a pick-freeze design: A, B, and A with a unit's coordinates taken from B.

A and B are the halves of one sequence; two scrambles of a sequence are not independent. Only what
lies downstream of a unit is evaluated again, on A's stored values.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph, Node
from brewsim.graph.evaluate import Values, evaluate
from brewsim.graph.row_changes import LONG_LIST, RowRuns, RowsOf
from brewsim.study.model.latents import Latents
from brewsim.study.model.outcome_rows import OutcomeRow, asked_graph
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, product_sum
from brewsim.study.model.sampling import Assembly, Plan, Points, blocks
from brewsim.study.propagation.figures import on_scale
from brewsim.study.sensitivity.factor_groups import Unit
from brewsim.study.sensitivity.far_draws import lumps


@dataclass(frozen=True)
class Change:
    """What one unit touches: factors, (quantity, row) inputs, formulas, outcomes (by place)."""

    coordinates: tuple[int, ...]
    factors: tuple[int, ...]
    inputs: tuple[tuple[str, int | None], ...]
    nodes: tuple[Node, ...]
    outcomes: tuple[int, ...]
    whole: bool


@dataclass(frozen=True)
class Design:
    """Everything a worker needs for any replicate of a pick-freeze ranking."""

    latents: Latents
    graph: Graph
    assembly: Assembly
    outcomes: tuple[OutcomeRow, ...]
    scales: tuple[str, ...]
    changes: tuple[Change, ...]


@dataclass
class Sums:
    """Sums over rows, for each outcome: of A and B about a shift, and of each change's moves.

    `first` is (changes, outcomes): sum of B x (AB - A); `moved` of AB - A; `total` of its square.
    `lumps` tell how the first block's squares are spread (far_draws.py).
    """

    shift: FloatArray
    rows: FloatArray
    level: FloatArray
    square: FloatArray
    first: FloatArray
    moved: FloatArray
    total: FloatArray
    left_out: FloatArray
    lumps: FloatArray

    def add(self, other: "Sums") -> None:
        """Add the sums of further rows, taken about the same shift."""
        for name in ("rows", "level", "square", "first", "moved", "total", "left_out"):
            setattr(self, name, getattr(self, name) + getattr(other, name))


def design(
    problem: Problem, found: Latents, outcomes: tuple[OutcomeRow, ...], units: tuple[Unit, ...]
) -> Design:
    """Return the design that ranks the units for the outcomes."""
    graph = asked_graph(problem, outcomes)
    assembly = Assembly(problem, set(graph.inputs))
    scales = tuple(problem.scales.get(o.quantity, "linear") for o in outcomes)
    changes = tuple(change(problem, found, graph, outcomes, unit) for unit in units)
    return Design(found, graph, assembly, outcomes, scales, changes)


def change(
    problem: Problem, found: Latents, graph: Graph, outcomes: tuple[OutcomeRow, ...], unit: Unit
) -> Change:
    """Return what exchanging a unit's coordinates makes new."""
    touched = [i for i in unit.factors if problem.factors[i].quantity in graph.inputs]
    inputs = tuple((problem.factors[i].quantity, problem.factors[i].row) for i in touched)
    nodes = graph.downstream({quantity for quantity, _ in inputs})
    new = {node.name for node in nodes} | {quantity for quantity, _ in inputs}
    return Change(
        coordinates=tuple(sorted(unit.coordinates)),
        factors=tuple(touched),
        inputs=inputs,
        nodes=nodes,
        outcomes=tuple(i for i, asked in enumerate(outcomes) if asked.quantity in new),
        whole=all(found.coordinates(i) <= unit.coordinates for i in touched),
    )


def replicate_sums(task: Design, plan: Plan, replicate: int) -> Sums:
    """Return the sums over one replicate, its blocks added in order."""
    count = len(task.latents.ids)
    points = Points(2 * count, plan, replicate)
    total: Sums | None = None
    for begin, end in blocks(0, plan.rows):
        block = Block(task, points.scores(end - begin), replicate)
        sums = block.sums(None if total is None else total.shift)
        if total is None:
            total = sums
        else:
            total.add(sums)
    if total is None:
        raise ValueError("a replicate has at least one row")
    return total


class Block:
    """Some rows of A and B, evaluated, from which every change starts."""

    def __init__(self, task: Design, normals: FloatArray, replicate: int) -> None:
        count = len(task.latents.ids)
        self.task, self.replicate = task, replicate
        self.normals_a, self.normals_b = normals[:count], normals[count:]
        self.size = normals.shape[1]
        active = task.assembly.active
        self.inputs_a = task.assembly.values(self._rows(self.normals_a, active))
        self.inputs_b = task.assembly.values(self._rows(self.normals_b, active))
        self.values = evaluate(task.graph, self.inputs_a)
        self.a = self._outcomes(self.values)
        self.b = self._outcomes(evaluate(task.graph, self.inputs_b))

    def _rows(self, normals: FloatArray, which: list[int]) -> list[FloatArray]:
        return self.task.latents.rows(normals, self.replicate, which)

    def _outcomes(self, values: Values) -> FloatArray:
        table = np.empty((len(self.task.outcomes), self.size))
        pairs = zip(self.task.outcomes, self.task.scales, strict=True)
        for i, (asked, scale) in enumerate(pairs):
            table[i] = on_scale(asked.of(values), scale)
        return table

    def moves(self) -> Iterator[tuple[int, int, FloatArray]]:
        """Yield (change, outcome, outcome's value with the change made) wherever it can move."""
        asked = frozenset(outcome.quantity for outcome in self.task.outcomes)
        runs = RowRuns(self.task.graph, self.values, asked)  # no checks as `run`'s: A passed them
        for number, new in enumerate(self.task.changes):
            values = runs.again(new.nodes, *self._new_inputs(new))
            for place in new.outcomes:
                value = self.task.outcomes[place].of(values)
                yield number, place, on_scale(value, self.task.scales[place])

    def _new_inputs(self, new: Change) -> tuple[dict[str, FloatArray], dict[str, RowsOf]]:
        """Return quantities that change whole, and lists of which some rows change."""
        source = self.inputs_b if new.whole else self._mixed_inputs(new)
        changed: dict[str, FloatArray] = {}
        rows: dict[str, RowsOf] = {}
        for quantity, own in groupby(sorted(new.inputs, key=itemgetter(0)), itemgetter(0)):
            places = [row for _, row in own]
            known = sorted(place for place in places if place is not None)
            if len(known) < len(places):
                changed[quantity] = source[quantity]
            elif len(source[quantity]) >= LONG_LIST:
                rows[quantity] = RowsOf(np.array(known), source[quantity][known])
            else:
                changed[quantity] = self.inputs_a[quantity].copy()
                changed[quantity][known] = source[quantity][known]
        return changed, rows

    def _mixed_inputs(self, new: Change) -> dict[str, FloatArray]:
        normals = self.normals_a.copy()
        normals[list(new.coordinates)] = self.normals_b[list(new.coordinates)]
        return self.task.assembly.values(self._rows(normals, self.task.assembly.active))

    def sums(self, shift: FloatArray | None) -> Sums:
        """Return the sums; a row bad for an outcome anywhere is left out of it everywhere."""
        everything = np.ones_like(self.a, dtype=bool)
        with np.errstate(all="ignore"):
            quick = self._sums(everything, shift, everything=True)
            if all(np.isfinite(part).all() for part in (quick.total, quick.first, quick.square)):
                return quick
            good = np.isfinite(self.a) & np.isfinite(self.b)
            for _, place, value in self.moves():
                good[place] &= np.isfinite(value)
            return self._sums(good, shift, everything=False)

    def _sums(self, good: Flags, shift: FloatArray | None, *, everything: bool) -> Sums:
        outcomes, changes = len(self.task.outcomes), len(self.task.changes)
        keep = [slice(None) if everything else mask for mask in good]
        if shift is None:
            kept = [row[k] for row, k in zip(self.a, keep, strict=True)]
            shift = np.array([row.mean() if row.size else 0.0 for row in kept])
            shift = np.where(np.isfinite(shift), shift, 0.0)
        a = [row[k] - s for row, k, s in zip(self.a, keep, shift, strict=True)]
        b = [row[k] - s for row, k, s in zip(self.b, keep, shift, strict=True)]
        first, moved, total = (np.zeros((changes, outcomes)) for _ in range(3))
        for number, place, value in self.moves():
            step = (value - self.a[place])[keep[place]]
            first[number, place] = product_sum(b[place], step)
            moved[number, place] = step.sum()
            total[number, place] = product_sum(step, step)
        rows = good.sum(axis=1).astype(float)
        return Sums(
            shift=shift,
            rows=rows,
            level=np.array([x.sum() + y.sum() for x, y in zip(a, b, strict=True)]),
            square=np.array(
                [product_sum(x, x) + product_sum(y, y) for x, y in zip(a, b, strict=True)]
            ),
            first=first,
            moved=moved,
            total=total,
            left_out=self.size - rows,
            lumps=lumps(np.concatenate([self.a, self.b], axis=1)),
        )
