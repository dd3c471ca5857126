"""Common draws: several problems, or one at many settings, judged on the same random numbers."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.build import Node
from brewsim.graph.evaluate import evaluate, run
from brewsim.study.model import targets
from brewsim.study.model.latents import Latents, latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Places
from brewsim.study.model.sampling import Assembly, Plan, scores

Settings = Mapping[str, float | str]
_BASES_KEPT = 32
_TOGETHER = 8_192
"""Columns evaluated together where one problem is asked for at many settings."""
_KEPT_NUMBERS = 2**22
"""Draws of so many numbers (32 MiB) are kept for the next study that wants the same."""


def _normals(ids: tuple[str, ...], plan: Plan) -> list[FloatArray]:
    """Return every replicate's normals, (ids, rows), not to be written to."""
    drawn = [scores(ids, plan, replicate) for replicate in range(plan.replicates)]
    for normals in drawn:
        normals.flags.writeable = False
    return drawn


def _anew(name: str, time: int) -> str:
    return f"{name} again" if time == 1 else f"{name} again {time}"


_kept_normals = lru_cache(maxsize=4)(_normals)
"""One page asks for the same draws ten times."""


class CommonDraws:
    """Scrambled Sobol' normals by latent id, the same for every problem that has the latent.

    `held` names kinds whose latents stay at their middle: {"knowledge"} gives the most likely
    truth instead of whatever may be true. `fresh` names kinds that each of so many further
    `brews` draws anew. Draws are (latents, replicates x rows).
    """

    def __init__(
        self,
        problems: Sequence[Problem],
        plan: Plan,
        *,
        by_kind: bool = False,
        held: frozenset[str] = frozenset(),
        fresh: frozenset[str] = frozenset(),
        brews: int = 1,
    ) -> None:
        self.plan, self.held = plan, held
        self.by_kind = by_kind or bool(held) or bool(fresh)
        ids = sorted({i for p in problems for i in latents(p, by_kind=self.by_kind).ids})
        self._place = {name: i for i, name in enumerate(ids)}
        times = range(1, brews + 1) if fresh else ()
        wanted = [*ids, *(_anew(name, time) for time in times for name in ids)]
        small = plan.draws * len(wanted) <= _KEPT_NUMBERS
        self._normals = (_kept_normals if small else _normals)(tuple(wanted), plan)
        self._count, self._fresh = len(ids), fresh

    @property
    def size(self) -> int:
        """Number of draws."""
        return self.plan.draws

    def factor_rows(self, problem: Problem, *, again: int = 0) -> list[FloatArray]:
        """Return each factor's scores, (size,), in the problem's order of factors.

        In the brew number `again`, the kinds named as fresh are drawn anew and the others are the
        same.
        """
        found = self._held(latents(problem, by_kind=self.by_kind))
        parts = [
            found.rows(self._coordinates(found, normals, again=again), replicate)
            for replicate, normals in enumerate(self._normals)
        ]
        return [np.concatenate(pieces) for pieces in zip(*parts, strict=True)]

    def picked(self, problem: Problem) -> Places | None:
        """Return the posterior draw behind each sample, (size,), None where nothing was learned."""
        found = latents(problem, by_kind=self.by_kind)
        parts = [
            found.chosen(self._coordinates(found, normals, again=0), replicate)
            for replicate, normals in enumerate(self._normals)
        ]
        known = [part for part in parts if part is not None]
        return np.concatenate(known) if known else None

    def _coordinates(self, found: Latents, normals: FloatArray, *, again: int) -> FloatArray:
        if not found.ids:
            return np.empty((0, self.plan.rows))
        pairs = zip(found.ids, found.kinds, strict=True)
        return np.stack([self._coordinate(normals, n, kind, again=again) for n, kind in pairs])

    def _coordinate(self, normals: FloatArray, name: str, kind: str, *, again: int) -> FloatArray:
        if kind in self.held:
            return np.zeros(self.plan.rows)
        if again and kind in self._fresh:
            return normals[again * self._count + self._place[name]]
        return normals[self._place[name]]

    def _held(self, found: Latents) -> Latents:
        if "knowledge" not in self.held:
            return found
        middle = tuple(
            None if part is None else np.full(part.shape, part.mean()) for part in found.drawn
        )
        return replace(found, drawn=middle, scaled=found.middle_scales())


