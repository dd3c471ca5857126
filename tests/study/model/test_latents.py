"""Kinds, correlations and posterior draws behind a factor's normal score."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.stats import kstest

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.latents import PICK, latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, scores
from brewsim.study.propagation.simulate import simulate
from tests.study.models import correlated_pair, sum_of_four, weighted

SHARES = Kinds(0.5, 0.2, 0.3)


@dataclass(frozen=True)
class Draws:
    draws: dict
    replicate: np.ndarray


def problem_of(kinds=SHARES, correlations=()):
    return Problem.of(
        [weighted],
        {"a": (normal(0, 1), kinds), "b": (lognormal(1, 0.3), kinds)},
        correlations=correlations,
    )


def test_a_factor_is_split_by_kind_only_when_asked():
    assert latents(problem_of()).ids == ("a", "b")
    assert set(latents(problem_of(), by_kind=True).kinds) == {"knowledge", "lot", "batch"}


def test_the_kinds_together_give_the_factors_own_distribution():
    """Sum of sqrt(share) z is standard normal, so F^-1(Phi(z)) has distribution F exactly."""
    found = latents(problem_of(), by_kind=True)
    normals = scores(found.ids, Plan(rows=4096), 0)

    rows = found.rows(normals, 0)

    assert kstest(rows[0], "norm").pvalue > 0.01
    assert abs(np.corrcoef(rows)[0, 1]) < 0.02


def test_a_correlation_holds_for_its_kind_alone():
    """Cor of all kinds together = sum over kinds of sqrt(w_i w_j) rho: .5 x .8."""
    tied = Correlation("knowledge", ("a", "b"), ((1, 0.8), (0.8, 1)))
    found = latents(problem_of(correlations=(tied,)))
    normals = scores(found.ids, Plan(rows=16_384), 0)

    rows = found.rows(normals, 0)

    assert np.corrcoef(rows)[0, 1] == pytest.approx(0.4, abs=0.005)


@pytest.mark.parametrize(
    ("kind", "ids", "matrix", "message"),
    [
        ("lot", ("a", "b"), ((1, 0.5), (0.5, 1)), "no share of kind lot"),
        ("lots", ("a", "b"), ((1, 0.5), (0.5, 1)), "Did you mean lot"),
        ("knowledge", ("a", "c"), ((1, 0.5), (0.5, 1)), "no factor c"),
        ("knowledge", ("a", "b"), ((1, 1.5), (1.5, 1)), "contradict"),
        ("knowledge", ("a", "b"), ((1, 0.5), (0.4, 1)), "symmetric"),
        ("knowledge", ("a", "b"), ((2, 0.5), (0.5, 2)), "diagonal"),
        ("knowledge", ("a", "b"), ((1,),), "symmetric"),
    ],
)
def test_impossible_correlations_are_refused(kind, ids, matrix, message):
    with pytest.raises(StudyError, match=message):
        problem_of(Kinds(), (Correlation(kind, ids, matrix),))


def test_a_factor_in_two_correlations_of_one_kind_is_refused():
    tied = Correlation("knowledge", ("a", "b"), ((1, 0.5), (0.5, 1)))

    with pytest.raises(StudyError, match="two knowledge correlations"):
        problem_of(correlations=(tied, tied))


@pytest.mark.parametrize("given", [{("a", "b"): 0.5}, [0.5]])
def test_a_correlation_of_another_form_is_refused_in_words(given):
    with pytest.raises(StudyError, match=r"Correlation\(kind, ids, matrix\)"):
        problem_of(correlations=given)


@pytest.mark.parametrize("rho", [1.0, -1.0])
def test_a_correlation_of_one_makes_two_factors_one(rho):
    tied = Correlation("knowledge", ("a", "b"), np.array([[1, rho], [rho, 1]]))
    found = latents(problem_of(Kinds(), tied))

    rows = found.rows(scores(found.ids, Plan(rows=1024), 0), 0)

    np.testing.assert_allclose(rows[1], rho * rows[0], atol=1e-12)


def test_an_event_is_not_correlated():
    factors = (
        Factor("a", "a", None, "a", normal(0, 1)),
        Factor("b", "b", None, "b", bernoulli(0.02), event=True),
    )
    with pytest.raises(StudyError, match="is an event"):
        replace(correlated_pair(0.5), factors=factors)


def learned_problem(correlations=()):
    """What is known of a: 64 posterior draws, 8 a replicate, far from standard normal."""
    posterior = 3.0 + 0.1 * np.arange(64.0)
    learned = Draws({"a @knowledge": posterior}, np.repeat(np.arange(8), 8))
    return replace(problem_of(correlations=correlations), learned=learned)


def test_posterior_draws_stand_in_for_what_was_learned():
    found = latents(learned_problem())
    normals = scores(found.ids, Plan(rows=1024), 5)

    rows = found.rows(normals, 5)

    assert PICK in found.ids
    assert "a @knowledge" not in found.ids
    expected = np.sqrt(0.5) * np.mean(3.0 + 0.1 * np.arange(40, 48))
    assert rows[0].mean() == pytest.approx(expected, abs=0.01)
    assert rows[1].std() == pytest.approx(1.0, abs=0.01)


def test_every_draw_of_a_replicates_group_is_picked_equally_often():
    found = latents(learned_problem())
    normals = scores(found.ids, Plan(rows=1024), 2)

    part = found.part(normals, 2, 0, frozenset({"knowledge"}))

    values, counts = np.unique(np.round(part / np.sqrt(0.5), 6), return_counts=True)
    np.testing.assert_allclose(values, 3.0 + 0.1 * np.arange(16, 24))
    np.testing.assert_array_equal(counts, 128)


def test_what_correlates_with_the_learned_follows_it():
    """Gaussian conditional: E[z_b | z_a] = rho z_a, within the kind."""
    tied = Correlation("knowledge", ("a", "b"), ((1, 0.8), (0.8, 1)))
    found = latents(learned_problem((tied,)))
    normals = scores(found.ids, Plan(rows=4096), 0)

    a, b = (found.part(normals, 0, i, frozenset({"knowledge"})) for i in (0, 1))

    assert b.mean() / np.sqrt(0.5) == pytest.approx(0.8 * a.mean() / np.sqrt(0.5), abs=0.01)
    assert (b / np.sqrt(0.5)).std() == pytest.approx(
        np.sqrt(1 - 0.8**2 + (0.8 * 0.229) ** 2), rel=0.02
    )


def test_another_number_of_kinds_leaves_the_simulated_distribution_alone():
    four = {f"x{i}": (normal(0, 1), SHARES) for i in range(1, 5)}
    tied = Correlation("lot", ("x1", "x2"), ((1, 0.0), (0.0, 1)))

    plain = simulate(Problem.of([sum_of_four], four))
    split = simulate(Problem.of([sum_of_four], four, correlations=(tied,)))

    assert float(split["sum_of_four"].std()) == pytest.approx(
        float(plain["sum_of_four"].std()), rel=0.01
    )
