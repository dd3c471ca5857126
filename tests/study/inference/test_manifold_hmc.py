"""Trajectories along the surface of the readings leave the posterior as it is."""

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import normal
from brewsim.logbook.brew import read_batches
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.manifold_hmc import Trajectories
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem
from tests.study.posteriors import plain_slopes

pytestmark = pytest.mark.slow

DEMOS = Path(__file__).resolve().parents[3] / "demo-recipes"


def product(a, b):
    return a * b


def total(a, b):
    return a + b


def noticing(a, b):
    return 1 / (1 + np.exp(-(a - 3) - 0.2 * (b - 3) ** 2))


def one_batch(formula, *readings):
    problem = Problem.of([formula], {"a": normal(3, 1), "b": normal(3, 1)})
    return Batch("1", problem, readings)


def exact_draws(model, rng, chains=4096):
    """Return posterior draws of two latents, picked from a fine grid, jittered within cells."""
    axis = np.linspace(-6, 6, 1601)
    grid = np.stack([part.ravel() for part in np.meshgrid(axis, axis, indexing="ij")])
    density = model.log_likelihood(grid) - 0.5 * (grid**2).sum(axis=0)
    chance = np.exp(density - density.max())
    picked = rng.choice(len(density), chains, p=chance / chance.sum())
    return grid[:, picked] + (axis[1] - axis[0]) * (rng.random((2, chains)) - 0.5)


CASES = {
    "bent": (product, [Reading("product", 6.0, 0.3)], False),
    "count": (noticing, [Reading("noticing", 13, 0.0, trials=20)], False),
    "outliers": (product, [Reading("product", 6.0, 0.3), Reading("product", 8.0, 0.3)], True),
    "bias": (total, [Reading("total", 7.0, 0.2, scale="log")], False),
}


@pytest.mark.parametrize("case", CASES)
def test_exact_draws_stay_exact_draws(case):
    """Started in the posterior, many moves later it still is: two samples, Kolmogorov-Smirnov."""
    formula, readings, outliers = CASES[case]
    model, rng = Model([one_batch(formula, *readings)], outliers=outliers), np.random.default_rng(4)
    state = before = exact_draws(model, rng)
    level = model.log_likelihood(state)
    paths = Trajectories(Linearisation(model))
    for turn in range(12):
        state, level = paths.move(rng, state, level, learning=turn < 4)

    fresh = exact_draws(model, rng)
    assert np.abs(np.corrcoef(state, before)[0, 2]) < (0.7 if outliers else 0.2)
    for own, other in zip(
        (*state, state[0] * state[1]), (*fresh, fresh[0] * fresh[1]), strict=True
    ):
        assert stats.ks_2samp(own, other).pvalue > 0.005
    np.testing.assert_allclose(level, model.log_likelihood(state))


def test_on_a_plane_every_trajectory_is_accepted_and_forgets_its_start():
    model, rng = Model([one_batch(total, Reading("total", 7.0, 0.01))]), np.random.default_rng(2)
    state = before = exact_draws(model, rng, 2000)
    paths = Trajectories(Linearisation(model), angle=1.5)
    state, _ = paths.move(rng, state, model.log_likelihood(state))

    assert (state != before).all()
    assert abs(np.corrcoef(state[0], before[0])[0, 1]) < 0.08
    assert np.std(state.sum(axis=0)) == pytest.approx(0.01 / np.sqrt(1 + 0.01**2 / 2), rel=0.05)


def test_a_chain_where_a_formula_has_no_value_stays():
    def root(a, b):
        return np.sqrt(a - 3) + b

    model = Model([one_batch(root, Reading("root", 4.0, 0.5))])
    state = np.array([[-1.0, 0.5], [0.0, 0.3]])
    level = model.log_likelihood(state)

    moved, after = Trajectories(Linearisation(model)).move(np.random.default_rng(1), state, level)

    assert (moved[:, 0] == state[:, 0]).all()
    assert after[0] == level[0]
    assert np.isfinite(after[1])
    nowhere = Trajectories(Linearisation(model))
    alone, _ = nowhere.move(np.random.default_rng(1), state[:, :1], level[:1], learning=True)
    assert (alone == state[:, :1]).all()
    assert (nowhere.tilt == 0).all()


