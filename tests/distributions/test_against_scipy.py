import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from brewsim.distributions.constructors import (
    arcsine,
    beta,
    gamma,
    half_normal,
    lognormal,
    normal,
    student_t,
    triangular,
    truncated,
    uniform,
)

SCORES = np.linspace(-8, 8, 8003)

PAIRS = {
    "normal": (normal(5, 2), stats.norm(5, 2)),
    "lognormal": (lognormal(3, 0.7), stats.lognorm(0.7, scale=3)),
    "uniform": (uniform(-1, 4), stats.uniform(-1, 5)),
    "triangular": (triangular(0, 1, 3), stats.triang(1 / 3, 0, 3)),
    "triangular, mode at low": (triangular(0, 0, 3), stats.triang(0, 0, 3)),
    "triangular, mode at high": (triangular(0, 3, 3), stats.triang(1, 0, 3)),
    "beta": (beta(2, 3), stats.beta(2, 3)),
    "beta, u-shaped": (beta(0.5, 0.7), stats.beta(0.5, 0.7)),
    "beta, stretched": (beta(40, 3, 1, 3), stats.beta(40, 3, 1, 2)),
    "beta, almost an event": (beta(0.05, 0.1), stats.beta(0.05, 0.1)),
    "beta, narrow": (beta(900, 400), stats.beta(900, 400)),
    "gamma": (gamma(2, 1.5), stats.gamma(2, scale=1.5)),
    "gamma, steep": (gamma(0.2, 1), stats.gamma(0.2)),
    "gamma, narrow": (gamma(1e4, 1), stats.gamma(1e4)),
    "t, 3 degrees": (student_t(1, 2, 3), stats.t(3, 1, 2)),
    "t, 30 degrees": (student_t(1, 2, 30), stats.t(30, 1, 2)),
    "arcsine": (arcsine(2, 5), stats.arcsine(2, 3)),
    "half normal": (half_normal(2), stats.halfnorm(scale=2)),
    "truncated normal": (truncated(normal(0, 1), -1, 2), stats.truncnorm(-1, 2)),
    "truncated normal, lower tail": (
        truncated(normal(0, 1), -math.inf, -4),
        stats.truncnorm(-math.inf, -4),
    ),
    "truncated normal, upper slice": (truncated(normal(0, 1), 6, 7), stats.truncnorm(6, 7)),
}


@pytest.fixture(params=PAIRS.values(), ids=PAIRS.keys())
def pair(request):
    return request.param


def test_values_agree_with_scipy_to_1e_minus_8_sd_into_the_far_tails(pair):
    ours, theirs = pair

    expected = np.where(SCORES < 0, theirs.ppf(ndtr(SCORES)), theirs.isf(ndtr(-SCORES)))

    assert np.abs(ours.from_score(SCORES) - expected).max() < 1e-8 * theirs.std()


def test_chances_agree_with_scipy_in_both_tails(pair):
    ours, theirs = pair
    x = theirs.ppf(np.array([1e-9, 1e-4, 0.03, 0.4, 0.5, 0.7, 0.99, 1 - 1e-6]))

    below, above = ours.chances(x)

    assert below == pytest.approx(theirs.cdf(x), rel=1e-8)
    assert above == pytest.approx(theirs.sf(x), rel=1e-8)
    assert np.array_equal(ours.cdf(x), below)


def test_moments_median_and_support_agree_with_scipy(pair):
    ours, theirs = pair

    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-11, abs=1e-12)
    assert ours.standard_deviation == pytest.approx(theirs.std(), rel=1e-10)
    assert ours.median == pytest.approx(theirs.median(), rel=1e-8)
    assert ours.support == pytest.approx(theirs.support())


def test_quantile_undoes_cdf(pair):
    ours, theirs = pair
    probability = np.array([1e-6, 0.05, 0.3, 0.5, 0.9, 0.999])

    x = ours.quantile(probability)

    assert np.abs(x - theirs.ppf(probability)).max() < 1e-8 * theirs.std()


def test_a_truncation_far_in_the_upper_tail_mirrors_the_lower_tail():
    """SciPy's own upper tail loses digits here, so its lower tail is turned round."""
    ours = truncated(normal(0, 1), 3, math.inf)
    mirrored = -stats.truncnorm(-math.inf, -3).ppf(ndtr(-SCORES[SCORES > -2]))

    assert ours.from_score(SCORES[SCORES > -2]) == pytest.approx(mirrored, abs=1e-9)
