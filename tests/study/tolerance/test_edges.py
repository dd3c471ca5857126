"""Tolerance at its edges: few batches, no scatter, limits of nothing."""

import numpy as np
import pytest
from scipy import stats

from brewsim.errors import StudyError
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.log_against_model import predicted_outside
from brewsim.study.tolerance.tolerance import summarise_log, two_sided_factor


def test_the_spread_of_ten_batches_is_known_by_the_chi_square_table():
    """Ten values with s 1: 95 % interval 0.688 to 1.826 (19.023 and 2.700 at 9 degrees).

    The mean is 20: control limits 17 and 23; the next at 95 % within 2.262 sqrt(1.1) = 2.373,
    at 90 % within 1.833 sqrt(1.1).
    """
    values = 20.0 + np.array([-1.0, 1.0] * 5) * np.sqrt(0.9)

    found = summarise_log(values, content=0.95)
    narrow = summarise_log(values, content=0.9)

    assert found.standard_deviation == pytest.approx(1.0)
    assert found.standard_deviation_low == pytest.approx(np.sqrt(9 / 19.023), abs=1e-4)
    assert found.standard_deviation_high == pytest.approx(np.sqrt(9 / 2.700), abs=1e-3)
    assert (found.control_low, found.control_high) == pytest.approx((17.0, 23.0))
    assert (found.next_low, found.next_high) == pytest.approx((17.627, 22.373), abs=1e-3)
    assert narrow.next_high - 20.0 == pytest.approx(1.833 * np.sqrt(1.1), abs=1e-3)


def test_a_log_of_folds_is_summed_up_on_logarithms_and_told_in_its_unit():
    """Values 1, e and e^2: mean e, s 1, control limits e^-2 and e^4."""
    found = summarise_log(np.exp([0.0, 1.0, 2.0, np.nan]), logged=True)

    assert (found.count, found.mean) == (3, pytest.approx(np.e))
    assert found.standard_deviation == pytest.approx(1.0)
    assert (found.control_low, found.control_high) == pytest.approx((np.exp(-2), np.exp(4)))
    assert np.sqrt(found.tolerance_low * found.tolerance_high) == pytest.approx(np.e)
    assert np.log(found.tolerance_high / np.e) == pytest.approx(two_sided_factor(3, 0.95, 0.95))


@pytest.mark.parametrize(
    ("count", "content", "confidence"), [(1, 0.9, 0.9), (5, 1.0, 0.9), (5, 0.9, 0.0), (5, 0.0, 0.5)]
)
def test_a_tolerance_factor_nobody_can_give_is_refused(count, content, confidence):
    with pytest.raises(StudyError, match="2 or more values and shares"):
        two_sided_factor(count, content, confidence)


def test_few_batches_are_said_to_be_few_below_eight():
    values = np.arange(8.0)

    assert summarise_log(values[:7]).few
    assert not summarise_log(values).few


def test_a_log_foretells_misses_by_student_on_the_sides_that_have_a_limit():
    """Mean 0, s 1 of 10 values: the next is outside 2 with P(t9 > 2 / sqrt(1.1)) = 0.0444."""
    values = np.array([-1.0, 1.0] * 5) * np.sqrt(0.9)
    summary = summarise_log(values)
    one_side = stats.t(9).sf(2 / np.sqrt(1.1))

    assert one_side == pytest.approx(0.0444, abs=5e-5)
    assert predicted_outside(summary, Target(None, 2.0)) == pytest.approx(one_side)
    assert predicted_outside(summary, Target(-2.0, None)) == pytest.approx(one_side)
    assert predicted_outside(summary, Target(-2.0, 2.0)) == pytest.approx(2 * one_side)


def test_a_log_without_scatter_misses_always_or_never():
    """No scatter at all: the one value is outside, inside, or on the wrong side of a limit."""
    summary = summarise_log(np.full(4, 5.0))

    assert predicted_outside(summary, Target(4.0, 6.0)) == 0.0
    assert predicted_outside(summary, Target(5.5, 6.0)) == 1.0
    assert predicted_outside(summary, Target(None, 4.5)) == 1.0


def test_a_lower_limit_of_nothing_is_no_limit_for_folds():
    """No fold is at or below 0: on logarithms such a limit is passed by every batch."""
    summary = summarise_log(np.exp([-1.0, 0.0, 1.0]), logged=True)

    assert predicted_outside(summary, Target(0.0, None), logged=True) == 0.0
    assert predicted_outside(summary, Target(1.0, None), logged=True) == pytest.approx(0.5)
