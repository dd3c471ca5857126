import math

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.distributions.constructors import (
    bernoulli,
    beta,
    constant,
    curvilinear_trapezoid,
    discrete,
    empirical,
    lognormal,
    mixture,
    normal,
    student_t,
    triangular,
    truncated,
    uniform,
)

EVENLY = ndtri((np.arange(100_000) + 0.5) / 100_000)


def test_a_rare_event_happens_exactly_as_often_as_stated():
    event = bernoulli(0.02)

    assert event.from_score(EVENLY).mean() == pytest.approx(0.02)
    assert event.from_score(np.array([ndtri(0.98) - 1e-9, ndtri(0.98) + 1e-9])).tolist() == [0, 1]
    assert bernoulli(1e-20).from_score(np.array([9.2, 9.3])).tolist() == [0, 1]
    assert bernoulli(0).from_score(np.array([-9.0, 9.0])).tolist() == [0, 0]
    assert bernoulli(1).from_score(np.array([-9.0, 9.0])).tolist() == [1, 1]


def test_a_discrete_distribution_gives_each_value_its_share():
    made = discrete([3, 1, 2, 1], [0.2, 0.3, 0.3, 0.2])

    values, counts = np.unique(made.from_score(EVENLY), return_counts=True)

    assert values.tolist() == [1, 2, 3]
    assert counts / len(EVENLY) == pytest.approx([0.5, 0.3, 0.2], abs=1e-5)
    assert made.cdf(np.array([0.9, 1, 2.5, 3])).tolist() == pytest.approx([0, 0.5, 0.8, 1])
    assert made.mean == pytest.approx(1.7)
    assert made.to_score(np.array([0, 4])).tolist() == [-math.inf, math.inf]


def test_an_empirical_distribution_passes_through_the_mid_ranks():
    """JCGM 101:2008, annex D: the r-th of M values is the (r - 1/2)/M quantile."""
    made = empirical([4.0, 1.0, 2.0])

    assert made.quantile(np.array([1 / 6, 1 / 2, 5 / 6])) == pytest.approx([1, 2, 4])
    assert made.quantile(np.array([1 / 3])) == pytest.approx([1.5])


def test_a_mixture_keeps_its_atoms_exact_and_its_parts_at_their_quantiles():
    usual, seldom = constant(0), lognormal(1, 0.3)
    made = mixture([usual, seldom], [0.98, 0.02])
    x = made.from_score(EVENLY)

    assert np.count_nonzero(x == 0) / len(x) == pytest.approx(0.98, abs=2e-5)
    assert made.quantile(np.array([0.99])) == pytest.approx([1.0], rel=1e-9)
    assert made.quantile(np.array([0.985])) == pytest.approx(
        seldom.quantile(np.array([0.25])), rel=1e-8
    )


def test_a_mixture_of_two_humps_crosses_the_gap_between_them_exactly():
    made = mixture([normal(0, 1), normal(5, 1)], [0.6, 0.4])
    score = np.linspace(-8, 8, 20_001)
    spread = made.standard_deviation

    assert np.abs(made.from_score(score) - made.bracket(score)).max() < 1e-8 * spread
    assert made.to_score(made.bracket(score)) == pytest.approx(score, abs=1e-11)


def test_a_mixture_with_a_gap_never_gives_a_value_inside_the_gap():
    x = mixture([uniform(0, 1), uniform(3, 4)], [0.25, 0.75]).from_score(EVENLY)

    assert not np.any((x > 1) & (x < 3))
    assert np.count_nonzero(x <= 1) / len(x) == pytest.approx(0.25, abs=2e-5)


def test_a_mixture_without_variance_is_still_drawn():
    made = mixture([student_t(0, 1, 1), normal(3, 1)], [0.5, 0.5])

    assert not math.isfinite(made.standard_deviation)
    assert made.to_score(made.from_score(np.array([-3.0, 0, 3]))) == pytest.approx([-3, 0, 3])


