"""Long logs, moved batch by batch: exact draws stay exact, and own-model logs are covered."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import normal
from brewsim.study.inference import likelihood
from brewsim.study.inference.batch_by_batch import BatchByBatch
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.followed_latents import FollowedLatents
from brewsim.study.inference.interweaving import Interweaving
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem

pytestmark = pytest.mark.slow

CHAINS = 2048


def total(a, b):
    return a + b


def difference(a, b):
    return a - 2 * b


def straight(count):
    """Return batches of a linear model whose posterior is a normal known in closed form."""
    problem = Problem.of([total, difference], {"a": normal(1.0, 0.5), "b": normal(2.0, 0.8)})
    kinds = {"a": Kinds(0.6, 0.0, 0.4), "b": Kinds(0.9, 0.0, 0.1)}
    factors = tuple(replace(factor, kinds=kinds[factor.id]) for factor in problem.factors)
    problem = replace(problem, factors=factors)
    rng = np.random.default_rng(1)
    return [
        Batch(
            f"b{i}",
            problem,
            (
                Reading("total", 3.2 + rng.normal(0, 0.6), 0.05, "scale", 0.1),
                Reading("difference", -3.0 + rng.normal(0, 0.8), 0.3),
            ),
        )
        for i in range(count)
    ]


def exact(model):
    """Return mean and covariance of the posterior of a linear model."""
    origin = np.zeros((len(model.names), 1))
    offset = model.residuals(origin)[:, 0]
    slope = model.residuals(np.eye(len(model.names))) - offset[:, None]
    covariance = np.linalg.inv(np.eye(len(model.names)) + slope.T @ slope)
    return -covariance @ slope.T @ offset, covariance


def ready(slopes, centre):
    """Return the moves with what they learn of a centre."""
    moves = BatchByBatch(slopes, slopes.layout)
    room = slopes.at(centre)
    moves.learn(centre, room, room)
    return moves


@pytest.fixture(scope="module")
def usual_scatter():
    """Take the scatter from batch to batch as known: only then a linear model stays linear."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(likelihood, "LEAST_BATCHES", 1000)
        yield


@pytest.fixture(scope="module")
def long(usual_scatter):  # noqa: ARG001
    model = Model(straight(30))
    slopes = Linearisation(model)
    assert isinstance(slopes.layout, BlockLayout)
    return model, slopes


def test_exact_draws_of_a_long_log_stay_exact_draws(long):
    model, slopes = long
    mean, covariance = exact(model)
    rng = np.random.default_rng(5)
    state = rng.multivariate_normal(mean, covariance, CHAINS).T
    moves, level = ready(slopes, mean), model.log_likelihood(state)
    for turn in range(6):
        state, level = moves.move(rng, state, level, learning=turn < 2)

    spread = np.sqrt(np.diag(covariance))
    np.testing.assert_allclose(level, model.log_likelihood(state), atol=1e-6)
    chances = [
        stats.kstest((row - m) / s, "norm").pvalue
        for row, m, s in zip(state, mean, spread, strict=True)
    ]
    assert min(chances) > 0.01 / len(chances)
    root = np.linalg.cholesky(np.linalg.inv(covariance))
    whitened = root.T @ (state - mean[:, None])
    assert np.abs(np.cov(whitened) - np.eye(len(mean))).max() < 6 / np.sqrt(CHAINS)


def test_moves_of_a_long_log_forget_where_they_began(long):
    model, slopes = long
    mean, covariance = exact(model)
    rng = np.random.default_rng(6)
    before = state = rng.multivariate_normal(mean, covariance, 512).T
    moves, level = ready(slopes, mean), model.log_likelihood(state)
    for turn in range(4):
        state, level = moves.move(rng, state, level, learning=turn < 1)

    memory = [np.corrcoef(one, two)[0, 1] for one, two in zip(before, state, strict=True)]
    assert max(memory) < 0.6


def test_one_draw_of_what_is_shared_with_own_following_is_independent(long):
    model, slopes = long
    mean, covariance = exact(model)
    rng = np.random.default_rng(7)
    before = rng.multivariate_normal(mean, covariance, CHAINS).T
    start = model.log_likelihood(before)

    moves = FollowedLatents(model, slopes.layout)
    moves.learn(mean, slopes.layout.normals(slopes.at(mean)))
    after, level = moves.move(rng, before, start)

    np.testing.assert_allclose(level, model.log_likelihood(after), atol=1e-6)
    rows = slopes.layout.shared
    memory = [np.corrcoef(before[row], after[row])[0, 1] for row in rows]
    assert np.abs(memory).max() < 5 / np.sqrt(CHAINS)
    spread = np.sqrt(np.diag(covariance))
    chances = [
        stats.kstest((after[i] - mean[i]) / spread[i], "norm").pvalue for i in range(len(mean))
    ]
    assert min(chances) > 0.01 / len(chances)


def test_interweaving_changes_shared_parts_and_no_reading(long):
    model, _ = long
    state = np.random.default_rng(3).standard_normal((len(model.names), 50))

    moved = Interweaving(model).move(np.random.default_rng(4), state)

    shared = [i for i, name in enumerate(model.names) if name.endswith("@knowledge")]
    assert len(shared) == 2
    assert (moved[shared] != state[shared]).all()
    np.testing.assert_allclose(model.predicted(moved), model.predicted(state), atol=1e-9)


def test_batches_without_anything_of_their_own_are_learned_as_one():
    """Thirty readings of one level, sd 1 before, 0.5 each: mean and spread in closed form."""
    problem = Problem.of([total], {"a": normal(0.0, 1.0), "b": normal(0.0, 1e-9)})
    batches = [Batch(f"b{i}", problem, (Reading("total", 0.7, 0.5),)) for i in range(30)]

    found = update(problem, batches, seed=2)

    precision = 1 + 30 / 0.25
    assert found.mean("a @knowledge") == pytest.approx(0.7 * 120 / precision, abs=0.01)
    assert found.standard_deviation("a @knowledge") == pytest.approx(precision**-0.5, rel=0.1)


def test_learning_from_a_long_log_finds_the_closed_form(long):
    model, _ = long
    mean, covariance = exact(model)

    found = update(model.batches[0].problem, model.batches, seed=2)

    spread = np.sqrt(np.diag(covariance))
    error = (np.array([found.mean(name) for name in model.names]) - mean) / spread
    width = np.array([found.standard_deviation(name) for name in model.names]) / spread
    assert found.trusted
    assert float(np.sqrt(np.mean(error**2))) < 0.1
    assert float(np.abs(width - 1).max()) < 0.25
