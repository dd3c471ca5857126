import math

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import (
    bernoulli,
    beta,
    constant,
    gamma,
    lognormal,
    mixture,
    normal,
    student_t,
    triangular,
    truncated,
    uniform,
)
from brewsim.distributions.scores import (
    correlate,
    rank_correlation,
    score_correlation,
    score_share,
    value_share,
)
from brewsim.errors import DistributionError

MATRIX = np.array([[1.0, 0.6, -0.3], [0.6, 1.0, 0.2], [-0.3, 0.2, 1.0]])


def independent(rows, count=200_000):
    return np.random.default_rng(1).standard_normal((rows, count))


def test_correlated_scores_have_the_correlations_asked_for():
    together = correlate(independent(3), MATRIX)

    assert np.corrcoef(together) == pytest.approx(MATRIX, abs=0.01)
    assert together.std(axis=1) == pytest.approx(np.ones(3), abs=0.01)


def test_ranks_of_values_correlate_as_the_arcsine_law_says_whatever_the_families():
    """Kruskal, Ordinal measures of association, 1958: 6/pi arcsin(rho/2)."""
    together = correlate(independent(2, 100_000), np.array([[1, 0.8], [0.8, 1]]))
    x, y = gamma(0.5, 1).from_score(together[0]), uniform(0, 1).from_score(together[1])

    assert stats.spearmanr(x, y).statistic == pytest.approx(rank_correlation(0.8), abs=0.005)
    assert score_correlation(rank_correlation(0.8)) == pytest.approx(0.8)
    assert rank_correlation(1) == pytest.approx(1)


def test_correlations_that_contradict_each_other_are_refused_with_the_pair_and_its_room():
    contradictory = np.array([[1, 0.9, 0], [0.9, 1, 0.9], [0, 0.9, 1]])

    with pytest.raises(DistributionError) as caught:
        correlate(np.zeros((3, 4)), contradictory, ("alpha", "beta", "oil"))

    assert "alpha and beta cannot be 0.9" in str(caught.value)
    assert "between -0.436 and 0.436" in str(caught.value)


def test_the_room_named_for_a_pair_is_the_room_there_is():
    """Of three, r12 r13 +- sqrt((1 - r12^2)(1 - r13^2)): here sqrt(0.19) = 0.4359."""
    for value in (0.4358, -0.4358):
        inside = np.array([[1, value, 0], [value, 1, 0.9], [0, 0.9, 1]])

        assert correlate(np.eye(3), inside) @ correlate(np.eye(3), inside).T == pytest.approx(
            inside
        )

    with pytest.raises(DistributionError):
        correlate(np.eye(3), np.array([[1, 0.436, 0], [0.436, 1, 0.9], [0, 0.9, 1]]))


@pytest.mark.parametrize(
    ("matrix", "text"),
    [
        ([[1, 1.2], [1.2, 1]], "must lie between -1 and 1, not 1.2"),
        ([[1, 1], [1, 1]], "always move together use one factor"),
        ([[1, 0.2], [0.3, 1]], "is given twice, as 0.2 and 0.3"),
        ([[2, 0.2], [0.2, 1]], "with itself must be 1, not 2.0"),
        ([[1, math.nan], [math.nan, 1]], "correlation of a and b"),
        ([[1, 0.2, 0], [0.2, 1, 0]], "square matrix"),
    ],
)
def test_what_is_no_correlation_matrix_is_refused(matrix, text):
    with pytest.raises(DistributionError) as caught:
        correlate(np.zeros((2, 4)), np.array(matrix), ("a", "b"))

    assert text in str(caught.value)


def test_a_share_of_the_score_is_that_share_of_a_normal_and_less_of_anything_else():
    assert value_share(normal(3, 2), 0.5) == 0.5
    assert value_share(constant(3), 0.5) == 0.5
    for other in (uniform(0, 1), lognormal(1, 1), bernoulli(0.3), beta(0.5, 0.5)):
        assert value_share(other, 0.5) < 0.5


def test_the_share_of_a_uniform_is_its_rank_correlation():
    """Var E[Phi(z) | a] / Var Phi(z) is 6/pi arcsin(w/2): the same integral as Spearman's."""
    for share in (0.1, 0.5, 0.9):
        assert value_share(uniform(2, 7), share) == pytest.approx(rank_correlation(share), abs=1e-7)


def test_the_share_of_a_lognormal_agrees_with_its_closed_form_by_the_general_way():
    closed, general = lognormal(1, 0.8), truncated(lognormal(1, 0.8), 0, 1e12)

    assert value_share(closed, 0.5) == pytest.approx(math.expm1(0.32) / math.expm1(0.64))
    assert value_share(general, 0.5) == pytest.approx(value_share(closed, 0.5), rel=1e-6)


@pytest.mark.parametrize("probability", [0.3, 0.02])
def test_the_share_of_an_event_is_the_chance_that_it_happens_twice(probability):
    """Two scores that correlate by the share: (P(both) - p^2) / (p - p^2)."""
    twice = stats.multivariate_normal(cov=[[1, 0.5], [0.5, 1]]).cdf(
        np.full(2, stats.norm.ppf(probability))
    )
    expected = (twice - probability**2) / (probability - probability**2)

    assert value_share(bernoulli(probability), 0.5) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    "distribution",
    [
        normal(0, 1),
        lognormal(2, 0.9),
        uniform(0, 1),
        triangular(0, 1, 3),
        gamma(2, 1),
        bernoulli(0.02),
        mixture([constant(0), lognormal(1, 0.1)], [0.98, 0.02]),
    ],
    ids=repr,
)
def test_score_share_undoes_value_share(distribution):
    for share in (0.0, 0.2, 0.5, 0.8, 1.0):
        assert value_share(distribution, score_share(distribution, share)) == pytest.approx(
            share, abs=1e-9
        )


def test_shares_that_cannot_be_are_refused():
    with pytest.raises(DistributionError, match="write 50 % as"):
        score_share(uniform(0, 1), 50)
    with pytest.raises(DistributionError, match="no variance to share"):
        score_share(student_t(0, 1, 2), 0.5)
