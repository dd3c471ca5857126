"""How likely readings and answers of several batches are, as a function of all their latents."""

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
from scipy import sparse

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.inference.batched_evaluation import Evaluated, StackPlan, stacked
from brewsim.study.inference.correlated_latents import Mixes, Mixing, joint_mixes, tied_to
from brewsim.study.inference.reading_checks import unreadable
from brewsim.study.inference.work import Work
from brewsim.study.model.batch import Answer, Batch, Reading, bias_latent, latent_names
from brewsim.study.model.replicates import Places
from brewsim.study.model.scatter import EVERYTHING, scatter_latent

_STEP = 1e-5
_WIDE_STEP = 0.05
_Judged = Callable[[Sequence[FloatArray], Mapping[str, FloatArray]], FloatArray]

LEAST_BATCHES = 8
"""Of fewer batches no scatter is learned: they say little about it."""
LEAST_LOG_LIKELIHOOD = -1e300
"""Stands for a likelihood of zero; a NaN would never end a slice."""


class Model:
    """The readings and answers of several batches as a function of all their latents.

    `names` lists the active latents: those upstream of a reading or a tasted cup, those of the
    people, and what is correlated with them; the others stay as they were whatever was read. A
    state is an array (latents, chains) of independent standard normals; `scores` turns it into the
    latents, which may be correlated. `predicted` has a row for each reading, then one for each
    cup, then one for each latent of the people.
    """

    def __init__(
        self, batches: Sequence[Batch], *, outliers: bool = False, own_scatter: bool = False
    ) -> None:
        self.batches = tuple(batches)
        self.outliers = outliers
        self.answers = tuple(answer for batch in self.batches for answer in batch.answers)
        self.by_id = {batch.id: batch for batch in self.batches}
        self._check()
        self.cups = tuple(dict.fromkeys(cup for answer in self.answers for cup in answer.cups))
        self.people = tuple(sorted({name for a in self.answers for name in a.latents}))
        mixes = joint_mixes(self.batches)
        active = self._active(mixes)
        scatters = self._scatters(active, mixes) if own_scatter else {}
        self.names = tuple(sorted(active | scatters.keys() | ({EVERYTHING} if scatters else set())))
        self.index = {name: i for i, name in enumerate(self.names)}
        self.mixing = Mixing(mixes, self.index, scatters)
        self.readings = tuple((b, r) for b in self.batches for r in b.readings)
        if not self.readings and not self.answers:
            raise StudyError("the batches hold no reading to learn from")
        if not self.names:
            told = ", ".join(sorted({r.quantity for _, r in self.readings}))
            raise StudyError(
                f"nothing uncertain lies behind any reading ({told}), so there is nothing to learn"
            )
        groups = stacked(self.batches)
        self.plans = [
            StackPlan([self.batches[i] for i in g], self.index, self._tasted_in(g)) for g in groups
        ]
        self.work = Work()
        for plan in self.plans:
            plan.work = self.work
        where = {b: (n, p) for n, group in enumerate(groups) for p, b in enumerate(group)}
        owner = [i for i, b in enumerate(self.batches) for _ in b.readings]
        self._columns = _columns(self.readings, [where[i] for i in owner])
        places = {batch.id: where[i] for i, batch in enumerate(self.batches)}
        self._cup_where = [places[name] for name, _ in self.cups]
        read = np.equal.outer(np.arange(len(self.batches)), owner)
        about = [[any(i == b.id for i, _ in a.cups) for a in self.answers] for b in self.batches]
        tasted = np.array(about, dtype=bool).reshape(len(self.batches), len(self.answers))
        self.owner = np.concatenate([read, tasted], axis=1).astype(float)
        self._sums = sparse.csr_array(self.owner)
        listed = [r for _, r in self.readings]
        self._known_rows = [i for i, r in enumerate(listed) if r.known is not None]
        self._known = np.array([listed[i].known for i in self._known_rows]).reshape(-1, 1)
        self._log = np.array([r.scale == "log" for r in listed], dtype=bool)
        self._gauss = np.array([r.trials == 0 for r in listed], dtype=bool)
        self._noise = np.array([r.noise if not r.trials else 1.0 for r in listed])[:, None]
        self._target = np.array([_on_scale(r, r.value) for r in listed])[:, None]
        self._bias = np.array([r.bias for r in listed])[:, None]
        self._biased = [self.index.get(bias_latent(r), 0) for r in listed]

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
                for why in unreadable(reading, batch):
                    raise StudyError(f"batch {batch.id}: {reading.quantity} {why}")
        for name, quantity in (cup for answer in self.answers for cup in answer.cups):
            if name not in self.by_id:
                hint = did_you_mean(name, self.by_id)
                raise StudyError(f"what was tasted is no batch: {name}.{hint}")
            self.by_id[name].problem.require([quantity])

    def _tasted_in(self, places: Sequence[int]) -> set[str]:
        """Return the quantities of these batches that were tasted."""
        ids = {self.batches[i].id for i in places}
        return {quantity for name, quantity in self.cups if name in ids}

    def _active(self, mixes: Mixes) -> set[str]:
        active = set(self.people)
        for batch in self.batches:
            read = [r.quantity for r in batch.readings if r.known is None]
            read += [quantity for name, quantity in self.cups if name == batch.id]
            upstream = batch.problem.graph.upstream(read)
            for factor in batch.problem.factors:
                if factor.quantity in upstream:
                    active.update(latent_names(factor, batch).values())
            active.update(bias_latent(r) for r in batch.readings if r.bias > 0)
        return active | tied_to(active, mixes)

    def _scatters(self, active: set[str], mixes: Mixes) -> dict[str, list[str]]:
        """Return scatter latent -> the batches' latents it scales, where there are enough."""
        found: dict[str, set[str]] = {}
        for batch in self.batches:
            for factor in batch.problem.factors:
                own = latent_names(factor, batch).get("batch", "")
                if own in active and own not in mixes and not factor.event:
                    found.setdefault(scatter_latent(factor), set()).add(own)
        return {name: sorted(owns) for name, owns in found.items() if len(owns) >= LEAST_BATCHES}

    def scores(self, state: FloatArray) -> FloatArray:
        """Return the latents of a state, (latents, n); the state itself where none is tied."""
        return self.mixing.scores(state)

    def predicted(self, state: FloatArray) -> FloatArray:
        """Return each reading's predicted value on its own scale, bias included: (readings, n).

        Below them each cup's value and the people's latents, as they are.
        """
        scores = self.scores(state)
        return self.read([plan.evaluate(scores) for plan in self.plans], scores)

    def read(self, values: Sequence[Evaluated], state: FloatArray) -> FloatArray:
        """Return the rows of `predicted` from evaluated quantities and the latents' scores."""
        chains = state.shape[1]
        self.work.formulas(10 + len(self._columns), len(self.names) * chains)
        table = np.empty((len(self.readings), chains))
        for (stack, quantity, row), (rows, places) in self._columns.items():
            table[rows] = self.plans[stack].pick(values[stack], quantity, row, places, chains)
        table[self._known_rows] = self._known
        with np.errstate(all="ignore"):
            table[self._log] = np.log(table[self._log])
        if self._bias.any():
            table += self._bias * state[self._biased]
        if not self.answers:
            return table
        cups = [
            self.plans[stack].pick(values[stack], quantity, None, np.array([place]), chains)[0]
            for (stack, place), (_, quantity) in zip(self._cup_where, self.cups, strict=True)
        ]
        people = state[[self.index[name] for name in self.people]]
        return np.concatenate([table, np.stack(cups), people])

    def residuals(self, state: FloatArray) -> FloatArray:
        """Return (predicted - read) / noise, (readings, n); counts by an arcsine; then answers."""
        return self.residuals_of(self.predicted(state))

    def residuals_of(self, predicted: FloatArray) -> FloatArray:
        """Return the residuals of predicted rows."""
        residual = (predicted[: len(self.readings)] - self._target) / self._noise
        for i in np.flatnonzero(~self._gauss):
            trials = self.readings[i][1].trials
            share = np.clip(predicted[i], 1e-9, 1 - 1e-9)
            read = np.arcsin(np.sqrt(self._target[i, 0] / trials))
            residual[i] = 2 * (np.arcsin(np.sqrt(share)) - read) * np.sqrt(trials)
        return self._with_answers(residual, predicted, lambda answer: answer.row)

    def _with_answers(
        self, rows: FloatArray, predicted: FloatArray, what: Callable[[Answer], _Judged]
    ) -> FloatArray:
        """Return the readings' rows and, below them, one of every answer."""
        if not self.answers:
            return rows
        found = np.empty((len(self.answers), predicted.shape[1]))
        with np.errstate(all="ignore"):
            for i, (answer, ys, scores) in enumerate(self.tasted(predicted)):
                found[i] = what(answer)(ys, scores)
        return np.concatenate([rows, found])

    def tasted(
        self, predicted: FloatArray
    ) -> Iterator[tuple[Answer, list[FloatArray], dict[str, FloatArray]]]:
        """Yield every answer with its cups' values, (n,) each, and the people's scores."""
        below = predicted[len(self.readings) :]
        cups = dict(zip(self.cups, below, strict=False))
        scores = dict(zip(self.people, below[len(self.cups) :], strict=True))
        for answer in self.answers:
            yield answer, [cups[cup] for cup in answer.cups], scores

    def _terms(self, predicted: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            square = ((predicted[: len(self.readings)] - self._target) / self._noise) ** 2
            terms = -2.5 * np.log1p(square / 4) if self.outliers else -0.5 * square
            for i in np.flatnonzero(~self._gauss):
                terms[i] = _count_log_likelihood(self.readings[i][1], predicted[i])
        return self._with_answers(terms, predicted, lambda answer: answer.log)

    def log_likelihood(self, state: FloatArray) -> FloatArray:
        """Return the log likelihood of all readings, (n,); not finite counts as impossible."""
        return self.level_of(self.predicted(state))

    def level_of(self, predicted: FloatArray) -> FloatArray:
        """Return the log likelihood of predicted rows, (n,)."""
        total = self._terms(predicted).sum(axis=0)
        return np.where(np.isfinite(total), total, LEAST_LOG_LIKELIHOOD)

    def by_batch(self, state: FloatArray) -> FloatArray:
        """Return the log likelihood of what is known of each batch, (batches, n).

        An answer counts for every batch that it is about.
        """
        return self.by_batch_of(self.predicted(state))

    def by_batch_of(self, predicted: FloatArray) -> FloatArray:
        """Return the log likelihood of predicted rows, (batches, n)."""
        terms = self._terms(predicted)
        terms = np.where(np.isfinite(terms), terms, LEAST_LOG_LIKELIHOOD)
        return np.maximum(self._sums @ terms, LEAST_LOG_LIKELIHOOD)

    @property
    def tied(self) -> bool:
        """Whether something known depends on several batches' own latents at once."""
        shared = any(batch.split_of for batch in self.batches)
        return shared or any(len({name for name, _ in a.cups}) > 1 for a in self.answers)

    def event_latents(self) -> list[tuple[int, list[int]]]:
        """Return (batch, rows of the latents that decide its rare event) where there is one."""
        blocks: list[tuple[int, list[int]]] = []
        for place, batch in enumerate(self.batches):
            groups = {f.group for f in batch.problem.factors if f.event}
            names = {
                latent_names(f, batch).get("batch", "")
                for f in batch.problem.factors
                if f.event or (f.group in groups and f.group)
            }
            rows = sorted(self.index[name] for name in names if name in self.index)
            if groups and rows and all(rows != others for _, others in blocks):
                blocks.append((place, rows))
        return blocks


def _columns(
    readings: Sequence[tuple[Batch, Reading]], where: Sequence[tuple[int, int]]
) -> dict[tuple[int, str, int | None], tuple[Places, Places]]:
    """Return the readings, and their batches' places, by stack, quantity and row."""
    found: dict[tuple[int, str, int | None], list[tuple[int, int]]] = {}
    for i, ((_, reading), (stack, place)) in enumerate(zip(readings, where, strict=True)):
        if reading.known is None:
            key = (stack, reading.quantity, reading.row)
            found.setdefault(key, []).append((i, place))
    columns = {key: np.array(pairs).T for key, pairs in found.items()}
    return {key: (rows, places) for key, (rows, places) in columns.items()}


def _on_scale(reading: Reading, value: float) -> float:
    return float(np.log(value)) if reading.scale == "log" else value


def _count_log_likelihood(reading: Reading, share: FloatArray) -> FloatArray:
    inside = np.clip(share, 1e-12, 1 - 1e-12)
    return reading.value * np.log(inside) + (reading.trials - reading.value) * np.log1p(-inside)
