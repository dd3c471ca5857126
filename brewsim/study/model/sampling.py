"""Where every number of a study comes from: replicated scrambled Sobol' points, by latent id.

Each replicate is an independent scramble (Owen, Monte Carlo theory, methods and examples, 2013,
chapter 17) of the Sobol' sequence; its spread over replicates is the only error estimate used.
The points are multiples of 2**-30 and may be exactly 0, so half a step is added to each.
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from numbers import Real

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.normal_scores import normal_scores
from brewsim.errors import StudyError
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.sobol_sequence import sobol_sequence

ROWS_PER_BLOCK = 32_768
"""Rows evaluated in one call: fixed, so that no setting can change a number."""

MOST_DRAWS = 2**26
_HALF_STEP = 2.0**-31

Rows = Sequence[FloatArray] | FloatArray
"""Normal scores, one row of samples for each factor, in the problem's order of factors."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How much is drawn: independent replicates, each a power of two of rows, from one seed."""

    replicates: int = 8
    rows: int = 2048
    seed: int = 1

    def __post_init__(self) -> None:
        """Refuse a number of rows that would spoil the balance of the points."""
        if not _is_whole(self.rows) or self.rows < 1 or self.rows & (self.rows - 1):
            raise StudyError(f"rows of a replicate must be a power of two, not {self.rows}")
        if self.replicates < 2:
            raise StudyError("a sampling error needs at least 2 replicates")
        if not _is_whole(self.seed) or self.seed < 0:
            raise StudyError(f"a seed is a whole number from 0 up, not {self.seed}")

    @classmethod
    def of(cls, draws: int, seed: int = 1) -> "Plan":
        """Return the plan of at least so many draws, in the usual number of replicates."""
        return cls(rows=rows_for(draws), seed=seed)

    @property
    def draws(self) -> int:
        """Rows of all replicates together."""
        return self.replicates * self.rows


def _is_whole(number: object) -> bool:
    return isinstance(number, int | np.integer) and not isinstance(number, bool)


