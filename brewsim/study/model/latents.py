"""Latents: the independent standard normals behind the factors, split by kind where asked.

A factor's score is z = sum of sqrt(share) z_kind; correlations belong to one kind (Cholesky);
after learning, knowledge and named lots come from posterior draws that one coordinate picks.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, cast

import numpy as np
from scipy.special import ndtr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.correlation import given_the_first
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Places
from brewsim.study.model.scatter import learned_scale

PICK = "@learned"
"""Id of the coordinate that picks a posterior draw."""

_NEXT_BATCH = "next"


class Learned(Protocol):
    """Posterior draws: latent id -> (m,) normal scores, and the replicate each draw belongs to."""

    @property
    def draws(self) -> Mapping[str, FloatArray]:
        """Latent id -> normal scores, one per draw."""

    @property
    def replicate(self) -> Places:
        """Replicate number of each draw."""


@dataclass(frozen=True)
class Latents:
    """How coordinates become factor scores.

    `ids` are the coordinates in order (sorted); `kinds` tells the kind of each ("" when it stands
    for all kinds of its factor, "knowledge" for the picked draws); `terms` lists for every factor
    its (coordinate, weight) pairs; `drawn` holds, for a factor that learned something, its part
    from each posterior draw, else None; `groups` lists the posterior draws of each replicate;
    `scaled` holds, for a factor whose scatter was learned, what its terms of kind batch are
    multiplied by in each posterior draw, else None.
    """

    ids: tuple[str, ...]
    kinds: tuple[str, ...]
    terms: tuple[tuple[tuple[int, float], ...], ...]
    drawn: tuple[FloatArray | None, ...]
    groups: tuple[Places, ...] = ()
    scaled: tuple[FloatArray | None, ...] = ()

    def learned(self, factor: int) -> bool:
        """Whether a posterior draw is part of a factor's score."""
        return self.drawn[factor] is not None or self._scale(factor) is not None

    def _scale(self, factor: int) -> FloatArray | None:
        return self.scaled[factor] if self.scaled else None

    def middle_scales(self) -> tuple[FloatArray | None, ...]:
        """Return `scaled` with its root mean square in every draw."""
        return tuple(
            None if part is None else np.full(part.shape, np.sqrt(np.mean(part**2)))
            for part in self.scaled
        )

    def weight(self, factor: int, place: int, chosen: Places | None) -> FloatArray | float:
        """Return what a coordinate of a factor is multiplied by beside its weight: 1, or (n,).

        Without the posterior draws `chosen`, its root mean square.
        """
        scale = self._scale(factor)
        if scale is None or self.kinds[place] != "batch":
            return 1.0
        return float(np.sqrt(np.mean(scale**2))) if chosen is None else scale[chosen]

    @property
    def pick(self) -> int | None:
        """Place of the coordinate that picks a posterior draw, or None."""
        return self.ids.index(PICK) if PICK in self.ids else None

    def coordinates(self, factor: int) -> frozenset[int]:
        """Return the coordinates a factor's score depends on."""
        own = frozenset(place for place, _ in self.terms[factor])
        pick = self.pick
        return own if not self.learned(factor) or pick is None else own | {pick}

    def rows(
        self, normals: FloatArray, replicate: int, which: list[int] | None = None
    ) -> list[FloatArray]:
        """Return each factor's score from coordinates (coordinates, n), a row per factor.

        Factors that are not in `which` get an empty row.
        """
        chosen = self.chosen(normals, replicate)
        wanted = set(range(len(self.terms)) if which is None else which)
        nothing = np.empty(0)
        return [
            self._row(normals, factor, chosen) if factor in wanted else nothing
            for factor in range(len(self.terms))
        ]

    def part(
        self, normals: FloatArray, replicate: int, factor: int, kinds: frozenset[str]
    ) -> FloatArray:
        """Return the part of a factor's score that some kinds make, (n,), not scaled up.

        Posterior draws count as knowledge.
        """
        chosen = self.chosen(normals, replicate)
        drawn = self.drawn[factor] if "knowledge" in kinds else None
        total = np.zeros(normals.shape[1]) if drawn is None else drawn[chosen]
        for place, weight in self.terms[factor]:
            if self.kinds[place] in kinds:
                total = total + weight * self.weight(factor, place, chosen) * normals[place]
        return total

    def _row(self, normals: FloatArray, factor: int, chosen: Places | None) -> FloatArray:
        terms, drawn = self.terms[factor], self.drawn[factor]
        if not self.learned(factor) and len(terms) == 1 and terms[0][1] == 1.0:
            return normals[terms[0][0]]
        total = np.zeros(normals.shape[1]) if drawn is None else drawn[chosen]
        for place, weight in terms:
            total = total + weight * self.weight(factor, place, chosen) * normals[place]
        return total

    def chosen(self, normals: FloatArray, replicate: int) -> Places | None:
        """Return the posterior draw behind each sample, (n,), or None where nothing was learned."""
        if self.pick is None:
            return None
        group = self.groups[replicate % len(self.groups)]
        place = (ndtr(normals[self.pick]) * len(group)).astype(np.intp)
        return group[np.minimum(place, len(group) - 1)]


