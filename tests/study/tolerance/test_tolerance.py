"""Tolerance factors, sample sizes and capability against computed and handbook values."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import t

from brewsim.errors import StudyError
from brewsim.study.tolerance.tolerance import (
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


@pytest.mark.parametrize("content", [0.1, 0.5, 0.95])
@pytest.mark.parametrize("confidence", [0.5, 0.95])
def test_a_factor_from_very_many_values_is_the_normal_quantile(content, confidence):
    """With mean and standard deviation known, mean +- z s holds the content: z of (1 + p) / 2."""
    found = two_sided_factor(4_000_000, content, confidence)

    assert found == pytest.approx(ndtri(0.5 + content / 2), rel=2e-3)


@pytest.mark.parametrize("content", [0.05, 0.5, 0.999])
def test_a_factor_from_two_values_meets_its_definition(content):
    """Two values: chance over both of Phi(m + k s) - Phi(m - k s) >= content is 0.9."""
    k = two_sided_factor(2, content, 0.9)
    first, second = np.random.default_rng(8).standard_normal((2, 200_000))
    mean, spread = (first + second) / 2, abs(first - second) / np.sqrt(2)

    held = ndtr(mean + k * spread) - ndtr(mean - k * spread)

    assert np.mean(held >= content) == pytest.approx(0.9, abs=4 * np.sqrt(0.09 / 200_000))


def test_a_factor_grows_with_what_it_must_hold_and_how_surely():
    one = two_sided_factor(10, 0.9, 0.9)

    assert two_sided_factor(10, 0.95, 0.9) > one
    assert two_sided_factor(10, 0.9, 0.95) > one
    assert two_sided_factor(11, 0.9, 0.9) < one


@pytest.mark.parametrize("content", [0.5, 0.9])
def test_order_statistics_hold_what_coins_say(content):
    """Cut one: all n values below the content's quantile has chance p^n; cut all: (1 - p)^n."""
    assert order_statistics_confidence(10, content, cut=1) == pytest.approx(1 - content**10)
    assert order_statistics_confidence(10, content, cut=10) == pytest.approx((1 - content) ** 10)
    assert order_statistics_confidence(10, content, cut=11) == 0.0
    assert order_statistics_confidence(10, content, cut=15) == 0.0


def test_a_log_knows_how_surely_its_extremes_hold_the_content():
    """Smallest to largest of n hold p: 1 - n p^(n - 1) + (n - 1) p^n."""
    found = summarise_log(np.arange(12.0), content=0.8)

    assert found.order_confidence == pytest.approx(1 - 12 * 0.8**11 + 11 * 0.8**12)


@pytest.mark.parametrize(
    ("low", "high", "actual"), [(9.0, None, 1.2 / 1.2), (None, 11.0, 0.8 / 1.2)]
)
def test_capability_with_one_limit_is_held_against_that_one(low, high, actual):
    """Mean 10.2, s 0.4: (10.2 - 9) / 3 s or (11 - 10.2) / 3 s; outside beyond 3 s or 2 s."""
    found = normal_capability(10.2, 0.4, low, high)

    assert found.actual == pytest.approx(actual)
    assert found.potential == np.inf
    assert found.share_outside == pytest.approx(ndtr(-3.0) if high is None else ndtr(-2.0))


@pytest.mark.parametrize(
    ("low", "high", "actual"),
    [(-1.0, None, 1.25 / 0.25), (None, 2.0, 1.75 / 0.747302), (-0.1, 2.0, 0.35 / 0.25)],
)
def test_capability_of_a_skewed_outcome_takes_each_sides_own_reach(low, high, actual):
    """Squares of even shares: quantiles 0.00135^2, 0.25 and 0.99865^2 = 0.997302."""
    values = ((np.arange(200_000) + 0.5) / 200_000) ** 2

    found = quantile_capability(values, low, high)

    assert found.actual == pytest.approx(actual, rel=1e-4)
    both = low is not None and high is not None
    assert found.potential == pytest.approx(2.1 / 0.997300 if both else np.inf, rel=1e-4)


@pytest.mark.parametrize("chance", [0.5, 0.9])
def test_the_next_value_is_foretold_by_students_quantile(chance):
    assert prediction_factor(10, chance) == pytest.approx(t(9).ppf(0.5 + chance / 2) * np.sqrt(1.1))


@pytest.mark.parametrize(
    ("count", "content", "confidence"),
    [(1, 0.9, 0.9), (5, 1.0, 0.9), (5, 1.5, 0.9), (5, -0.1, 0.9), (5, 0.9, 1.0), (5, 0.9, 1.5)],
)
def test_shares_of_all_or_nothing_have_no_factor(count, content, confidence):
    with pytest.raises(StudyError, match="shares between 0 and 1"):
        two_sided_factor(count, content, confidence)
