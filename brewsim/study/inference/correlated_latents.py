"""Latents of several batches made of independent normals: correlated ones, and scaled ones."""

from collections.abc import Mapping, Sequence

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.correlation import given_the_first
from brewsim.study.model.latents import correlated_latents, extend
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, Places
from brewsim.study.model.scatter import EVERYTHING, learned_scale, scale_of

Mixes = Mapping[str, Mapping[str, float]]
"""Latent -> weights of the independent coordinates it is made of; each has a latent's name."""


def joint_mixes(batches: Sequence[Batch]) -> dict[str, dict[str, float]]:
    """Return what the correlated latents of all batches are made of.

    A batch's latents follow from those that an earlier batch shares with it (knowledge, a named
    lot). Raises StudyError where lots met in another combination, so that their correlations
    would no longer be one table.
    """
    mixes: dict[str, dict[str, float]] = {}
    home: dict[str, tuple[str, ...]] = {}
    for batch in batches:
        for names, matrix in correlated_latents(batch.problem, batch):
            known = [name for name in names if name in mixes]
            homes = {home[name] for name in known}
            if len(homes) > 1:
                raise StudyError(
                    f"batch {batch.id}: {', '.join(names)} are correlated, but met in other "
                    "combinations before; learn without their correlation"
                )
            if len(known) < len(names):
                extend(mixes, mixes, names, matrix)
                home |= {name: tuple(names) for name in names if name not in home}
    return mixes


def tied_to(active: set[str], mixes: Mixes) -> set[str]:
    """Return every latent that shares a coordinate with an active one, and the coordinates."""
    found: set[str] = set()
    new = active & mixes.keys()
    while new:
        coordinates = {c for name in new for c in mixes[name]}
        found |= new | coordinates
        new = {n for n, mix in mixes.items() if n not in found and not coordinates.isdisjoint(mix)}
    return found


def completed(
    problem: Problem,
    batch: str | Batch,
    known: Mapping[str, FloatArray],
    rng: np.random.Generator,
    size: int,
) -> dict[str, FloatArray]:
    """Return latent -> (size,) for a batch: those known, and the others drawn as they follow."""
    latents: dict[str, FloatArray] = {}
    for names, matrix in correlated_latents(problem, batch):
        order = sorted(range(len(names)), key=lambda i: names[i] not in known)
        count = sum(name in known for name in names)
        weights, root = given_the_first(matrix[np.ix_(order, order)], count)
        given = np.array([known[names[i]] for i in order[:count]]).reshape(count, size)
        fresh = root @ rng.standard_normal((len(names) - count, size))
        rows = np.concatenate([given, weights @ given + fresh])
        latents |= {names[i]: row for i, row in zip(order, rows, strict=True)}
    for factor in problem.factors:
        for kind, name in latent_names(factor, batch).items():
            if name not in latents:
                drawn = known.get(name)
                latents[name] = rng.standard_normal(size) if drawn is None else drawn
                if drawn is None and kind == "batch":
                    scale = learned_scale(factor, known)
                    latents[name] = latents[name] if scale is None else scale * latents[name]
    return latents


class Mixing:
    """Turns independent coordinates into latents, a row each.

    Correlated ones are sums; those of kind batch are scaled by how much their factor scatters,
    where `scatters` gives the batches' latents of a factor's scatter latent.
    """

    def __init__(
        self,
        mixes: Mixes,
        index: Mapping[str, int],
        scatters: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self.scatters = [
            (index[name], np.array([index[own] for own in owns]))
            for name, owns in sorted((scatters or {}).items())
        ]
        self.everything = index.get(EVERYTHING, -1)
        tied = sorted(name for name in mixes if name in index)
        self._rows = [index[name] for name in tied]
        self._weights = np.zeros((len(tied), len(index)))
        for row, name in enumerate(tied):
            for coordinate, weight in mixes[name].items():
                self._weights[row, index[coordinate]] = weight
        self._sources = np.flatnonzero(self._weights.any(axis=0))
        self._weights = self._weights[:, self._sources]
        self.touched = frozenset([*self._rows, *(int(place) for place in self._sources)])

    def not_scatters(self, rows: Places) -> Places:
        """Return which of these rows are no latents of scatter, as places among them."""
        scatters = [self.everything, *(row for row, _ in self.scatters)]
        return np.flatnonzero(~np.isin(rows, scatters))

    def scores(self, state: FloatArray) -> FloatArray:
        """Return the latents, (latents, n); the state itself where none is tied."""
        if not self._rows and not self.scatters:
            return state
        mixed = state.copy()
        if self._rows:
            mixed[self._rows] = self._weights @ state[self._sources]
        for row, owns in self.scatters:
            mixed[owns] *= scale_of(state[self.everything], state[row])
        return mixed

    def reached(self, coordinates: frozenset[int]) -> frozenset[int]:
        """Return the latents that change with these coordinates."""
        if not self._rows and not self.scatters:
            return coordinates
        if not coordinates.isdisjoint({self.everything, *(row for row, _ in self.scatters)}):
            coordinates = coordinates.union(
                *(
                    owns.tolist()
                    for row, owns in self.scatters
                    if row in coordinates or self.everything in coordinates
                )
            )
        moved = np.isin(self._sources, list(coordinates))
        rows = np.flatnonzero((self._weights[:, moved] != 0).any(axis=1))
        return (coordinates - set(self._rows)) | {self._rows[row] for row in rows}

    def spread(self, reach: Flags) -> Flags:
        """Return what each coordinate reaches, from what each latent does, (rows, readings)."""
        if not self._rows and not self.scatters:
            return reach
        found = reach.copy()
        for row, owns in self.scatters:
            found[row] = reach[owns].any(axis=0)
            found[self.everything] |= found[row]
        found[self._rows] = False
        for row, latent in enumerate(self._rows):
            found[self._sources[self._weights[row] != 0]] |= reach[latent]
        return found
