"""How likely the readings of several batches are, as a function of all their latents."""

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.inference.batched_evaluation import Evaluated, StackPlan, stacked
from brewsim.study.inference.correlated_latents import Mixes, Mixing, joint_mixes, tied_to
from brewsim.study.model.batch import (
    Batch,
    Reading,
    bias_latent,
    latent_names,
)
from brewsim.study.model.replicates import Flags, Places

_STEP = 1e-5

LEAST_LOG_LIKELIHOOD = -1e300
"""Stands for a likelihood of zero; a NaN would never end a slice."""


class Model:
    """The readings of several batches as a function of all their latents.

    `names` lists the active latents: those upstream of a reading, and what is correlated with
    them; the others stay as they were whatever was read. A state is an array (latents, chains) of
    independent standard normals; `scores` turns it into the latents, which may be correlated.
    """

    def __init__(self, batches: Sequence[Batch], *, outliers: bool = False) -> None:
        self.batches = tuple(batches)
        self.outliers = outliers
        self._check()
        mixes = joint_mixes(self.batches)
        self.names = tuple(sorted(self._active(mixes)))
        self._index = {name: i for i, name in enumerate(self.names)}
        self._mixing = Mixing(mixes, self._index)
        self.readings = tuple((b, r) for b in self.batches for r in b.readings)
        if not self.readings:
            raise StudyError("the batches hold no reading to learn from")
        if not self.names:
            told = ", ".join(sorted({r.quantity for _, r in self.readings}))
            raise StudyError(
                f"nothing uncertain lies behind any reading ({told}), so there is nothing to learn"
            )
        groups = stacked(self.batches)
        self._plans = [StackPlan([self.batches[i] for i in g], self._index) for g in groups]
        where = {b: (n, p) for n, group in enumerate(groups) for p, b in enumerate(group)}
        owner = [i for i, b in enumerate(self.batches) for _ in b.readings]
        self._where = [where[i] for i in owner]
        self._owner = np.equal.outer(np.arange(len(self.batches)), owner).astype(float)
        listed = [r for _, r in self.readings]
        self._log = np.array([r.scale == "log" for r in listed])
        self._gauss = np.array([r.trials == 0 for r in listed])
        self._noise = np.array([r.noise if not r.trials else 1.0 for r in listed])[:, None]
        self._target = np.array([_on_scale(r, r.value) for r in listed])[:, None]
        self._bias = np.array([r.bias for r in listed])[:, None]
        self._biased = [self._index.get(bias_latent(r), 0) for r in listed]

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
                for why in _unreadable(reading, batch):
                    raise StudyError(f"batch {batch.id}: {reading.quantity} {why}")

    def _active(self, mixes: Mixes) -> set[str]:
        active: set[str] = set()
        for batch in self.batches:
            read = [r.quantity for r in batch.readings if r.known is None]
            upstream = batch.problem.graph.upstream(read)
            for factor in batch.problem.factors:
                if factor.quantity in upstream:
                    active.update(latent_names(factor, batch.id).values())
            active.update(bias_latent(r) for r in batch.readings if r.bias > 0)
        return active | tied_to(active, mixes)

    def scores(self, state: FloatArray) -> FloatArray:
        """Return the latents of a state, (latents, n); the state itself where none is tied."""
        return self._mixing.scores(state)

    def predicted(self, state: FloatArray) -> FloatArray:
        """Return each reading's predicted value on its own scale, bias included: (readings, n)."""
        scores = self.scores(state)
        return self._read([plan.evaluate(scores) for plan in self._plans], scores)

    def _read(self, values: Sequence[Evaluated], state: FloatArray) -> FloatArray:
        chains = state.shape[1]
        table = np.empty((len(self.readings), chains))
        for i, (_, reading) in enumerate(self.readings):
            if reading.known is not None:
                table[i] = reading.known
                continue
            stack, place = self._where[i]
            plan = self._plans[stack]
            table[i] = plan.pick(values[stack], reading.quantity, reading.row, place, chains)
        with np.errstate(all="ignore"):
            table[self._log] = np.log(table[self._log])
        if self._bias.any():
            table += self._bias * state[self._biased]
        return table

    def residuals(self, state: FloatArray) -> FloatArray:
        """Return (predicted - read) / noise, (readings, n); counts by an arcsine."""
        return self._residuals(self.predicted(state))

    def _residuals(self, predicted: FloatArray) -> FloatArray:
        residual = (predicted - self._target) / self._noise
        for i in np.flatnonzero(~self._gauss):
            trials = self.readings[i][1].trials
            share = np.clip(predicted[i], 1e-9, 1 - 1e-9)
            read = np.arcsin(np.sqrt(self._target[i, 0] / trials))
            residual[i] = 2 * (np.arcsin(np.sqrt(share)) - read) * np.sqrt(trials)
        return residual

    def _terms(self, predicted: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            square = ((predicted - self._target) / self._noise) ** 2
            terms = -2.5 * np.log1p(square / 4) if self.outliers else -0.5 * square
            for i in np.flatnonzero(~self._gauss):
                terms[i] = _count_log_likelihood(self.readings[i][1], predicted[i])
        return terms

    def log_likelihood(self, state: FloatArray) -> FloatArray:
        """Return the log likelihood of all readings, (n,); not finite counts as impossible."""
        return self._level(self.predicted(state))

    def _level(self, predicted: FloatArray) -> FloatArray:
        total = self._terms(predicted).sum(axis=0)
        return np.where(np.isfinite(total), total, LEAST_LOG_LIKELIHOOD)

    def by_batch(self, state: FloatArray) -> FloatArray:
        """Return the log likelihood of each batch's readings, (batches, n)."""
        terms = self._terms(self.predicted(state))
        terms = np.where(np.isfinite(terms), terms, LEAST_LOG_LIKELIHOOD)
        return np.maximum(self._owner @ terms, LEAST_LOG_LIKELIHOOD)

    def jacobian(self, centre: FloatArray, step: float = 0.05) -> FloatArray:
        """Return d residual / d latent at `centre` (latents,), by central differences."""
        shifts = step * np.eye(len(centre))
        state = np.concatenate([centre[:, None] + shifts, centre[:, None] - shifts], axis=1)
        residual = self.residuals(state)
        slope = (residual[:, : len(centre)] - residual[:, len(centre) :]) / (2 * step)
        return np.where(np.isfinite(slope), slope, 0.0)

    def slopes(self, state: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return log likelihood (n,), residuals (readings, n) and slopes (n, readings, latents).

        Forward differences. Latents that reach no reading in common are moved at once, and only
        what depends on them runs again.
        """
        scores = self.scores(state)
        values = [plan.evaluate(scores) for plan in self._plans]
        predicted = self._read(values, scores)
        residual = self._residuals(predicted)
        slope = np.zeros((state.shape[1], *self._reach.T.shape))
        for latents, owner in self._moves:
            moved = state.copy()
            moved[list(latents)] += _STEP
            moved, reach = self.scores(moved), self._mixing.reached(latents)
            plans = zip(self._plans, values, strict=True)
            after = [plan.moved(before, moved, reach) for plan, before in plans]
            change = (self._residuals(self._read(after, moved)) - residual) / _STEP
            reached = np.flatnonzero(owner >= 0)
            slope[:, reached, owner[reached]] = change[reached].T
        return self._level(predicted), residual, np.where(np.isfinite(slope), slope, 0.0)

    @cached_property
    def _reach(self) -> Flags:
        """Return which latents reach which readings, (latents, readings)."""
        reach = np.zeros((len(self.names), len(self.readings)), dtype=bool)
        for column, (batch, reading) in enumerate(self.readings):
            if reading.bias > 0:
                reach[self._index[bias_latent(reading)], column] = True
            if reading.known is not None:
                continue
            upstream = batch.problem.graph.upstream([reading.quantity])
            for factor in batch.problem.factors:
                if factor.quantity in upstream:
                    names = latent_names(factor, batch.id).values()
                    reach[[self._index[name] for name in names], column] = True
        return self._mixing.spread(reach)

    @cached_property
    def _moves(self) -> list[tuple[frozenset[int], Places]]:
        """Return what is moved at once, and which of it each reading tells of, or -1."""
        owners: list[Places] = []
        members: list[list[int]] = []
        for latent, reached in enumerate(self._reach):
            free = (i for i, owner in enumerate(owners) if (owner[reached] < 0).all())
            place = next(free, len(owners))
            if place == len(owners):
                owners.append(np.full(len(self.readings), -1))
                members.append([])
            owners[place][reached] = latent
            members[place].append(latent)
        return [(frozenset(own), owner) for own, owner in zip(members, owners, strict=True)]

    def event_latents(self) -> list[tuple[int, list[int]]]:
        """Return (batch, rows of the latents that decide its rare event) where there is one."""
        blocks = []
        for place, batch in enumerate(self.batches):
            groups = {f.group for f in batch.problem.factors if f.event}
            names = {
                latent_names(f, batch.id).get("batch", "")
                for f in batch.problem.factors
                if f.event or (f.group in groups and f.group)
            }
            rows = sorted(self._index[name] for name in names if name in self._index)
            if groups and rows:
                blocks.append((place, rows))
        return blocks


def _unreadable(reading: Reading, batch: Batch) -> Iterator[str]:
    """Yield why nothing can be learned from a reading."""
    if reading.trials:
        if not 0 <= reading.value <= reading.trials:
            yield f"cannot be {reading.value} of {reading.trials}"
        return
    if not 0 < reading.noise < math.inf:
        yield f"needs a noise above 0, not {reading.noise}"
    if not 0 <= reading.bias < math.inf:
        yield f"cannot have a bias of {reading.bias}: it is a standard uncertainty"
    if reading.scale not in ("linear", "log"):
        yield f"is read on a linear or a log scale, not on {reading.scale!r}"
    least = -math.inf if reading.scale == "linear" else 0.0
    for value in (reading.value, reading.value if reading.known is None else reading.known):
        if not least < value < math.inf:
            yield f"cannot be read as {value} on a {reading.scale} scale"
    listed = reading.known is None and bool(batch.problem.graph.axes(reading.quantity))
    if reading.known is None and listed != (reading.row is not None):
        yield "is a list; name the row that was read" if listed else "is one value, without rows"


def _on_scale(reading: Reading, value: float) -> float:
    return float(np.log(value)) if reading.scale == "log" else value


def _count_log_likelihood(reading: Reading, share: FloatArray) -> FloatArray:
    inside = np.clip(share, 1e-12, 1 - 1e-12)
    return reading.value * np.log(inside) + (reading.trials - reading.value) * np.log1p(-inside)
