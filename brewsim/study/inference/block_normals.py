"""Normals of the surface on which the readings hold, in blocks by batch.

A reading's slope touches the latents that batches share and those of its own batch, no others. In
blocks, the matrix I + slope slope' is a block diagonal by batch plus a product as narrow as the
shared latents: its inverse and its determinant follow from the blocks, at a cost that is linear
in batches. Source: matrix determinant lemma and Woodbury identity (Hager 1989, Updating the
inverse of a matrix, SIAM Review 31, 221).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.surface_normals import (
    MOST_AT_ONCE,
    Layout,
    WholeLayout,
    products,
    times,
)
from brewsim.study.model.replicates import Flags, Places

_WORTH_BLOCKS = 2.0


@dataclass(frozen=True)
class BlockLayout:
    """Each reading's slope in the shared latents and in those of its own batch.

    `shared` are the latents that readings of several batches depend on; `own` (batches, most) are
    the others, `rows` (batches, most) the readings, both filled up with one past the last.
    """

    readings: int
    latents: int
    shared: Places
    own: Places
    rows: Places

    @property
    def numbers(self) -> int:
        """Numbers kept for one chain."""
        return self.rows.size * (len(self.shared) + self.own.shape[1])

    @property
    def operations(self) -> float:
        """Multiplications that the normals of one chain take."""
        batches, most = self.rows.shape
        blocks = batches * (most**2 * self.own.shape[1] + 2 * most**3)
        return float(blocks + self.rows.size * len(self.shared) ** 2 + 2 * len(self.shared) ** 3)

    def empty(self, chains: int) -> Sequence[FloatArray]:
        batches, most = self.rows.shape
        return (
            np.zeros((chains, batches, most, len(self.shared))),
            np.zeros((chains, batches, most, self.own.shape[1])),
        )

    def put(self, room: Sequence[FloatArray], owner: Places, change: FloatArray) -> None:
        places = self._places
        reached = np.flatnonzero(owner >= 0)
        for part, (column, belongs) in zip(room, self._columns, strict=True):
            some = reached[belongs[owner[reached]]]
            batch, row = places[:, some]
            part[:, batch, row, column[owner[some]]] = change[some].T

    def whitened(
        self, room: Sequence[FloatArray], bend: FloatArray, power: float
    ) -> Sequence[FloatArray]:
        spread = self.blocks(bend.T).transpose(1, 2, 0)
        spread = spread - spread.mean(axis=2, keepdims=True)
        square = np.matmul(spread, spread.transpose(0, 2, 1)) / (bend.shape[1] - 1)
        root = np.linalg.cholesky(np.eye(self.rows.shape[1]) / power + square)
        return [np.asarray(np.linalg.solve(root, part), dtype=float) for part in room]

    def blocks(self, vectors: FloatArray) -> FloatArray:
        """Return (chains, readings) as (chains, batches, most), 0 where there is no reading."""
        padded = np.concatenate([vectors, np.zeros((len(vectors), 1))], axis=1)
        return padded[:, self.rows]

    @property
    def _places(self) -> Places:
        """Return batch and row of every reading, (2, readings)."""
        batch, row = np.nonzero(self.rows < self.readings)
        found = np.empty((2, self.readings), dtype=int)
        found[:, self.rows[batch, row]] = batch, row
        return found

    @property
    def _columns(self) -> tuple[tuple[Places, Flags], tuple[Places, Flags]]:
        """Return every latent's column, and whether it is there: among shared, among own."""
        column, inside = np.zeros((2, self.latents), int), np.zeros((2, self.latents), bool)
        column[0, self.shared], inside[0, self.shared] = np.arange(len(self.shared)), True
        batch, place = np.nonzero(self.own < self.latents)
        column[1, self.own[batch, place]], inside[1, self.own[batch, place]] = place, True
        return (column[0], inside[0]), (column[1], inside[1])

    def normals(self, room: Sequence[FloatArray]) -> "BlockNormals":
        shared, own = room
        block = products(own)
        inverse = np.asarray(np.linalg.inv(block), dtype=float)
        chains, batches, most, width = shared.shape
        leaned = np.matmul(inverse, shared)
        flat = (chains, batches * most, width)
        middle = np.tile(np.eye(width), (chains, 1, 1))
        step = max(1, MOST_AT_ONCE // max(1, width) ** 2)
        for start in range(0, batches * most, step):
            part = shared.reshape(flat)[:, start : start + step]
            middle += np.matmul(
                part.transpose(0, 2, 1), leaned.reshape(flat)[:, start : start + step]
            )
        area = 0.5 * (np.linalg.slogdet(block)[1].sum(axis=1) + np.linalg.slogdet(middle)[1])
        centre = np.asarray(np.linalg.inv(middle), dtype=float)
        return BlockNormals(self, shared, own, inverse, leaned, centre, np.asarray(area))


def _pulled(blocks: FloatArray, shared: FloatArray) -> FloatArray:
    """Return the sum over readings of blocks (chains, b, r) times (chains, b, r, shared)."""
    flat = (shared.shape[1] * shared.shape[2],)
    rows = blocks.reshape(len(blocks), 1, *flat)
    return np.asarray(np.matmul(rows, shared.reshape(len(shared), *flat, shared.shape[3]))[:, 0])


@dataclass(frozen=True)
class BlockNormals:
    """Slopes in blocks: shared and own, the inverse of each batch's block, and what joins them."""

    layout: BlockLayout
    shared: FloatArray
    own: FloatArray
    inverse: FloatArray
    leaned: FloatArray
    centre: FloatArray
    area: FloatArray

    @property
    def readings(self) -> int:
        return self.layout.readings

    def times(self, vectors: FloatArray) -> FloatArray:
        padded = np.concatenate([vectors, np.zeros((1, vectors.shape[1]))])
        own = times(self.own, padded[self.layout.own].transpose(2, 0, 1))
        common = vectors[self.layout.shared].T[:, None]
        return self._gathered(own + times(self.shared, common))

    def transposed(self, weights: FloatArray) -> FloatArray:
        blocks = self.layout.blocks(weights)
        found = np.zeros((self.layout.latents + 1, len(weights)))
        own = np.matmul(blocks[..., None, :], self.own)[..., 0, :]
        found[self.layout.own] = own.transpose(1, 2, 0)
        found[self.layout.shared] = _pulled(blocks, self.shared).T
        return found[:-1]

    def solve(self, vectors: FloatArray, chains: Places | None = None) -> FloatArray:
        pick = slice(None) if chains is None else chains
        blocks = self.layout.blocks(vectors)
        leaned = self.leaned[pick]
        weights = times(self.centre[pick], _pulled(blocks, leaned))
        back = times(leaned, weights[:, None])
        return self._gathered(times(self.inverse[pick], blocks) - back)

    def taken(self, other: "BlockNormals", where: Flags) -> "BlockNormals":
        def mixed(mine: FloatArray, theirs: FloatArray) -> FloatArray:
            return np.where(where.reshape(-1, *(1,) * (mine.ndim - 1)), theirs, mine)

        return BlockNormals(
            self.layout,
            mixed(self.shared, other.shared),
            mixed(self.own, other.own),
            mixed(self.inverse, other.inverse),
            mixed(self.leaned, other.leaned),
            mixed(self.centre, other.centre),
            mixed(self.area, other.area),
        )

    def _gathered(self, blocks: FloatArray) -> FloatArray:
        found = np.empty((len(blocks), self.layout.readings + 1))
        found[:, self.layout.rows] = blocks
        return found[:, :-1]


def layout_of(reach: Flags, batch_of: Places, *, in_blocks: bool = False) -> Layout:
    """Return the cheaper layout for these slopes, or blocks where asked for.

    `reach` (latents, readings) tells which latents reach which readings, `batch_of` (readings,)
    the batch of each reading.
    """
    latents, readings = reach.shape
    batches = int(batch_of.max()) + 1
    seen = np.stack([reach[:, batch_of == b].any(axis=1) for b in range(batches)], axis=1)
    shared = np.flatnonzero(seen.sum(axis=1) > 1)
    alone = seen & (seen.sum(axis=1) == 1)[:, None]
    own = _filled([np.flatnonzero(alone[:, b]) for b in range(batches)], latents)
    rows = _filled([np.flatnonzero(batch_of == b) for b in range(batches)], readings)
    whole = readings**2 * latents + readings**3
    most = rows.shape[1]
    blocks = batches * (most**2 * own.shape[1] + most**3)
    blocks += rows.size * len(shared) ** 2 + len(shared) ** 3
    if (whole <= _WORTH_BLOCKS * blocks and not in_blocks) or not own.size:
        return WholeLayout(readings, latents)
    return BlockLayout(readings, latents, shared, own, rows)


def _filled(lists: Sequence[Places], blank: int) -> Places:
    most = max(len(one) for one in lists)
    found = np.full((len(lists), most), blank)
    for row, one in zip(found, lists, strict=True):
        row[: len(one)] = one
    return found
