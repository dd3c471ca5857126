"""Correlated priors in learning: Gaussian closed forms, for every kind and user of latents."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.inference.attribution import attribute
from brewsim.study.inference.experimental_design import in_batch, two_brews
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate

A, B = "a @knowledge", "b @knowledge"


def level_a(a):
    return 1.0 * a


def level_b(b):
    return 1.0 * b


def total(a, b):
    return a + b


def tied(rho, kind="knowledge", kinds=None):
    shared = normal(0, 1) if kinds is None else (normal(0, 1), kinds)
    return Problem.of(
        [level_a, level_b, total],
        {"a": shared, "b": shared},
        correlations=Correlation(kind, ("a", "b"), ((1, rho), (rho, 1))),
    )


def posterior(prior, slope, read, noise):
    """Conjugate Gaussian algebra (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.5)."""
    inverse = np.linalg.inv(np.linalg.inv(prior) + slope.T @ slope / noise**2)
    return inverse @ slope.T @ read / noise**2, inverse


def test_two_correlated_inputs_read_together_have_the_closed_form():
    problem = tied(0.8)
    readings = (Reading("level_a", 2.0, 0.5), Reading("level_b", -1.0, 0.5))
    mean, covariance = posterior(
        np.array([[1, 0.8], [0.8, 1]]), np.eye(2), np.array([2.0, -1.0]), 0.5
    )

    learned = update(problem, [Batch("1", problem, readings)], keep=100, time_limit_s=0)

    spread = np.sqrt(np.diag(covariance))
    found = np.array([learned.mean(A), learned.mean(B)])
    np.testing.assert_allclose(found, mean, atol=0.03 * spread[0])
    np.testing.assert_allclose(
        [learned.standard_deviation(A), learned.standard_deviation(B)], spread, rtol=0.03
    )


def test_what_is_correlated_with_the_read_is_learned_too():
    """Read a = 2 +- .5: a 1.6 +- .447, b .8 of it and sqrt(1 - .64 + .64 x .2)."""
    problem = tied(0.8)
    batch = Batch("1", problem, (Reading("level_a", 2.0, 0.5),))

    learned = update(problem, [batch], keep=100, time_limit_s=0)
    after = simulate(replace(problem, learned=learned), 8192)

    assert learned.mean(B) == pytest.approx(1.28, abs=0.03)
    assert float(after["level_b"].mean()) == pytest.approx(1.28, abs=0.05)
    assert float(after["level_b"].std()) == pytest.approx(np.sqrt(0.36 + 0.64 * 0.2), rel=0.05)


def test_a_sum_of_correlated_inputs_is_no_surprise_when_it_is_not():
    """The sum has sd sqrt(3.6), so that 3.0 lies well inside nine in ten."""
    problem = tied(0.8)
    batch = Batch("1", problem, (Reading("total", 3.0, 0.1),))

    learned = update(problem, [batch], keep=50, time_limit_s=0)

    (surprise,) = learned.surprises
    assert surprise.high == pytest.approx(1.645 * np.sqrt(3.61), rel=0.05)
    left = np.sqrt(1 - 1.8**2 / 3.61)
    assert learned.standard_deviation(A) == pytest.approx(left, rel=0.05)


def test_correlated_scatter_of_two_batches_has_the_closed_form():
    """Every brew's own pair is correlated by -.9; nothing is shared between brews."""
    problem = tied(-0.9, "batch", Kinds(0, 0, 1))
    batches = [
        Batch(name, problem, (Reading("total", value, 0.2),))
        for name, value in (("1", 0.4), ("2", -0.6))
    ]
    prior = np.array([[1, -0.9], [-0.9, 1]])

    learned = update(problem, batches, keep=100, time_limit_s=0)

    for name, value in (("1", 0.4), ("2", -0.6)):
        mean, covariance = posterior(prior, np.ones((1, 2)), np.array([value]), 0.2)
        assert learned.mean(f"a @batch {name}") == pytest.approx(mean[0], abs=0.04)
        spread = learned.standard_deviation(f"a @batch {name}")
        assert spread == pytest.approx(np.sqrt(covariance[0, 0]), rel=0.04)


def test_two_inputs_that_are_one_are_learned_as_one():
    problem = tied(1.0)
    batch = Batch("1", problem, (Reading("level_a", 2.0, 0.5),))

    learned = update(problem, [batch], keep=50, time_limit_s=0)

    np.testing.assert_allclose(learned.draws[A], learned.draws[B], atol=1e-6)
    assert learned.mean(B) == pytest.approx(1.6, abs=0.03)


def test_shares_of_correlated_causes_are_those_of_the_posterior():
    problem = tied(0.8)
    batch = Batch("1", problem, (Reading("level_a", 2.0, 0.5), Reading("total", 3.0, 0.5)))
    learned = update(problem, [batch], keep=100, time_limit_s=0)

    (found,) = attribute(learned, "1", outcomes=["total"], against="recipe")

    shares = {share.factor: share.estimate for share in found.shares}
    mean, _ = posterior(
        np.array([[1, 0.8], [0.8, 1]]), np.array([[1, 0], [1, 1.0]]), np.array([2.0, 3.0]), 0.5
    )
    assert shares["a"] == pytest.approx(mean[0], abs=0.05)
    assert shares["b"] == pytest.approx(mean[1], abs=0.05)


def test_next_brews_keep_the_correlation_of_their_own_scatter():
    """Nothing of the brew to come was read: var of a - b is 2 (1 - .8)."""
    problem = tied(0.8, "batch", Kinds(0, 0, 1))
    batch = Batch("1", problem, (Reading("level_a", 0.0, 1.0),))
    learned = update(problem, [batch], keep=20, time_limit_s=0)

    brews = two_brews(learned, problem, ["level_a", "level_b"])
    there = in_batch(learned, batch, ["level_a", "level_b"])

    apart = (brews["level_a"] - brews["level_b"])[0]
    assert apart.var() == pytest.approx(0.4, rel=0.1)
    assert abs(np.corrcoef(brews["level_a"])[0, 1]) < 0.1
    joined = np.corrcoef(there["level_a"], there["level_b"])[0, 1]
    assert joined == pytest.approx(0.8 * np.sqrt(0.5) / np.sqrt(0.36 + 0.64 * 0.5), abs=0.08)


def test_lots_that_met_in_other_combinations_are_refused():
    problem = tied(0.8, "lot", Kinds(0, 1, 0))

    def with_lots(one, other):
        factors = [
            replace(f, lot=lot) for f, lot in zip(problem.factors, (one, other), strict=True)
        ]
        return replace(problem, factors=tuple(factors))

    pairs = (("A1", "B1"), ("A2", "B2"), ("A1", "B2"))
    batches = [
        Batch(str(i), with_lots(*pair), (Reading("total", 0.0, 1.0),))
        for i, pair in enumerate(pairs)
    ]

    assert update(problem, batches[:2], keep=2, time_limit_s=0).batches
    with pytest.raises(StudyError, match="other combinations"):
        update(problem, batches, keep=2, time_limit_s=0)
