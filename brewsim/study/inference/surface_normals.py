"""Normals of the surface on which the readings hold: products with slopes and their inverse."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.replicates import Flags, Places

MOST_AT_ONCE = 200_000


class Normals(Protocol):
    """One chain's slopes per row: products with them and with (I + slope slope')^-1.

    A single row serves any number of chains.
    """

    @property
    def area(self) -> FloatArray:
        """Half the log determinant of I + slope slope', (chains,)."""

    @property
    def readings(self) -> int:
        """How many readings there are."""

    def times(self, vectors: FloatArray) -> FloatArray:
        """Return slope times vectors (latents, chains): (chains, readings)."""

    def transposed(self, weights: FloatArray) -> FloatArray:
        """Return slope' times weights (chains, readings): (latents, chains)."""

    def solve(self, vectors: FloatArray, chains: Places | None = None) -> FloatArray:
        """Return (I + slope slope')^-1 times vectors (chains, readings), of some chains or all."""

    def taken(self, other: Self, where: Flags) -> Self:
        """Return this with the other's chains where told."""


class Layout(Protocol):
    """Where slopes are kept."""

    @property
    def numbers(self) -> int:
        """Numbers kept for one chain."""

    @property
    def operations(self) -> float:
        """Multiplications that the normals of one chain take."""

    def empty(self, chains: int) -> Sequence[FloatArray]:
        """Return room for the slopes of so many chains, all 0."""

    def put(self, room: Sequence[FloatArray], owner: Places, change: FloatArray) -> None:
        """Put change (readings, chains) where owner[reading] is the latent moved, -1 for none."""

    def whitened(
        self, room: Sequence[FloatArray], bend: FloatArray, power: float
    ) -> Sequence[FloatArray]:
        """Return slopes in units of the readings' errors and of their bend.

        `bend` (readings, chains) is what is left of residuals beside the slopes, `power` that of
        the likelihood.
        """

    def normals(self, room: Sequence[FloatArray]) -> Normals:
        """Return the normals of filled slopes."""


def products(slope: FloatArray) -> FloatArray:
    """Return I + slope slope' of slopes (..., readings, latents).

    In parts, so small that the linear algebra below does not share each one out to threads, which
    costs it ten times what it saves.
    """
    readings, latents = slope.shape[-2:]
    total = np.tile(np.eye(readings), (*slope.shape[:-2], 1, 1))
    width = max(1, MOST_AT_ONCE // max(1, readings) ** 2)
    for start in range(0, latents, width):
        part = slope[..., start : start + width]
        total += np.matmul(part, np.swapaxes(part, -1, -2))
    return total


def times(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    """Return matrices (..., n, m) times vectors (..., m)."""
    return np.asarray(np.matmul(matrices, vectors[..., None])[..., 0])


@dataclass(frozen=True)
class WholeNormals:
    """Slopes (chains, readings, latents) as they are, with the inverse of their products."""

    slope: FloatArray
    inverse: FloatArray
    area: FloatArray

    @property
    def readings(self) -> int:
        return self.slope.shape[1]

    def times(self, vectors: FloatArray) -> FloatArray:
        return _einsum("nij,nj->ni", self.slope, np.ascontiguousarray(vectors.T))

    def transposed(self, weights: FloatArray) -> FloatArray:
        return _einsum("nrl,nr->ln", self.slope, weights)

    def solve(self, vectors: FloatArray, chains: Places | None = None) -> FloatArray:
        inverse = self.inverse if chains is None else self.inverse[chains]
        return _einsum("nij,nj->ni", inverse, vectors)

    def taken(self, other: "WholeNormals", where: Flags) -> "WholeNormals":
        wide = where[:, None, None]
        return WholeNormals(
            np.where(wide, other.slope, self.slope),
            np.where(wide, other.inverse, self.inverse),
            np.where(where, other.area, self.area),
        )


def _einsum(form: str, left: FloatArray, right: FloatArray) -> FloatArray:
    return np.asarray(np.einsum(form, left, right))


@dataclass(frozen=True)
class WholeLayout:
    """Every reading's slope in every latent."""

    readings: int
    latents: int

    @property
    def numbers(self) -> int:
        """Numbers kept for one chain."""
        return self.readings * self.latents

    @property
    def operations(self) -> float:
        """Multiplications that the normals of one chain take."""
        return float(self.readings**2 * self.latents + 2 * self.readings**3)

    def empty(self, chains: int) -> Sequence[FloatArray]:
        return (np.zeros((chains, self.readings, self.latents)),)

    def put(self, room: Sequence[FloatArray], owner: Places, change: FloatArray) -> None:
        reached = np.flatnonzero(owner >= 0)
        room[0][:, reached, owner[reached]] = change[reached].T

    def whitened(
        self, room: Sequence[FloatArray], bend: FloatArray, power: float
    ) -> Sequence[FloatArray]:
        spread = np.cov(bend).reshape(self.readings, -1)
        root = np.linalg.cholesky(np.eye(self.readings) / power + spread)
        return (np.linalg.solve(root, room[0]),)

    def normals(self, room: Sequence[FloatArray]) -> WholeNormals:
        product = products(room[0])
        area = np.asarray(0.5 * np.linalg.slogdet(product)[1])
        return WholeNormals(room[0], np.asarray(np.linalg.inv(product), dtype=float), area)