def latents(problem: Problem, *, by_kind: bool = False) -> Latents:
    """Return the problem's latents: one per factor, or one per (factor, kind) where needed.

    A factor is split by kind when asked, when it is correlated, or when part of it was learned.
    """
    learned = cast("Learned | None", problem.learned)
    draws: Mapping[str, FloatArray] = learned.draws if learned is not None else {}
    tied = {i for correlation in problem.correlations for i in correlation.ids}
    names = [
        latent_names(factor, _NEXT_BATCH)
        if by_kind or factor.id in tied or _knows(factor, draws)
        else {"": factor.id}
        for factor in problem.factors
    ]
    mixes = _mixes(problem, draws)
    ids = {n: kind for own in names for kind, n in own.items() if n not in draws}
    drawn = tuple(
        _drawn(f, own, draws, mixes) for f, own in zip(problem.factors, names, strict=True)
    )
    scaled = tuple(learned_scale(factor, draws) for factor in problem.factors)
    if any(part is not None for part in (*drawn, *scaled)):
        ids[PICK] = "knowledge"
    order = sorted(ids)
    place = {name: i for i, name in enumerate(order)}
    terms = tuple(_terms(f, n, place, mixes) for f, n in zip(problem.factors, names, strict=True))
    groups: tuple[Places, ...] = ()
    if learned is not None:
        numbers = np.asarray(learned.replicate)
        groups = tuple(np.flatnonzero(numbers == r) for r in np.unique(numbers))
    return Latents(tuple(order), tuple(ids[name] for name in order), terms, drawn, groups, scaled)


def _knows(factor: Factor, draws: Mapping[str, FloatArray]) -> bool:
    known = any(name in draws for name in latent_names(factor, _NEXT_BATCH).values())
    return known or learned_scale(factor, draws) is not None


def _weight(factor: Factor, kind: str) -> float:
    return float(np.sqrt(dict(factor.kinds.items())[kind])) if kind else 1.0


def _terms(
    factor: Factor,
    names: Mapping[str, str],
    place: Mapping[str, int],
    mixes: Mapping[str, Mapping[str, float]],
) -> tuple[tuple[int, float], ...]:
    total: dict[int, float] = {}
    for kind, name in names.items():
        for source, share in mixes.get(name, {name: 1.0}).items():
            if source in place and share != 0.0:
                i = place[source]
                total[i] = total.get(i, 0.0) + _weight(factor, kind) * share
    return tuple(sorted(total.items()))


def _drawn(
    factor: Factor,
    names: Mapping[str, str],
    draws: Mapping[str, FloatArray],
    mixes: Mapping[str, Mapping[str, float]],
) -> FloatArray | None:
    parts = [
        _weight(factor, kind) * share * np.asarray(draws[source], dtype=float)
        for kind, name in names.items()
        for source, share in mixes.get(name, {name: 1.0}).items()
        if source in draws and share != 0.0
    ]
    return np.sum(parts, axis=0) if parts else None


def _mixes(problem: Problem, draws: Mapping[str, FloatArray]) -> dict[str, dict[str, float]]:
    """Return latent -> what it is mixed from, for the correlated latents.

    The learned members of a block come first: they are as drawn, and the others follow from them
    by the Gaussian conditional.
    """
    mixes: dict[str, dict[str, float]] = {}
    for names, matrix in correlated_latents(problem, _NEXT_BATCH):
        if not mixes.keys().isdisjoint(names):
            raise StudyError(f"{', '.join(names)}: a lot is in two correlations: state one")
        known = [name for name in names if name in draws]
        extend(mixes, {name: {name: 1.0} for name in known}, names, matrix)
    return mixes


def correlated_latents(problem: Problem, batch: str | Batch) -> list[tuple[list[str], FloatArray]]:
    """Return the correlated latents of a batch: names, and the table of their correlations."""
    found = []
    for correlation in problem.correlations:
        names = [latent_names(problem.factor(i), batch)[correlation.kind] for i in correlation.ids]
        if len(set(names)) < len(names):
            raise StudyError(f"{', '.join(names)}: one lot cannot be correlated with itself")
        found.append((names, np.array(correlation.matrix, dtype=float)))
    return found


def extend(
    mixes: dict[str, dict[str, float]],
    known: Mapping[str, Mapping[str, float]],
    names: Sequence[str],
    matrix: FloatArray,
) -> None:
    """Add to `mixes` what the latents of a block are made of, those known coming first.

    `known` tells what some of them are made of; each of the others adds a coordinate of its own
    name.
    """
    order = sorted(range(len(names)), key=lambda i: (names[i] not in known, names[i]))
    sources = [names[i] for i in order]
    count = sum(name in known for name in names)
    weights, root = given_the_first(matrix[np.ix_(order, order)], count)
    mixes.update({name: dict(known[name]) for name in sources[:count]})
    for name, from_known, own in zip(sources[count:], weights, root, strict=True):
        mix: dict[str, float] = {}
        for source, weight in zip(sources[:count], from_known, strict=True):
            for coordinate, share in known[source].items():
                mix[coordinate] = mix.get(coordinate, 0.0) + float(weight) * share
        for source, weight in zip(sources[count:], own, strict=True):
            mix[source] = mix.get(source, 0.0) + float(weight)
        mixes[name] = mix