def test_slopes_of_every_chain_are_those_of_one_latent_at_a_time():
    """What is moved at once, and run again only downstream, gives the plain differences."""
    log = read_batches(DEMOS / "quillhaven-lager-six-batches.toml", DEMOS / "quillhaven-lager.toml")
    model = Model(log.batches)
    state = np.random.default_rng(3).standard_normal((len(model.names), 3))

    level, residual, slope = Linearisation(model).slopes(state)

    np.testing.assert_array_equal(level, model.log_likelihood(state))
    np.testing.assert_array_equal(residual, model.residuals(state))
    for chain in range(3):
        plain = plain_slopes(model, state[:, chain], step=1e-4)
        np.testing.assert_allclose(slope[chain], plain, atol=2e-3 * np.abs(plain).max())
        assert ((slope[chain] != 0) == (plain != 0)).mean() > 0.999


def test_trajectories_learn_how_the_surface_widens():
    """An exact zero of b exp(a) leaves exp(-a) of the prior of a: a normal around -1.

    The surface's area grows as exp(a): the plane through its logarithm is a itself.
    """

    def stretched(a, b):
        return b * np.exp(a)

    problem = Problem.of([stretched], {"a": normal(0, 1), "b": normal(0, 1)})
    model = Model([Batch("1", problem, (Reading("stretched", 0.0, 1e-5),))])
    rng = np.random.default_rng(5)
    state = np.stack([rng.standard_normal(2048), np.zeros(2048)])
    level, paths = model.log_likelihood(state), Trajectories(Linearisation(model))

    for turn in range(8):
        state, level = paths.move(rng, state, level, learning=turn < 4)

    assert paths.tilt == pytest.approx([1.0, 0.0], abs=0.02)
    assert stats.kstest(state[0], "norm", args=(-1, 1)).pvalue > 0.01


def test_memory_of_the_slopes_does_not_change_the_moves(monkeypatch):
    model = Model([one_batch(product, Reading("product", 6.0, 0.3))])
    state = exact_draws(model, np.random.default_rng(1), 64)
    monkeypatch.setattr("brewsim.study.inference.manifold_hmc._MOST_SLOPES", 40)

    moved, level = Trajectories(Linearisation(model)).move(
        np.random.default_rng(2), state, model.log_likelihood(state)
    )

    assert (moved != state).any(axis=0).mean() > 0.5
    np.testing.assert_array_equal(level, model.log_likelihood(moved))


def test_nothing_is_learned_while_draws_are_kept():
    model = Model([one_batch(product, Reading("product", 6.0, 0.3))])
    state = exact_draws(model, np.random.default_rng(1), 64)
    paths = Trajectories(Linearisation(model))

    paths.move(np.random.default_rng(2), state, model.log_likelihood(state))

    assert paths.angle == 0.5
    assert (paths.tilt == 0).all()


@pytest.mark.parametrize(
    ("angle", "able", "learned"),
    [(0.5, 0.5, 0.375), (0.16, 0.5, 0.15), (0.5, 0.93, 0.5), (0.5, 0.99, 0.6), (1.25, 1.0, 1.3)],
)
def test_steps_shorten_where_paths_break_off_and_lengthen_where_none_does(angle, able, learned):
    paths = Trajectories(
        Linearisation(Model([one_batch(total, Reading("total", 7.0, 0.2))])), angle
    )

    paths._learn_angle(able)

    assert paths.angle == pytest.approx(learned)


@pytest.mark.parametrize(("noticed", "share"), [(0, 0.0), (20, 1.0), (0, 1.0), (20, 0.0)])
def test_a_certain_share_is_unlikely_and_not_impossible(noticed, share):
    def sure(a):
        return 0.0 * a + share

    problem = Problem.of([sure], {"a": normal(0, 1)})
    model = Model([Batch("1", problem, (Reading("sure", noticed, 0.0, trials=20),))])
    level = model.log_likelihood(np.zeros((1, 1)))[0]

    right = noticed == 20 * share
    assert level == pytest.approx(0.0 if right else 20 * np.log(1e-12), rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_the_residual_of_a_count_has_a_spread_of_one(share):
    """Law: the arcsine of a binomial share varies by 1/(4 n), whatever the share."""
    trials = 400
    counts = stats.binom(trials, share).rvs(2000, random_state=5)

    def certain(a):
        return 0.0 * a + share

    problem = Problem.of([certain], {"a": normal(0, 1)})
    readings = tuple(Reading("certain", int(c), 0.0, trials=trials) for c in counts)
    residuals = Model([Batch("1", problem, readings)]).residuals(np.zeros((1, 1)))

    assert residuals.mean() == pytest.approx(0.0, abs=0.1)
    assert residuals.std() == pytest.approx(1.0, rel=0.06)
