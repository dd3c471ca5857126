"""Measured batches: readings, the instruments behind them, and how likely they are."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import run
from brewsim.study.problem import Factor, Problem

LEAST_LOG_LIKELIHOOD = -1e300
"""Stands for a likelihood of zero; a NaN would never end a slice."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value of a quantity.

    `noise` is the repeatability (standard uncertainty) and `bias` the standard uncertainty of the
    instrument's own error, shared by all its readings; both in the quantity's unit, or of the
    natural logarithm where `scale` is "log". `known` states the true value of a calibration
    reading, which tells about the instrument only. With `trials` the reading is a count of
    `value` out of `trials` and the quantity is a share between 0 and 1.
    """

    quantity: str
    value: float
    noise: float
    instrument: str = ""
    bias: float = 0.0
    scale: Literal["linear", "log"] = "linear"
    row: int | None = None
    known: float | None = None
    trials: int = 0
    label: str = ""


@dataclass(frozen=True)
class Batch:
    """One brewed batch: what was really done (as a problem) and what was measured."""

    id: str
    problem: Problem
    readings: tuple[Reading, ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)


def knowledge_latent(factor: Factor) -> str:
    """Name of the latent every batch shares."""
    return f"{factor.id} @knowledge"


def lot_latent(factor: Factor, batch_id: str) -> str:
    """Name of a lot's latent: shared by all batches that name the lot, else the batch's own."""
    return f"{factor.id} @lot {factor.lot}" if factor.lot else f"{factor.id} @lot of {batch_id}"


def batch_latent(factor: Factor, batch_id: str) -> str:
    """Name of the latent of this batch alone."""
    return f"{factor.id} @batch {batch_id}"


def latent_names(factor: Factor, batch_id: str) -> dict[str, str]:
    """Return kind -> latent name for the kinds the factor has a share in."""
    namers = {
        "knowledge": knowledge_latent(factor),
        "lot": lot_latent(factor, batch_id),
        "batch": batch_latent(factor, batch_id),
    }
    return {kind: namers[kind] for kind, _ in factor.kinds.items()}


@dataclass(frozen=True)
class _Stack:
    """Batches that share formulas and shapes, evaluated in one call."""

    graph: Graph
    batches: tuple[Batch, ...]
    positions: tuple[int, ...]


class Model:
    """The readings of several batches as a function of all their latents.

    `names` lists the active latents, those upstream of a reading; the others stay standard
    normal whatever was read. A state is an array (latents, chains).
    """

    def __init__(self, batches: Sequence[Batch], *, outliers: bool = False) -> None:
        self.batches = tuple(batches)
        self.outliers = outliers
        self._check()
        self._stacks = tuple(_stacked(self.batches))
        self.names = tuple(sorted(self._active()))
        self._index = {name: i for i, name in enumerate(self.names)}
        self._plans = [self._plan(stack) for stack in self._stacks]
        self.readings = tuple((b, r) for b in self.batches for r in b.readings)
        if not self.readings:
            raise StudyError("the batches hold no reading to learn from")
        self._gauss = np.array([r.trials == 0 for _, r in self.readings])
        self._noise = np.array([r.noise for _, r in self.readings])
        self._target = np.array([_on_scale(r, np.asarray(r.value)) for _, r in self.readings])

    def _check(self) -> None:
        ids = [batch.id for batch in self.batches]
        doubled = sorted({i for i in ids if ids.count(i) > 1})
        if doubled:
            raise StudyError(f"batch {doubled[0]} is there twice; a batch is learned once")
        for batch in self.batches:
            for reading in batch.readings:
                if reading.known is None and reading.quantity not in batch.problem.graph:
                    known = [*batch.problem.graph.nodes, *batch.problem.graph.inputs]
                    hint = did_you_mean(reading.quantity, known)
                    raise StudyError(f"batch {batch.id}: no quantity {reading.quantity}.{hint}")
                if not reading.trials and not reading.noise > 0:
                    raise StudyError(f"batch {batch.id}: {reading.quantity} needs a noise above 0")

    def _active(self) -> set[str]:
        active: set[str] = set()
        for batch in self.batches:
            read = [r.quantity for r in batch.readings if r.known is None]
            upstream = batch.problem.graph.upstream(read)
            for factor in batch.problem.factors:
                if factor.quantity in upstream:
                    active.update(latent_names(factor, batch.id).values())
            active.update(_bias_latent(r) for r in batch.readings if r.bias > 0)
        return active

    def _plan(self, stack: _Stack) -> "_StackPlan":
        return _StackPlan(stack, self._index)

    @property
    def is_count(self) -> FloatArray:
        """1 where the reading is a count of trials, else 0; one per reading."""
        return 1.0 - self._gauss

    def predicted(self, state: FloatArray) -> FloatArray:
        """Return each reading's predicted value on its own scale, bias included: (readings, n)."""
        chains = state.shape[1]
        values = [plan.evaluate(state) for plan in self._plans]
        rows = []
        for stack_number, position, reading in self._order():
            if reading.known is not None:
                row = np.full(chains, _on_scale(reading, np.asarray(reading.known)))
            else:
                found = values[stack_number][reading.quantity]
                found = found if reading.row is None else found[reading.row]
                row = np.broadcast_to(found, (len(self._stacks[stack_number].batches) * chains,))
                row = _on_scale(reading, row.reshape(-1, chains)[position])
            if reading.bias > 0:
                row = row + reading.bias * state[self._index[_bias_latent(reading)]]
            rows.append(row)
        return np.stack(rows)

    def _order(self) -> Iterable[tuple[int, int, Reading]]:
        place = {
            index: (number, position)
            for number, stack in enumerate(self._stacks)
            for position, index in enumerate(stack.positions)
        }
        for index, batch in enumerate(self.batches):
            for reading in batch.readings:
                yield *place[index], reading

    def residuals(self, state: FloatArray) -> FloatArray:
        """Return (predicted - read) / noise, (readings, n); counts by an arcsine."""
        predicted = self.predicted(state)
        noise = np.where(self._gauss, self._noise, 1.0)[:, None]
        target = self._target[:, None]
        residual = (predicted - target) / noise
        for i in np.flatnonzero(~self._gauss):
            trials = self.readings[i][1].trials
            share = np.clip(predicted[i], 1e-9, 1 - 1e-9)
            angle = 2 * (np.arcsin(np.sqrt(share)) - np.arcsin(np.sqrt(self._target[i] / trials)))
            residual[i] = angle * np.sqrt(trials)
        return residual

    def log_likelihood(self, state: FloatArray) -> FloatArray:
        """Return the log likelihood of all readings, (n,); not finite counts as impossible."""
        with np.errstate(all="ignore"):
            predicted = self.predicted(state)
            noise = np.where(self._gauss, self._noise, 1.0)[:, None]
            square = ((predicted - self._target[:, None]) / noise) ** 2
            terms = -2.5 * np.log1p(square / 4) if self.outliers else -0.5 * square
            for i in np.flatnonzero(~self._gauss):
                terms[i] = _count_log_likelihood(self.readings[i][1], predicted[i])
            total = terms.sum(axis=0)
        return np.where(np.isfinite(total), total, LEAST_LOG_LIKELIHOOD)

    def jacobian(self, centre: FloatArray, step: float = 0.05) -> FloatArray:
        """Return d residual / d latent at `centre` (latents,), by central differences."""
        shifts = step * np.eye(len(centre))
        state = np.concatenate([centre[:, None] + shifts, centre[:, None] - shifts], axis=1)
        residual = self.residuals(state)
        slope = (residual[:, : len(centre)] - residual[:, len(centre) :]) / (2 * step)
        return np.where(np.isfinite(slope), slope, 0.0)

    def event_latents(self) -> list[FloatArray]:
        """Return, for each batch with a rare event, the rows of the latents that decide it."""
        blocks = []
        for batch in self.batches:
            groups = {f.group for f in batch.problem.factors if f.event}
            names = {
                latent_names(f, batch.id).get("batch", "")
                for f in batch.problem.factors
                if f.event or (f.group in groups and f.group)
            }
            rows = sorted(self._index[name] for name in names if name in self._index)
            if groups and rows:
                blocks.append(np.array(rows))
        return blocks


