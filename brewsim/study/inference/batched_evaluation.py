"""Batches that share formulas and shapes, evaluated in one call as a function of their latents.

What does not depend on any latent is computed once; what only depends on latents that all batches
share is computed once for all of them.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.graph.build import Node
from brewsim.graph.evaluate import run
from brewsim.study.inference.work import Work
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Places

_FIXED, _SHARED, _WIDE = 0, 1, 2


@dataclass(frozen=True)
class _Row:
    """One factor: its distribution in every batch and the latents it is made of."""

    factor: Factor
    distributions: tuple[Distribution, ...]
    sources: tuple[tuple[float, tuple[int, ...]], ...]

    @property
    def level(self) -> int:
        """Whether all batches always have the same value."""
        alike = all(d is self.distributions[0] for d in self.distributions)
        alike = alike and all(len(set(where)) == 1 for _, where in self.sources)
        return _SHARED if alike else _WIDE

    def draws_on(self, latents: frozenset[int]) -> bool:
        """Whether any of these latents is part of it, in any batch."""
        return any(not latents.isdisjoint(where) for _, where in self.sources)


class _Scores:
    """The scores of several rows from a state, in a few array operations."""

    def __init__(self, rows: Sequence[_Row], batches: int) -> None:
        self.batches = batches
        depth = max((len(row.sources) for row in rows), default=0)
        self._weights = np.zeros((depth, len(rows), 1))
        self._where = np.zeros((depth, len(rows), batches), dtype=int)
        for place, row in enumerate(rows):
            for k, (weight, where) in enumerate(row.sources):
                self._weights[k, place] = weight
                self._where[k, place] = where[:batches]

    def of(self, state: FloatArray) -> FloatArray:
        """Return (rows, batches * chains), batch by batch."""
        chains = state.shape[1]
        rows = self._where.shape[1]
        total = np.zeros((rows, self.batches * chains))
        for weight, where in zip(self._weights, self._where, strict=True):
            total += weight * state[where].reshape(rows, self.batches * chains)
        return total


@dataclass(frozen=True)
class Evaluated:
    """Quantities with one sample per chain, and those with one per batch and chain.

    `wide` holds everything a wide formula may need, what all batches share repeated.
    """

    shared: Mapping[str, FloatArray]
    wide: Mapping[str, FloatArray]


@dataclass(frozen=True)
class _Part:
    """What some latents reach: rows and their scores, then formulas; shared first."""

    shared: tuple[Sequence[_Row], _Scores, Sequence[Node]]
    wide: tuple[Sequence[_Row], _Scores, Sequence[Node]]
    tiled: Sequence[str]


def _places(names: Sequence[str], index: Mapping[str, int]) -> tuple[int, ...]:
    """Return where a factor's latents stand, batch by batch.

    A batch in which nothing that was read depends on it has none there; it borrows another's,
    since nobody asks what comes of it.
    """
    borrowed = next(index[name] for name in names if name in index)
    return tuple(index.get(name, borrowed) for name in names)


class StackPlan:
    """How the latents of a stack of batches become the quantities that were read."""

    def __init__(
        self, batches: Sequence[Batch], index: Mapping[str, int], tasted: Collection[str] = ()
    ) -> None:
        self.batches = tuple(batches)
        problem = self.batches[0].problem
        read = {r.quantity for b in self.batches for r in b.readings if r.known is None}
        read |= set(tasted)
        self.graph = problem.graph.pruned(read)
        rows = [
            self._row(place, index)
            for place, factor in enumerate(problem.factors)
            if factor.quantity in self.graph.inputs
        ]
        self._indices: dict[str, FloatArray] = {}
        self._base = self._fixed_columns()
        level = self._levels(rows)
        nodes = self.graph.nodes.values()
        self._nodes = [[n for n in nodes if level[n.name] == kind] for kind in range(3)]
        self._rows = [[r for r in rows if level[r.factor.quantity] == kind] for kind in range(3)]
        self._wide_fixed = [q for q, base in self._base.items() if level[q] == _WIDE]
        needed = {need for node in self._nodes[_WIDE] for need in node.needs} | read
        self._tiled = sorted(q for q in needed if level.get(q) == _SHARED)
        fixed = {q: base[..., :1] for q, base in self._base.items() if level[q] == _FIXED}
        self._constants = run(self._nodes[_FIXED], fixed | self._indices)
        self.work = Work()
        self._parts: dict[frozenset[int], _Part] = {}
        self._whole = self._part(None)

    def _row(self, place: int, index: Mapping[str, int]) -> _Row:
        factors = [b.problem.factors[place] for b in self.batches]
        names = [latent_names(f, b) for f, b in zip(factors, self.batches, strict=True)]
        sources = tuple(
            (float(np.sqrt(share)), _places([own[kind] for own in names], index))
            for kind, share in factors[0].kinds.items()
        )
        every = tuple(f.distribution for f in factors)
        alike = all(d == every[0] for d in every)
        return _Row(factors[0], (every[0],) * len(every) if alike else every, sources)

    def _fixed_columns(self) -> dict[str, FloatArray]:
        """Return quantity -> (..., batches), what is fixed in every batch; indices apart.

        Batches of one stack have the same indices, which have no sample axis.
        """
        columns = {}
        for name in self.graph.inputs:
            every = [b.problem.fixed.get(name) for b in self.batches]
            arrays = [np.asarray(a) for a in every if a is not None]
            if arrays and arrays[0].dtype.kind in "iu":
                self._indices[name] = arrays[0]
            elif arrays:
                columns[name] = np.concatenate([a[..., :1] for a in arrays], axis=-1)
        return columns

    def _levels(self, rows: Sequence[_Row]) -> dict[str, int]:
        level = dict.fromkeys(self.graph.inputs, _FIXED)
        for name, base in self._base.items():
            if base.size and not np.all(base == base[..., :1]):
                level[name] = _WIDE
        for row in rows:
            level[row.factor.quantity] = max(level[row.factor.quantity], row.level)
        if len(self.batches) == 1:
            level = {name: min(kind, _SHARED) for name, kind in level.items()}
        for node in self.graph.nodes.values():
            level[node.name] = max((level[need] for need in node.needs), default=_FIXED)
        return level

    def _part(self, latents: frozenset[int] | None) -> _Part:
        """Return what these latents reach; everything for None."""
        rows = [[r for r in own if latents is None or r.draws_on(latents)] for own in self._rows]
        nodes = self._nodes
        tiled = self._tiled
        if latents is not None:
            stale = {r.factor.quantity for own in rows for r in own}
            after = self.graph.downstream(stale)
            stale.update(node.name for node in after)
            nodes = [[n for n in own if n.name in stale] for own in self._nodes]
            tiled = [name for name in self._tiled if name in stale]
        return _Part(
            (rows[_SHARED], _Scores(rows[_SHARED], 1), nodes[_SHARED]),
            (rows[_WIDE], _Scores(rows[_WIDE], len(self.batches)), nodes[_WIDE]),
            tiled,
        )

    def evaluate(self, state: FloatArray) -> Evaluated:
        """Return every quantity: one sample, one per chain, or one per batch and chain.

        A latent beyond all bounds gives values that are not finite, without a warning.
        """
        chains, count = state.shape[1], len(self.batches)
        repeated = {name: np.repeat(self._base[name], chains, axis=-1) for name in self._wide_fixed}
        start = Evaluated(self._constants, {} if count == 1 else repeated)
        return self._run(self._whole, start, state)

    def moved(self, before: Evaluated, state: FloatArray, latents: frozenset[int]) -> Evaluated:
        """Return every quantity after only these latents have moved to `state`."""
        if latents not in self._parts:
            self._parts[latents] = self._part(latents)
        return self._run(self._parts[latents], before, state)

    @np.errstate(over="ignore")
    def _run(self, part: _Part, before: Evaluated, state: FloatArray) -> Evaluated:
        chains, count = state.shape[1], len(self.batches)
        shared = dict(before.shared)
        rows, scores, nodes = part.shared
        self._put(shared, rows, scores.of(state), chains)
        shared = run(nodes, shared)
        self.work.formulas(len(rows) + len(nodes), chains)
        if count == 1:
            return Evaluated(shared, shared)
        wide = {**shared, **before.wide}
        for name in part.tiled:
            found = shared[name]
            wide[name] = np.tile(found, count) if found.shape[-1] == chains else found
        rows, scores, nodes = part.wide
        self._put(wide, rows, scores.of(state), count * chains)
        self.work.formulas(len(rows) + len(nodes), count * chains)
        return Evaluated(shared, run(nodes, wide))

    def _put(
        self, values: dict[str, FloatArray], rows: Sequence[_Row], scores: FloatArray, size: int
    ) -> None:
        lists: dict[str, FloatArray] = {}
        for row, score in zip(rows, scores, strict=True):
            factor, first = row.factor, row.distributions[0]
            if all(d is first for d in row.distributions) or len(score) != size:
                value = first.from_score(score)
            else:
                parts = np.split(score, len(row.distributions))
                each = zip(row.distributions, parts, strict=True)
                value = np.concatenate([d.from_score(part) for d, part in each])
            if not self.graph.axes(factor.quantity):
                values[factor.quantity] = value
                continue
            if factor.quantity not in lists:
                there = values.get(factor.quantity)
                lists[factor.quantity] = (
                    self._list(factor.quantity, rows, size) if there is None else np.array(there)
                )
            lists[factor.quantity][factor.row if factor.row is not None else slice(None)] = value
        values.update(lists)

    def _list(self, quantity: str, rows: Sequence[_Row], size: int) -> FloatArray:
        base = self._base.get(quantity)
        if base is None:
            top = max(r.factor.row or 0 for r in rows if r.factor.quantity == quantity)
            return np.empty((top + 1, size))
        return np.repeat(base[..., :1], size, axis=-1).astype(float)  # alike in every batch

    def pick(
        self, values: Evaluated, name: str, row: int | None, places: Places, chains: int
    ) -> FloatArray:
        """Return some batches' values of a quantity, (places, chains)."""
        found = values.wide[name]
        if found.ndim > 1:
            found = found[row if row is not None else 0]
        if found.shape[-1] == len(self.batches) * chains:
            return found.reshape(-1, chains)[places]
        return np.broadcast_to(found, (len(places), chains))


def stacked(batches: Sequence[Batch]) -> Iterable[tuple[int, ...]]:
    """Return groups of places of batches that can be evaluated in one call."""
    groups: dict[object, list[int]] = {}
    for place, batch in enumerate(batches):
        groups.setdefault(_signature(batch.problem), []).append(place)
    return [tuple(places) for places in groups.values()]


def _signature(problem: Problem) -> object:
    formulas = tuple((name, id(node.formula)) for name, node in problem.graph.nodes.items())
    shapes = tuple(sorted((n, np.asarray(a).shape[:-1]) for n, a in problem.fixed.items()))
    indices = tuple(
        sorted(
            (n, tuple(np.asarray(a).ravel()))
            for n, a in problem.fixed.items()
            if np.asarray(a).dtype.kind in "iu"
        )
    )
    factors: tuple[tuple[str, str, int | None, Kinds], ...] = tuple(
        (f.id, f.quantity, f.row, f.kinds) for f in problem.factors
    )
    return formulas, shapes, indices, factors
