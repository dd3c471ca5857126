import math

import numpy as np
import pytest
from scipy import special, stats

from brewsim.distributions.constructors import normal, student_t, truncated
from brewsim.distributions.measured import from_measurements
from brewsim.errors import DistributionError


def test_four_values_of_one_lot_give_the_scaled_t_of_the_guide():
    """JCGM 101:2008, 6.4.9: t with n - 1 degrees, mean of the values, scale s / sqrt(n)."""
    values = [5.4, 5.9, 5.6, 5.5]
    made = from_measurements(values)
    published = stats.t(3, np.mean(values), np.std(values, ddof=1) / 2)

    assert made.quantile(np.array([0.05, 0.5, 0.975])) == pytest.approx(
        published.ppf([0.05, 0.5, 0.975])
    )
    assert made.standard_deviation == pytest.approx(np.std(values, ddof=1) / 2 * math.sqrt(3))


def test_two_or_three_values_take_the_known_spread_of_one_measurement():
    made, expected = from_measurements([5.4, 5.6], known_sd=0.3), normal(5.5, 0.3 / math.sqrt(2))
    score = np.linspace(-8, 8, 11)

    assert made.from_score(score) == pytest.approx(expected.from_score(score))
    assert from_measurements([5.5] * 9, known_sd=0.3).standard_deviation == pytest.approx(0.1)


def test_values_of_several_lots_say_what_the_next_lot_may_be():
    values = [5.0, 6.0, 5.5, 6.5, 5.5]
    made = from_measurements(values, several_lots=True)
    spread = np.std(values, ddof=1) * math.sqrt(1 + 1 / 5)

    assert made.fingerprint.startswith("student_t(5.7, ")
    assert made.standard_deviation == pytest.approx(student_t(0, spread, 4).standard_deviation)
    assert from_measurements([5.0, 6.0], known_sd=0.3, several_lots=True).standard_deviation == (
        pytest.approx(0.3 * math.sqrt(1.5))
    )


def test_the_next_lot_falls_inside_its_interval_as_often_as_said():
    """Ten thousand breweries with four lots each: 9 in 10 fifth lots inside the 90 % interval."""
    lots = np.random.default_rng(1).normal(5, 0.5, (10_000, 5))
    half = float(student_t(0, math.sqrt(1.25), 3).quantile(np.array(0.95)))
    middle, spread = lots[:, :4].mean(axis=1), lots[:, :4].std(axis=1, ddof=1)
    inside = np.abs(lots[:, 4] - middle) < half * spread
    made = from_measurements(list(lots[0, :4]), several_lots=True)

    assert inside.mean() == pytest.approx(0.9, abs=0.01)
    assert float(made.quantile(np.array(0.95))) == pytest.approx(middle[0] + half * spread[0])


def test_measured_values_never_pass_what_is_plausible():
    made = from_measurements([0.1, 0.4, 0.2, 0.9], low=0, high=1)

    assert made.support == (0, 1)
    assert made.from_score(np.array([-8.0, 8.0])) == pytest.approx([0, 1], abs=1e-6)


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ([5.6], "write a single one with its spread"),
        ([5.6, math.nan], "finite"),
        ([5.4, 5.9], "give 4 or more different values, or the standard deviation of one"),
        ([5.5] * 6, "all alike"),
    ],
)
def test_too_little_to_tell_a_spread_is_refused_with_what_is_missing(values, text):
    with pytest.raises(DistributionError) as caught:
        from_measurements(values)

    assert text in str(caught.value)


@pytest.mark.parametrize("degrees", [1, 2, 3, 5, 12, 30])
def test_a_t_keeps_its_power_law_in_the_farthest_tail(degrees):
    """P(T > t) falls as t^-degrees: a hundredth of the chance is 100^(1/degrees) times as far."""
    scores = special.ndtri(np.array([1e-150, 1e-230, 1e-290]))
    near, far, farther = np.abs(student_t(0, 1, degrees).from_score(scores))

    assert far / near == pytest.approx(1e80 ** (1 / degrees), rel=1e-9)
    assert farther / far == pytest.approx(1e60 ** (1 / degrees), rel=1e-9)


def test_four_measurements_kept_above_zero_have_a_mean_without_a_warning():
    made = truncated(student_t(44.06, 0.88, 3), 0, math.inf)

    assert made.mean == pytest.approx(44.06, abs=1e-3)
    assert 0.88 < made.standard_deviation < 0.88 * math.sqrt(3)