def rows_for(draws: int, replicates: int = 8, least: int = 16) -> int:
    """Return the smallest power of two of rows that gives at least so many draws."""
    if not _is_count(draws):
        raise StudyError(f"draws are a whole number from 1 to {MOST_DRAWS}, not {draws}")
    return max(least, 1 << (-(-int(draws) // replicates) - 1).bit_length())


def _is_count(draws: object) -> bool:
    """Whether it is a whole number of draws; a range would be searched for what is no int."""
    if not isinstance(draws, Real) or not draws <= MOST_DRAWS or draws < 1:
        return False
    return float(draws).is_integer()


def blocks(start: int, stop: int) -> Iterator[tuple[int, int]]:
    """Cut the rows from start to stop into the fixed blocks they are evaluated in."""
    while start < stop:
        end = min(stop, (start // ROWS_PER_BLOCK + 1) * ROWS_PER_BLOCK)
        yield start, end
        start = end


class Points:
    """One replicate's points, read block by block from the start given.

    The same (seed, replicate, dimension) always gives the same points.
    """

    def __init__(self, dimension: int, plan: Plan, replicate: int, start: int = 0) -> None:
        self._dimension = dimension
        if dimension:
            source = np.random.SeedSequence(plan.seed, spawn_key=(replicate,))
            self._sequence = sobol_sequence(dimension, np.random.default_rng(source))
            if start:
                self._sequence.fast_forward(start)

    def uniforms(self, rows: int) -> FloatArray:
        """Return the next rows, (rows, dimension), each strictly between 0 and 1."""
        if not self._dimension:
            return np.empty((rows, 0))
        points = self._sequence.random(rows)
        points += _HALF_STEP
        return points

    def scores(self, rows: int, wanted: Sequence[int] | None = None) -> FloatArray:
        """Return the next rows as standard normal scores, (dimension, rows).

        Only the `wanted` coordinates are filled; the others hold nothing of use.
        """
        scores = np.empty((self._dimension, rows))
        columns = self._sequence.columns(rows) if self._dimension else scores
        for coordinate in range(self._dimension) if wanted is None else wanted:
            scores[coordinate] = normal_scores(columns[coordinate] + _HALF_STEP)
        return scores


def scores(
    ids: Sequence[str], plan: Plan, replicate: int, start: int = 0, stop: int | None = None
) -> FloatArray:
    """Return standard normal scores for latent ids, (ids, rows), rows in the order of `ids`.

    Coordinates go to the sorted ids, so the order of `ids` changes no number.
    """
    order = np.argsort(np.argsort(np.array(ids, dtype=object))) if len(ids) else np.empty(0, int)
    stop = plan.rows if stop is None else stop
    points = Points(len(ids), plan, replicate, start)
    parts = [points.scores(end - begin) for begin, end in blocks(start, stop)]
    return (np.concatenate(parts, axis=1) if len(parts) > 1 else parts[0])[order]


class Assembly:
    """Turns factor scores into the arrays a graph starts from, worked out once per problem."""

    def __init__(self, problem: Problem, needed: Container[str] | None = None) -> None:
        inputs = [q for q in problem.graph.inputs if needed is None or q in needed]
        wanted = set(inputs)
        self._fixed = {q: problem.fixed[q] for q in inputs if q in problem.fixed}
        self.active = [i for i, f in enumerate(problem.factors) if f.quantity in wanted]
        self._single: list[tuple[int, str, Distribution]] = []
        self._listed: dict[str, list[tuple[int, Factor]]] = {}
        for i in self.active:
            factor = problem.factors[i]
            if problem.graph.axes(factor.quantity):
                self._listed.setdefault(factor.quantity, []).append((i, factor))
            else:
                self._single.append((i, factor.quantity, factor.distribution))
        self._rows = {q: self._row_count(q, members) for q, members in self._listed.items()}

    def _row_count(self, quantity: str, members: list[tuple[int, Factor]]) -> int:
        if quantity in self._fixed:
            return len(self._fixed[quantity])
        rows = {factor.row for _, factor in members}
        if rows != set(range(len(rows))):
            raise StudyError(f"{quantity}: some rows are neither fixed nor uncertain")
        return len(rows)

    def values(self, rows: Rows) -> dict[str, FloatArray]:
        """Return quantity -> array, (samples,) or (list, samples), fixed ones as they are."""
        return self._placed(rows, scores=True)

    def placed(self, values: Rows) -> dict[str, FloatArray]:
        """Return the same from the factors' values themselves, one row for each factor."""
        return self._placed(values, scores=False)

    def _placed(self, rows: Rows, *, scores: bool) -> dict[str, FloatArray]:
        values = dict(self._fixed)
        for i, quantity, distribution in self._single:
            values[quantity] = distribution.from_score(rows[i]) if scores else rows[i]
        for quantity, members in self._listed.items():
            table = np.empty((self._rows[quantity], len(rows[members[0][0]])))
            if quantity in self._fixed:
                table[:] = self._fixed[quantity]
            for i, factor in members:
                target = slice(None) if factor.row is None else factor.row
                table[target] = factor.distribution.from_score(rows[i]) if scores else rows[i]
            values[quantity] = table
        return values


def assemble(problem: Problem, rows: Rows) -> dict[str, FloatArray]:
    """Return every input of the problem's graph for factor scores (factors, samples)."""
    return Assembly(problem).values(rows)


def without_events(problem: Problem) -> Problem:
    """Return the problem with its rare events held at not happening (their median)."""
    fixed: dict[str, FloatArray] = dict(problem.fixed)
    for factor in problem.factors:
        if factor.event:
            fixed[factor.quantity] = _held(problem, fixed, factor)
    factors = tuple(f for f in problem.factors if not f.event)
    return replace(problem, factors=factors, fixed=fixed)


def _held(problem: Problem, fixed: Mapping[str, FloatArray], factor: Factor) -> FloatArray:
    value = factor.distribution.median
    if not problem.graph.axes(factor.quantity):
        return np.array([value])
    rows = 1 + max(f.row or 0 for f in problem.factors if f.quantity == factor.quantity)
    table = np.array(fixed.get(factor.quantity, np.zeros((rows, 1))), dtype=float)
    table[slice(None) if factor.row is None else factor.row] = value
    return table


def at_medians(problem: Problem, graph: Graph) -> dict[str, FloatArray]:
    """Return every quantity of a graph of the problem with each factor at its median."""
    inputs = Assembly(problem, graph.inputs).values(np.zeros((len(problem.factors), 1)))
    return evaluate(graph, inputs)
