"""Distributions from elsewhere and of extremes, against SciPy and closed forms."""

import pickle

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.adopted import from_scipy, kernel_density
from brewsim.distributions.constructors import empirical
from brewsim.distributions.extremes import exponential, gumbel, poisson, weibull
from brewsim.errors import DistributionError

SCORES = np.linspace(-8, 8, 161)
PAIRS = [
    (weibull(1.7, 3.0), stats.weibull_min(1.7, scale=3.0)),
    (weibull(0.6, 2.0), stats.weibull_min(0.6, scale=2.0)),
    (exponential(2.5), stats.expon(scale=2.5)),
    (gumbel(1013.0, 558.0), stats.gumbel_r(1013.0, 558.0)),
]


@pytest.mark.parametrize(("own", "theirs"), PAIRS)
def test_extremes_have_scipys_values_chances_and_moments(own, theirs):
    low, high = SCORES[SCORES <= 0], SCORES[SCORES > 0]
    exact = np.concatenate([theirs.ppf(stats.norm.cdf(low)), theirs.isf(stats.norm.sf(high))])

    np.testing.assert_allclose(own.from_score(SCORES), exact, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(own.chances(exact)[1], theirs.sf(exact), rtol=1e-9)
    np.testing.assert_allclose(own.to_score(exact), SCORES, atol=1e-6)
    assert own.mean == pytest.approx(theirs.mean(), rel=1e-12)
    assert own.standard_deviation == pytest.approx(theirs.std(), rel=1e-9)


@pytest.mark.parametrize("mean", [0.3, 4.0, 900.0])
def test_poisson_counts_have_scipys_chances(mean):
    own, theirs = poisson(mean), stats.poisson(mean)
    counts = np.arange(int(theirs.ppf(1e-6)), int(theirs.isf(1e-6)) + 1)

    np.testing.assert_allclose(own.cdf(counts), theirs.cdf(counts), atol=1e-12)
    assert own.mean == pytest.approx(mean, rel=1e-9)
    assert own.standard_deviation == pytest.approx(np.sqrt(mean), rel=1e-9)


@pytest.mark.parametrize(
    "frozen",
    [
        stats.gumbel_r(1013, 558),
        stats.beta(2, 5, loc=1, scale=3),
        stats.t(3),
        stats.cauchy(),
        stats.genextreme(-0.1),
        stats.skewnorm(4),
    ],
)
def test_a_frozen_distribution_is_adopted_exactly(frozen):
    own = from_scipy(frozen)
    scores = np.linspace(-4, 4, 81)
    spread = float(np.subtract(*frozen.ppf([0.75, 0.25])))

    values = own.from_score(scores)

    exact = np.where(
        scores < 0, frozen.ppf(stats.norm.cdf(scores)), frozen.isf(stats.norm.sf(scores))
    )
    np.testing.assert_allclose(values, exact, atol=1e-7 * spread, rtol=1e-7)
    again = pickle.loads(pickle.dumps(own))  # noqa: S301 - made a line above
    np.testing.assert_array_equal(again.from_score(scores), values)
    assert again == own


def test_a_frozen_count_becomes_values_with_chances():
    own = from_scipy(stats.binom(7, 0.3))

    np.testing.assert_allclose(own.cdf(np.arange(8.0)), stats.binom(7, 0.3).cdf(np.arange(8)))


@pytest.mark.parametrize("given", [stats.norm, 3.0, stats.norm([0, 1], 1)])
def test_what_is_not_frozen_is_refused_in_words(given):
    with pytest.raises(DistributionError, match="from_scipy"):
        from_scipy(given)


def test_a_kernel_density_is_scipys_of_the_same_bandwidth():
    values = [4.1, 4.9, 5.0, 5.2, 6.3, 5.8]
    x = np.linspace(3, 8, 41)

    own = kernel_density(values, 0.4)

    exact = np.mean([stats.norm(v, 0.4).cdf(x) for v in values], axis=0)
    np.testing.assert_allclose(own.cdf(x), exact, atol=1e-9)
    assert own.standard_deviation == pytest.approx(np.hypot(np.std(values), 0.4))
    wide = kernel_density(values).standard_deviation
    assert empirical(values).standard_deviation < wide < 1.2 * np.std(values)
