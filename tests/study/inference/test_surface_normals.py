"""Normals in blocks are the same as the whole matrix, product by product."""

import numpy as np
import pytest

from brewsim.study.inference.block_normals import BlockLayout, layout_of
from brewsim.study.inference.surface_normals import WholeLayout, WholeNormals

CHAINS = 3


def uneven():
    """Return reach and batch of each reading: 1 to 3 readings a batch, two shared latents."""
    counts = (3, 1, 2, 3, 2)
    batch_of = np.repeat(np.arange(5), counts)
    own = [2, 4, 1, 3, 0]
    reach = np.zeros((2 + sum(own), len(batch_of)), dtype=bool)
    reach[0] = True
    reach[1, batch_of != 1] = True
    start = 2
    for batch, width in enumerate(own):
        reach[start : start + width, batch_of == batch] = True
        start += width
    return reach, batch_of


def filled(layout, slope):
    """Return the layout's normals of slopes (chains, readings, latents)."""
    room = layout.empty(CHAINS)
    for latent in range(slope.shape[2]):
        reached = (slope[:, :, latent] != 0).any(axis=0)
        layout.put(room, np.where(reached, latent, -1), slope[:, :, latent].T)
    return layout.normals(room)


@pytest.fixture
def both(monkeypatch):
    """Return normals of the same slopes, whole and in blocks, and a generator."""
    reach, batch_of = uneven()
    rng = np.random.default_rng(3)
    slope = rng.standard_normal((CHAINS, reach.shape[1], len(reach))) * reach.T * 3
    monkeypatch.setattr("brewsim.study.inference.block_normals._WORTH_BLOCKS", 0.0)
    blocks = layout_of(reach, batch_of)
    assert isinstance(blocks, BlockLayout)
    whole = WholeLayout(reach.shape[1], len(reach))
    return filled(whole, slope), filled(blocks, slope), rng


def test_blocks_give_the_products_of_the_whole_matrix(both):
    whole, blocks, rng = both
    latents, weights = rng.standard_normal((12, CHAINS)), rng.standard_normal((CHAINS, 11))

    np.testing.assert_allclose(blocks.times(latents), whole.times(latents))
    np.testing.assert_allclose(blocks.transposed(weights), whole.transposed(weights))
    np.testing.assert_allclose(blocks.solve(weights), whole.solve(weights), rtol=1e-9)
    np.testing.assert_allclose(blocks.area, whole.area)
    some = np.array([2, 0])
    np.testing.assert_allclose(blocks.solve(weights[some], some), whole.solve(weights[some], some))


def test_chains_are_taken_from_another_surface_one_by_one(both):
    _, blocks, rng = both
    other = blocks.layout.normals([2 * blocks.shared, 2 * blocks.own])
    weights = rng.standard_normal((CHAINS, 11))

    mixed = blocks.taken(other, np.array([False, True, False]))

    np.testing.assert_array_equal(mixed.solve(weights)[[0, 2]], blocks.solve(weights)[[0, 2]])
    np.testing.assert_array_equal(mixed.solve(weights)[1], other.solve(weights)[1])
    assert mixed.area[1] == other.area[1]


def test_few_readings_stay_whole_and_many_batches_go_in_blocks():
    assert isinstance(layout_of(np.ones((30, 4), bool), np.zeros(4, int)), WholeLayout)

    many = 60
    wide = np.zeros((4 + 5 * many, 4 * many), dtype=bool)
    wide[:4] = True
    owner = np.repeat(np.arange(many), 4)
    for batch in range(many):
        wide[4 + 5 * batch : 9 + 5 * batch, owner == batch] = True
    found = layout_of(wide, owner)

    assert isinstance(found, BlockLayout)
    assert list(found.shared) == [0, 1, 2, 3]
    assert found.own.shape == (many, 5)
    assert found.rows.shape == (many, 4)
    assert found.numbers == many * 4 * 9


def test_the_whole_inverse_is_that_of_the_products(both):
    whole, _, _ = both

    assert isinstance(whole, WholeNormals)
    product = np.eye(11) + whole.slope @ whole.slope.transpose(0, 2, 1)
    np.testing.assert_allclose(whole.inverse @ product, np.tile(np.eye(11), (3, 1, 1)), atol=1e-9)


def test_blocks_without_bend_are_as_narrow_as_the_whole(both):
    whole, blocks, rng = both
    bend = np.zeros((11, 40))
    room = [blocks.shared[:1], blocks.own[:1]]

    narrowed = blocks.layout.normals(blocks.layout.whitened(room, bend, 0.25))

    layout = WholeLayout(11, 12)
    same = layout.normals(layout.whitened((whole.slope[:1],), bend, 0.25))
    weights = rng.standard_normal((CHAINS, 11))
    np.testing.assert_allclose(narrowed.solve(weights), same.solve(weights), rtol=1e-9)
    np.testing.assert_allclose(narrowed.transposed(weights), same.transposed(weights))
