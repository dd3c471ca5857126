"""Conformance probability and risks against JCGM 106 and worked cases."""

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.study.model.targets import Target
from brewsim.study.tolerance.conformity import (
    acceptance_limits,
    conformance_probability,
    simulated_risks,
)


def test_one_sided_conformance():
    """JCGM 106:2012, example with an upper limit -5.40 V, y = -5.47 V, u = 0.05 V (from memory)."""
    assert conformance_probability(-5.47, 0.05, Target(None, -5.40)) == pytest.approx(
        0.9192, abs=5e-5
    )


def test_two_sided_conformance():
    """JCGM 106:2012, kinematic viscosity 12.5 to 16.3 mm2/s, y = 13.6, u = 1.8 (from memory)."""
    assert conformance_probability(13.6, 1.8, Target(12.5, 16.3)) == pytest.approx(0.6626, abs=5e-5)


@pytest.mark.parametrize(
    ("uncertainty", "share", "consumer", "producer"),
    [(0.25, 1.0, 0.008006, 0.014851), (0.5, 0.91, 0.008052, 0.066106)],
)
def test_global_risks_of_a_normal_process(uncertainty, share, consumer, producer):
    """Deaver's tables of false accept and false reject (process N(0, 1), limits +-2)."""
    target, accepted = Target(-2.0, 2.0), Target(-2.0 * share, 2.0 * share)
    values = ndtri((np.arange(100_000) + 0.5) / 100_000)

    found = simulated_risks(values, uncertainty, target, accepted)

    assert found.consumer == pytest.approx(consumer, abs=2e-6)
    assert found.producer == pytest.approx(producer, abs=2e-6)


def test_acceptance_limits_keep_the_wanted_chance():
    target = Target(4.5, 5.5)

    accepted = acceptance_limits(target, 0.1, 0.95)

    assert conformance_probability(accepted.upper, 0.1, target) == pytest.approx(0.95)
    assert conformance_probability(accepted.lower, 0.1, target) == pytest.approx(0.95)
    assert acceptance_limits(target, 2.0, 0.95) == Target(5.0, 5.0)
