"""Capability of measured batches against the handbook, and its interval against simulation."""

import numpy as np
import pytest

from brewsim.study.model.targets import Target
from brewsim.study.tolerance.capability import measured_capability


def spread_by(middle, spread, count=200):
    """Values of exactly that mean and standard deviation."""
    z = np.random.default_rng(1).standard_normal(count)
    return middle + spread * (z - z.mean()) / z.std(ddof=1)


def test_capability_of_the_handbook():
    """NIST/SEMATECH e-Handbook 6.1.6 (figures from memory): limits 8 and 20, mean 16, s = 2."""
    found = measured_capability(spread_by(16.0, 2.0), Target(8.0, 20.0), 2.0)

    assert found.potential == pytest.approx(1.0)
    assert found.actual == pytest.approx(0.6667, abs=5e-5)
    assert found.short_actual == pytest.approx(0.6667, abs=5e-5)


def test_a_drift_lowers_ppk_and_not_cpk():
    values = spread_by(10.0, 0.5) + np.linspace(-2, 2, 200)
    found = measured_capability(values, Target(6.0, 14.0), 0.5)

    assert found.actual < 0.6 * found.short_actual
    assert found.short_potential == pytest.approx(8 / 6 / 0.5)


def test_a_target_with_one_end_has_no_potential():
    found = measured_capability(spread_by(5.0, 0.2), Target(upper=5.6), 0.2)

    assert np.isnan(found.potential)
    assert found.actual == pytest.approx(1.0)


def test_limits_of_ppk_hold_the_true_one_in_nine_logs_of_ten():
    """By simulation, 24 batches of a process whose true Ppk is 1."""
    rng = np.random.default_rng(2)
    logs = [measured_capability(rng.standard_normal(24), Target(-3, 3), 1.0) for _ in range(3000)]
    held = np.mean([one.actual_low <= 1.0 <= one.actual_high for one in logs])

    assert held == pytest.approx(0.9, abs=0.03)


def test_folds_are_judged_on_their_own_scale():
    values = 2.0 ** spread_by(3.0, 0.5)
    found = measured_capability(values, Target(2.0**1.5, 2.0**4.5), 0.5, scale="log2")

    assert found.actual == pytest.approx(1.0)
