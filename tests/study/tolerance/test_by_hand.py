"""Limits, capability and shares outside, of small tables made by hand."""

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.capability import simulated_capability
from brewsim.study.tolerance.conformity import acceptance_limits, conformance_probability
from brewsim.study.tolerance.log_against_model import against_log
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tolerance import (
    normal_capability,
    quantile_capability,
    two_sided_factor,
)
from tests.study.by_hand import BREW
from tests.study.linear import linear_problem


@pytest.mark.parametrize(("mean", "nearest"), [(9.5, 0.5), (10.5, 0.5), (10.0, 1.0), (8.5, -0.5)])
def test_capability_is_held_against_the_nearer_limit(mean, nearest):
    """Limits 9 and 11, s 0.4: the distance to the nearer one over 3 s."""
    found = normal_capability(mean, 0.4, 9.0, 11.0)

    assert found.actual == pytest.approx(nearest / 1.2)
    assert found.potential == pytest.approx(2 / 2.4)


def test_the_error_of_a_capability_is_the_t_interval_of_its_replicates():
    """Folds: (3 - |mean|) / 3 s in each eighth; t with 7 degrees of freedom is 2.3646."""
    doublings = np.random.default_rng(4).standard_normal(8000) + 0.2
    parts = doublings.reshape(8, -1)
    each = (3.0 - parts.mean(axis=1)) / (3.0 * parts.std(axis=1))

    found = simulated_capability(np.exp2(doublings), Target(0.125, 8.0), scale="log2")

    assert found.actual_error == pytest.approx(2.3646 * each.std(ddof=1) / np.sqrt(8), rel=0.01)


def test_the_expected_middle_of_a_log_is_that_of_every_uncertainty():
    """Lognormal knowledge of log-sd 0.5: mean exp(0.125); held at its middle it would be 1."""

    def strength(level, brew):
        return level + brew

    problem = Problem.of([strength], {"level": lognormal(1.0, 0.5), "brew": (normal(0, 0.1), BREW)})

    (found,) = against_log(problem, {"strength": np.array([0.9, 1.0, 1.2])})

    assert found.middle == pytest.approx(np.exp(0.125), rel=0.01)
    assert found.same_lots == pytest.approx(0.1, rel=0.01)


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_a_one_sided_acceptance_limit_lies_one_guard_band_inside(side):
    """JCGM 106:2012, 8.3.2: 95 % needs 1.645 standard uncertainties."""
    target = Target(**{side: 5.0})

    accepted = acceptance_limits(target, 0.1, 0.95)

    inward = 0.1644854 if side == "lower" else -0.1644854
    limit = getattr(accepted, side)
    assert limit == pytest.approx(5.0 + inward)
    assert getattr(accepted, "upper" if side == "lower" else "lower") is None
    assert conformance_probability(limit, 0.1, target) == pytest.approx(0.95)


@pytest.mark.parametrize(
    ("low", "high", "share"), [(0.1, None, 0.1), (None, 0.7, 0.3), (0.1, 0.7, 0.4)]
)
def test_the_share_outside_counts_each_side_that_has_a_limit(low, high, share):
    values = (np.arange(10_000) + 0.5) / 10_000

    found = quantile_capability(values, low, high)

    assert found.share_outside == pytest.approx(share)


def test_limits_say_what_they_hold_and_of_how_many_draws():
    found = specify(linear_problem(), content=0.9, confidence=0.8, draws=2000, seed=3)

    assert found.attrs == {"content": 0.9, "confidence": 0.8, "draws": 2048, "seed": 3}


@pytest.mark.parametrize("confidence", [0.8, 0.99])
def test_a_logs_own_limits_hold_the_wanted_share_with_the_wanted_confidence(confidence):
    values = np.array([1.0, 2.0, 3.0, 4.0, np.nan])
    log = {"strength": values, "side": np.array([1.0])}

    found = specify(linear_problem(), content=0.9, confidence=confidence, log=log, draws=128)

    reach = two_sided_factor(4, 0.9, confidence) * np.std([1, 2, 3, 4], ddof=1)
    row, short = found.sel(outcome="strength"), found.sel(outcome="side")
    assert (float(row.log_low), float(row.log_high)) == pytest.approx((2.5 - reach, 2.5 + reach))
    assert (int(row.log_count), float(row.log_mean)) == (4, 2.5)
    assert int(short.log_count) == 1
    assert np.isnan(float(short.log_mean))
