"""Tolerance factors, sample sizes and capability against computed and handbook values."""

import numpy as np
import pytest

from brewsim.errors import StudyError
from brewsim.study.tolerance import (
    normal_capability,
    order_statistics_confidence,
    prediction_factor,
    quantile_capability,
    summarise_log,
    two_sided_factor,
    wilks_sample_size,
)


@pytest.mark.parametrize(
    ("count", "content", "confidence", "factor"),
    [
        (5, 0.95, 0.95, 5.0769),
        (10, 0.95, 0.95, 3.3934),
        (15, 0.95, 0.95, 2.9649),
        (20, 0.95, 0.95, 2.7603),
        (50, 0.95, 0.95, 2.3816),
        (100, 0.95, 0.95, 2.2339),
        (200, 0.95, 0.95, 2.1429),
        (10, 0.99, 0.95, 4.4369),
        (30, 0.90, 0.95, 2.1451),
        (43, 0.90, 0.99, 2.2228),
    ],
)
def test_two_sided_factors_are_exact_not_the_approximation(count, content, confidence, factor):
    """Exact factors as tabled by ISO 16269-6:2014; the older tables print Howe's approximation."""
    assert two_sided_factor(count, content, confidence) == pytest.approx(factor, abs=6e-5)


def test_two_sided_factors_hold_what_they_promise():
    """By definition: 95 of 100 intervals from 6 values hold 95 % of a normal population."""
    rng = np.random.default_rng(5)
    sample = rng.standard_normal((40_000, 6))
    mean, spread = sample.mean(1), sample.std(1, ddof=1)
    k = two_sided_factor(6, 0.95, 0.95)
    from scipy.special import ndtr

    content = ndtr(mean + k * spread) - ndtr(mean - k * spread)

    assert np.mean(content >= 0.95) == pytest.approx(0.95, abs=4 * 0.00109)


@pytest.mark.parametrize(
    ("content", "confidence", "sizes"),
    [
        (0.95, 0.95, [59, 93, 124, 153, 181]),
        (0.90, 0.95, [29, 46, 61, 76, 89]),
        (0.99, 0.95, [299, 473, 628, 773, 913]),
        (0.95, 0.99, [90, 130, 165, 198, 229]),
        (0.95, 0.90, [45, 77, 105, 132, 158]),
    ],
)
def test_one_sided_wilks_sizes(content, confidence, sizes):
    """Wilks (1941); sizes as in nuclear safety practice, e.g. 59 and 93 for 95/95."""
    found = [wilks_sample_size(content, confidence, order=k) for k in range(1, 6)]

    assert found == sizes


def test_two_sided_wilks_sizes():
    """Wilks (1941): smallest to largest of 93 values hold 95 % with 95 % confidence."""
    assert [wilks_sample_size(0.95, 0.95, order=k, sides=2) for k in (1, 2, 3)] == [93, 153, 208]
    assert wilks_sample_size(0.90, 0.95, sides=2) == 46
    assert order_statistics_confidence(93, 0.95, cut=2) >= 0.95
    assert order_statistics_confidence(92, 0.95, cut=2) < 0.95


@pytest.mark.parametrize(
    ("mean", "actual", "outside"),
    [(10.0, 0.8333, 0.01242), (10.5, 0.41667, 0.10574), (12.0, -0.8333, 0.99379)],
)
def test_normal_capability(mean, actual, outside):
    """Definition of Cpk for limits 9 to 11 and standard deviation 0.4; values by arithmetic."""
    found = normal_capability(mean, 0.4, 9.0, 11.0)

    assert found.actual == pytest.approx(actual, abs=6e-5)
    assert found.share_outside == pytest.approx(outside, abs=6e-6)


def test_quantile_form_equals_the_plain_form_for_a_normal_outcome():
    """ISO 22514-2: both forms agree where the outcome is normal."""
    from scipy.special import ndtri

    values = 10.2 + 0.4 * ndtri((np.arange(400_000) + 0.5) / 400_000)

    found, plain = quantile_capability(values, 9.0, 11.0), normal_capability(10.2, 0.4, 9.0, 11.0)

    assert found.potential == pytest.approx(plain.potential, rel=1e-3)
    assert found.actual == pytest.approx(plain.actual, rel=1e-3)


def test_prediction_factors():
    """Student's t: n = 10, nine in ten chances and 95 %: t sqrt(1 + 1/n)."""
    assert prediction_factor(10, 0.95) == pytest.approx(2.37, abs=0.005)
    assert prediction_factor(3, 0.95) == pytest.approx(4.97, abs=0.005)


def test_a_short_log_says_that_its_spread_is_uncertain():
    short = summarise_log(np.array([5.0, 5.2, 4.9, 5.1]))

    assert short.few
    assert short.standard_deviation_low < short.standard_deviation < short.standard_deviation_high
    assert short.tolerance_low < short.next_low < 5.05 < short.next_high < short.tolerance_high


def test_one_batch_has_no_spread():
    with pytest.raises(StudyError, match="at least two"):
        summarise_log(np.array([5.0]))