class Evaluator:
    """One problem on common draws; a change of settings recomputes only what it reaches."""

    def __init__(
        self,
        problem: Problem,
        draws: CommonDraws,
        outcomes: Iterable[str],
        *,
        again: int = 0,
    ) -> None:
        self.problem = problem
        self.outcomes = tuple(outcomes)
        problem.require(self.outcomes)
        self.graph = problem.graph.pruned(self.outcomes)
        self._rows = draws.factor_rows(problem, again=again)
        self.size = draws.size
        inputs = Assembly(problem, self.graph.inputs).values(self._rows)
        self._now = _Base(problem, evaluate(self.graph, inputs))
        self._chosen: dict[tuple[tuple[str, str], ...], _Base] = {(): self._now}
        self._reached: dict[frozenset[str], tuple[Node, ...]] = {}
        self._drawn = {factor.quantity for factor in problem.factors}

    def at(self, settings: Settings | None = None) -> dict[str, FloatArray]:
        """Return outcome -> (size,) at the settings; without settings, as the problem stands."""
        choices = {k: v for k, v in (settings or {}).items() if isinstance(v, str)}
        dials = {k: v for k, v in (settings or {}).items() if not isinstance(v, str)}
        base = self._base(choices)
        values = self._moved(base, dials) if dials else base.values
        return {name: self._flat(values[name], name) for name in self.outcomes}

    def at_each(self, settings: Sequence[Settings]) -> list[dict[str, FloatArray]]:
        """Return the same at each of several settings, evaluated some at a time.

        Short arrays cost as much to begin with as to compute. Every number is that of `at`.
        """
        found: list[dict[str, FloatArray]] = []
        together = max(1, _TOGETHER // self.size)
        for key, same in groupby(settings, _choices):
            every = list(same)
            for start in range(0, len(every), together):
                found += self._at_some(self._base(dict(key)), every[start : start + together])
        return found

    def _at_some(
        self, base: "_Base", settings: Sequence[Settings]
    ) -> Iterator[dict[str, FloatArray]]:
        dials = [{k: v for k, v in one.items() if not isinstance(v, str)} for one in settings]
        moved = [base.problem.set(one) for one in dials]
        changed = frozenset().union(*(self._changed(base.problem, one) for one in moved))
        parts = [self._inputs(one, changed) for one in moved]
        count = len(settings)
        values = {name: self._side_by_side([part[name] for part in parts]) for name in changed}
        nodes = self._downstream(changed)
        made = {node.name for node in nodes}
        for need in {need for node in nodes for need in node.needs} - made - changed:
            own = base.values[need]
            drawn = own.ndim == len(self.graph.axes(need)) + 1 and own.shape[-1] > 1
            values[need] = np.tile(own, count) if drawn else own  # a list's index has no samples
        values = run(nodes, values)
        table = {
            name: self._side_by_side([self._flat(base.values[name], name)] * count)
            if name not in values
            else np.broadcast_to(self._one_value(values[name], name), (count * self.size,))
            for name in self.outcomes
        }
        for place in range(count):
            own_rows = slice(place * self.size, (place + 1) * self.size)
            yield {name: row[own_rows] for name, row in table.items()}

    def _side_by_side(self, arrays: Sequence[FloatArray]) -> FloatArray:
        """Return arrays of one setting each as the columns of one."""
        full = [np.broadcast_to(a, (*a.shape[:-1], self.size)) for a in arrays]
        return np.concatenate(full, axis=-1)

    def _base(self, choices: dict[str, str]) -> "_Base":
        """Return the values with some choices made; kept, since dials are turned on top."""
        key = tuple(sorted(choices.items()))
        if key not in self._chosen:
            if len(self._chosen) > _BASES_KEPT:
                self._chosen = {(): self._now}
            self._chosen[key] = _Base(
                self.problem.set(choices), self._moved(self._now, choices, redrawn=True)
            )
        return self._chosen[key]

    def _moved(
        self, base: "_Base", settings: Settings, *, redrawn: bool = False
    ) -> dict[str, FloatArray]:
        moved = base.problem.set(settings)
        changed = self._changed(base.problem, moved)
        if redrawn:
            changed |= self._redistributed(base.problem, moved)
        inputs = self._inputs(moved, changed)
        return run(self._downstream(frozenset(changed)), {**base.values, **inputs})

    def _changed(self, before: Problem, after: Problem) -> set[str]:
        return {
            name
            for name, array in after.fixed.items()
            if array is not before.fixed[name] and name in self.graph.inputs
        }

    def _inputs(self, moved: Problem, changed: AbstractSet[str]) -> dict[str, FloatArray]:
        inputs = {name: moved.fixed[name] for name in changed if name in moved.fixed}
        drawn = changed & self._drawn
        if drawn:
            inputs |= Assembly(moved, drawn).values(self._rows)
        return inputs

    def _downstream(self, changed: frozenset[str]) -> tuple[Node, ...]:
        if changed not in self._reached:
            self._reached[changed] = self.graph.downstream(changed)
        return self._reached[changed]

    def _redistributed(self, before: Problem, after: Problem) -> set[str]:
        return {
            new.quantity
            for old, new in zip(before.factors, after.factors, strict=True)
            if new.distribution is not old.distribution and new.quantity in self.graph
        }

    def _flat(self, value: FloatArray, name: str) -> FloatArray:
        return np.broadcast_to(self._one_value(value, name), (self.size,))

    def _one_value(self, value: FloatArray, name: str) -> FloatArray:
        if value.ndim != 1:
            raise StudyError(f"{name} is a list; a study needs one value per batch")
        return value.astype(float, copy=False)


def _choices(settings: Settings) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((k, v) for k, v in settings.items() if isinstance(v, str)))


@dataclass(frozen=True)
class _Base:
    """A problem with its choices made, and every value of it."""

    problem: Problem
    values: dict[str, FloatArray]


def lands(values: Mapping[str, FloatArray], problem: Problem) -> FloatArray:
    """Return 1.0 for every draw that keeps to all targets, else 0.0; not finite does not."""
    good = np.ones(len(next(iter(values.values()))), dtype=bool)
    for name, target in problem.targets.items():
        good &= targets.lands(values[name], target)
    return good.astype(float)