def test_a_mixture_of_certain_values_is_discrete_and_one_part_alone_is_itself():
    made = mixture([constant(1), discrete([1, 2], [0.5, 0.5])], [0.5, 0.5])

    assert made == discrete([1, 2], [0.75, 0.25])
    assert mixture([normal(0, 1), uniform(0, 1)], [1, 0]) == normal(0, 1)


def test_limits_that_do_not_bind_change_nothing():
    assert truncated(uniform(0, 1), -1, 2) == uniform(0, 1)
    assert truncated(lognormal(1, 0.3), 0) == lognormal(1, 0.3)


def test_a_truncation_of_a_truncation_keeps_the_narrower_limits():
    twice = truncated(truncated(normal(0, 1), -1, 3), -2, 2)

    assert twice == truncated(normal(0, 1), -1, 2)


def test_a_truncated_uniform_is_a_uniform():
    ours, plain = truncated(uniform(0, 10), 2, 5), uniform(2, 5)
    score = np.linspace(-8, 8, 2001)

    assert ours.from_score(score) == pytest.approx(plain.from_score(score), abs=1e-8)
    assert ours.mean == pytest.approx(3.5, rel=1e-12)
    assert ours.standard_deviation == pytest.approx(plain.standard_deviation, rel=1e-10)


def test_a_truncated_triangular_keeps_its_corner_in_the_moments():
    """Cut at the mode, a triangular is a right-angled one."""
    ours, plain = truncated(triangular(0, 1, 3), 1, 9), triangular(1, 1, 3)
    cut_below_the_corner = truncated(triangular(0, 1, 3), 0.5, 9)
    x = np.linspace(0.5, 3, 1_000_001)
    density = np.where(x < 1, 2 * x / 3, (3 - x) / 3)
    mean = np.trapezoid(x * density, x) / np.trapezoid(density, x)

    assert ours.mean == pytest.approx(plain.mean, rel=1e-12)
    assert cut_below_the_corner.mean == pytest.approx(mean, rel=1e-9)


def test_a_truncated_discrete_or_mixed_distribution_is_rescaled_with_its_ends_included():
    whole = discrete([1, 2, 3, 4], [0.1, 0.2, 0.3, 0.4])
    mixed = mixture([constant(0), uniform(0, 4)], [0.5, 0.5])

    assert truncated(whole, 2, 3) == discrete([2, 3], [0.4, 0.6])
    assert truncated(mixed, 0, 1).mean == pytest.approx(0.5 * 0.25 / (2 * 0.625))
    assert truncated(mixed, 1, 3).mean == pytest.approx(2)


def test_a_fraction_kept_below_one_never_passes_one():
    x = truncated(normal(0.95, 0.1), 0, 1).from_score(np.linspace(-40, 40, 8001))

    assert x.min() >= 0
    assert x.max() == 1


def test_uncertain_ends_widen_a_uniform_as_published():
    """JCGM 101:2008, 6.4.3.3: variance (b - a)^2 / 12 + d^2 / 9, support a - d to b + d."""
    ours = curvilinear_trapezoid(1, 4, 0.5)
    generator = np.random.default_rng(1)
    low = 1 + generator.uniform(-0.5, 0.5, 400_000)
    drawn = low + (5 - 2 * low) * generator.uniform(size=400_000)
    score = np.linspace(-8, 8, 1001)

    assert ours.support == (0.5, 4.5)
    assert ours.standard_deviation == pytest.approx(math.sqrt(9 / 12 + 0.25 / 9))
    assert ours.from_score(-score) == pytest.approx(5 - ours.from_score(score), abs=1e-8)
    for chance in (0.02, 0.1, 0.3, 0.8):
        assert np.mean(drawn < ours.quantile(np.array(chance))) == pytest.approx(chance, abs=0.003)


def test_scaling_and_moving_a_shape_scales_and_moves_its_values():
    score = np.linspace(-8, 8, 101)

    assert beta(2, 5, 10, 30).from_score(score) == pytest.approx(
        10 + 20 * beta(2, 5).from_score(score)
    )