class _StackPlan:
    """How the latents of a stack of batches become inputs, worked out once."""

    def __init__(self, stack: _Stack, index: Mapping[str, int]) -> None:
        self.stack = stack
        read = {r.quantity for b in stack.batches for r in b.readings if r.known is None}
        self.graph = stack.graph.pruned(read)
        self.rows = {}
        for place, factor in enumerate(stack.batches[0].problem.factors):
            if factor.quantity in self.graph.inputs:
                self.rows[place] = self._sources(place, index)

    def _sources(self, place: int, index: Mapping[str, int]) -> list[tuple[float, FloatArray]]:
        sources = []
        for kind, share in self.stack.batches[0].problem.factors[place].kinds.items():
            where = [
                index.get(latent_names(b.problem.factors[place], b.id)[kind], -1)
                for b in self.stack.batches
            ]
            sources.append((float(np.sqrt(share)), np.array(where)))
        return sources

    def evaluate(self, state: FloatArray) -> dict[str, FloatArray]:
        """Return every quantity of the stack, its samples ordered batch by batch."""
        batches, chains = self.stack.batches, state.shape[1]
        values = self._fixed(chains)
        for place, sources in self.rows.items():
            score = np.zeros((len(batches), chains))
            for weight, where in sources:
                score += weight * np.where(where[:, None] >= 0, state[where], 0.0)
            factor = batches[0].problem.factors[place]
            if all(b.problem.factors[place].distribution == factor.distribution for b in batches):
                value = factor.distribution.from_score(score.ravel())
            else:
                value = np.concatenate(
                    [
                        b.problem.factors[place].distribution.from_score(row)
                        for b, row in zip(batches, score, strict=True)
                    ]
                )
            if factor.row is None:
                values[factor.quantity] = value
            else:
                values[factor.quantity][factor.row] = value
        return run(self.graph.nodes.values(), values)

    def _fixed(self, chains: int) -> dict[str, FloatArray]:
        first, size = self.stack.batches[0].problem, len(self.stack.batches) * chains
        values: dict[str, FloatArray] = {}
        mixed = {f.quantity for f in first.factors if f.row is not None}
        for name, given in self.graph.inputs.items():
            every = [b.problem.fixed.get(name) for b in self.stack.batches]
            if any(e is None for e in every):
                rows = 1 + max((f.row or 0 for f in first.factors if f.quantity == name), default=0)
                if given.axes:
                    values[name] = np.empty((rows, size))
                continue
            arrays = [np.asarray(e) for e in every]
            same = all(np.array_equal(a, arrays[0]) for a in arrays[1:])
            if same and name not in mixed:
                values[name] = arrays[0]
            elif arrays[0].dtype.kind in "iu":
                raise StudyError(f"batches that differ in {name} cannot be stacked")
            else:
                wide = [np.broadcast_to(a, (*a.shape[:-1], chains)) for a in arrays]
                values[name] = np.concatenate(wide, axis=-1)
        return values


def _stacked(batches: Sequence[Batch]) -> Iterable[_Stack]:
    groups: dict[object, list[int]] = {}
    for index, batch in enumerate(batches):
        groups.setdefault(_signature(batch.problem), []).append(index)
    for positions in groups.values():
        members = tuple(batches[i] for i in positions)
        yield _Stack(members[0].problem.graph, members, tuple(positions))


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
    factors = tuple((f.id, f.quantity, f.row, f.kinds) for f in problem.factors)
    return formulas, shapes, indices, factors


def _bias_latent(reading: Reading) -> str:
    return f"{reading.instrument or reading.quantity} @bias"


def _on_scale(reading: Reading, value: FloatArray) -> FloatArray:
    return np.log(value) if reading.scale == "log" else value


def _count_log_likelihood(reading: Reading, share: FloatArray) -> FloatArray:
    inside = np.clip(share, 1e-12, 1 - 1e-12)
    return reading.value * np.log(inside) + (reading.trials - reading.value) * np.log1p(-inside)
