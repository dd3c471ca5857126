import math
import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.distributions.constructors import (
    arcsine,
    bernoulli,
    beta,
    beta_from_moments,
    constant,
    curvilinear_trapezoid,
    discrete,
    empirical,
    gamma,
    half_normal,
    lognormal,
    mixture,
    normal,
    student_t,
    triangular,
    truncated,
    uniform,
)

SCORES = np.linspace(-8.5, 8.5, 4001)
SMOOTH = [
    normal(5, 2),
    lognormal(3, 0.7),
    uniform(-1, 4),
    triangular(0, 1, 3),
    beta(2, 3),
    beta(8, 2, 60, 80),
    gamma(2, 1.5),
    student_t(1, 2, 3),
    student_t(1, 2, 1),
    arcsine(2, 5),
    curvilinear_trapezoid(0, 1, 0.2),
    half_normal(2),
    truncated(lognormal(1, 0.3), 0.5, 2),
    truncated(triangular(0, 1, 3), 0.5, 2),
    truncated(beta(2, 3), 0.1, math.inf),
    mixture([normal(0, 1), normal(5, 1)], [0.6, 0.4]),
]
STEPPED = [
    constant(3),
    bernoulli(0.02),
    discrete([3, 1, 2], [0.2, 0.5, 0.3]),
    empirical([1, 2, 2, 5]),
    mixture([constant(0), lognormal(1, 0.3)], [0.98, 0.02]),
    mixture([normal(0, 1), constant(0.3), uniform(3, 4)], [0.6, 0.1, 0.3]),
    truncated(empirical([1, 2, 2, 5]), 1.5, 4),
]


def each(distributions):
    return pytest.mark.parametrize("distribution", distributions, ids=repr)


@each(SMOOTH)
def test_to_score_undoes_from_score(distribution):
    score = np.linspace(-4, 4, 401)

    assert distribution.to_score(distribution.from_score(score)) == pytest.approx(score, abs=1e-6)


@each(STEPPED)
def test_from_score_undoes_to_score_of_every_possible_value(distribution):
    x = distribution.from_score(np.linspace(-4, 4, 401))

    assert distribution.from_score(distribution.to_score(x)) == pytest.approx(x, abs=1e-8)


@each(SMOOTH + STEPPED)
def test_values_never_fall_as_the_score_rises_and_stay_in_the_support(distribution):
    x = distribution.from_score(SCORES)
    low, high = distribution.support

    assert np.diff(x).min() >= -1e-12
    assert low <= x.min()
    assert x.max() <= high


@each([d for d in SMOOTH + STEPPED if math.isfinite(d.standard_deviation)])
def test_mean_and_standard_deviation_are_those_of_the_score_map(distribution):
    """A midpoint sum over 400,000 scores, where there is a variance."""
    score = (np.arange(400_000) + 0.5) / 400_000 * 24 - 12
    weight = np.exp(-(score**2) / 2) / math.sqrt(2 * math.pi) * 24 / 400_000
    x = distribution.from_score(score)
    mean = float(weight @ x)

    assert distribution.mean == pytest.approx(mean, rel=1e-3, abs=1e-9)
    assert distribution.standard_deviation == pytest.approx(
        math.sqrt(float(weight @ (x - mean) ** 2)), rel=1e-3, abs=1e-9
    )


@each(SMOOTH + STEPPED)
def test_a_distribution_travels_between_processes_and_prints_as_its_call(distribution):
    copy = pickle.loads(pickle.dumps(distribution))  # noqa: S301 - our own object

    assert copy == distribution
    assert copy.fingerprint == distribution.fingerprint == repr(distribution)
    assert np.array_equal(copy.from_score(SCORES), distribution.from_score(SCORES))


@each(SMOOTH + STEPPED)
def test_any_shape_gives_a_new_array_of_that_shape(distribution):
    score = np.linspace(-2, 2, 12)
    for shape in [(12,), (3, 4), (1, 12)]:
        x = distribution.from_score(score.reshape(shape))

        assert x.shape == shape
        assert np.array_equal(x.reshape(-1), distribution.from_score(score))
        assert not np.shares_memory(x, score)

    assert distribution.from_score(np.empty((2, 0))).shape == (2, 0)
    assert np.shape(distribution.from_score(np.array(0.3))) == ()


@each(SMOOTH)
def test_a_score_that_is_not_a_number_stays_so(distribution):
    x = distribution.from_score(np.array([0.0, math.nan, 1.0]))

    assert np.isnan(x).tolist() == [False, True, False]


def test_equal_parameters_have_equal_fingerprints_however_they_are_written():
    assert normal(5, 2).fingerprint == normal(np.float64(5.0), 2.0).fingerprint
    assert normal(5, 2).fingerprint != normal(5, 2.1).fingerprint
    assert discrete([2, 1], [0.4, 0.6]).fingerprint == discrete([1, 2], [0.6, 0.4]).fingerprint


@given(mean=st.floats(0.01, 0.99), relative=st.floats(0.01, 0.95))
@settings(max_examples=60)
def test_a_beta_has_the_mean_and_sd_it_was_asked_for(mean, relative):
    sd = relative * math.sqrt(mean * (1 - mean))
    made = beta_from_moments(mean, sd)

    assert made.mean == pytest.approx(mean, rel=1e-9)
    assert made.standard_deviation == pytest.approx(sd, rel=1e-6)


@given(a=st.floats(0.3, 200), b=st.floats(0.3, 200))
@settings(max_examples=25, deadline=None)
def test_a_beta_mirrored_has_its_shapes_swapped(a, b):
    score = np.linspace(-6, 6, 301)
    spread = beta(a, b).standard_deviation

    assert beta(a, b).from_score(score) == pytest.approx(
        1 - beta(b, a).from_score(-score), abs=2e-8 * spread + 1e-15
    )


@given(
    low=st.floats(-6, 5.5),
    width=st.floats(0.01, 6),
    log_sd=st.floats(0.05, 1.5),
)
@settings(max_examples=40, deadline=None)
def test_a_truncated_distribution_has_the_whole_ones_chances_rescaled(low, width, log_sd):
    whole = lognormal(2, log_sd)
    first, last = whole.from_score(np.array([low, low + width]))
    kept = truncated(whole, first, last)
    score = np.linspace(-3, 3, 61)
    x = kept.from_score(score)
    below, above = kept.chances(x)
    start, end = whole.chances(np.array([first, last]))[int(low > 0)]
    share = (whole.chances(x)[int(low > 0)] - start) / (end - start)

    assert below == pytest.approx(share, abs=1e-6)
    assert below + above == pytest.approx(np.ones(61), abs=1e-9)
    assert kept.to_score(x) == pytest.approx(score, abs=1e-5)
    assert first <= kept.mean <= last


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=30))
@settings(max_examples=60)
def test_an_empirical_distribution_keeps_the_mean_and_the_range_of_its_values(values):
    if max(values) - min(values) < 1e-6:
        values = [*values, 60.0]
    made = empirical(values)

    assert made.mean == pytest.approx(np.mean(values), abs=1e-9)
    assert made.from_score(np.array([-40.0, 40.0])).tolist() == [min(values), max(values)]
