"""First-order budgets and their validation: worked examples of the guides."""

import math

import numpy as np
import pytest

from brewsim.distributions.constructors import arcsine, lognormal, normal, student_t, uniform
from brewsim.errors import StudyError
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.problem import Problem
from brewsim.study.sensitivity.budget_validation import tolerance
from brewsim.study.sensitivity.gum_budget import gum_budget
from tests.study.models import sum_of_four

WIDE = math.sqrt(3)


def mass(m_rc, dm_rc, rho_a, rho_w, rho_r):
    return (m_rc + dm_rc) * (1 + (rho_a - 1.2) * (1 / rho_w - 1 / rho_r)) - 100_000


def length(standard, read, random, systematic, d_alpha, theta, alpha, d_theta):
    apart = read + random + systematic
    return standard + apart - standard * (d_alpha * theta + alpha * d_theta)


def total(a, b):
    return a + b


@pytest.mark.parametrize(
    ("inputs", "uncertainty", "expanded", "digits"),
    [
        ([normal(0, 1)] * 4, 2.0, 3.92, 2),
        ([uniform(-WIDE, WIDE)] * 4, 2.0, 3.92, 2),
        ([uniform(-WIDE, WIDE)] * 3 + [uniform(-10 * WIDE, 10 * WIDE)], 10.1, 19.9, 1),
    ],
)
def test_additive_models_of_the_guide(inputs, uncertainty, expanded, digits):
    """JCGM 101:2008, 9.2.2 to 9.2.4: y = 0; GUF +-3.92, +-3.92, +-19.9 against MCM +-17.0.

    With two digits the third is not validated there; to one digit half a unit is 5.
    """
    factors = dict(zip(("x1", "x2", "x3", "x4"), inputs, strict=True))

    (found,) = gum_budget(Problem.of([sum_of_four], factors))

    assert found.standard_uncertainty == pytest.approx(uncertainty, rel=0.005)
    assert found.expanded == pytest.approx(expanded, abs=0.05)
    assert found.settled
    assert found.digits == digits


def test_the_mass_comparison_is_not_borne_out():
    """JCGM 101:2008, 9.3: first order 1.2340 and 0.0539, Monte Carlo 1.2341 and 0.0754."""
    problem = Problem.of(
        [mass],
        {
            "m_rc": normal(100_000, 0.050),
            "dm_rc": normal(1.234, 0.020),
            "rho_a": uniform(1.10, 1.30),
            "rho_w": uniform(7000, 9000),
            "rho_r": uniform(7950, 8050),
        },
    )

    (found,) = gum_budget(problem)

    assert found.estimate == pytest.approx(1.234, abs=5e-5)
    assert found.standard_uncertainty == pytest.approx(0.0538516, rel=1e-4)
    assert (found.low, found.high) == pytest.approx((1.1285, 1.3395), abs=5e-5)
    assert found.monte_carlo_uncertainty == pytest.approx(0.0754797, rel=0.002)
    assert found.digits == 0
    assert "do not use it" in found.sentence


def test_the_gauge_block_has_sixteen_degrees_of_freedom():
    """GUM H.1 (from memory): u = 32 nm, 16 effective degrees, U of 99 % 93 nm.

    93 is t(16, .995) x 32, both rounded before; unrounded it is 92.6, at 16.8 degrees 91.9.
    """
    nm = 1e6
    problem = Problem.of(
        [length],
        {
            "standard": normal(50.000623 * nm, 25),
            "read": normal(215, 5.8),
            "random": normal(0, 3.9),
            "systematic": normal(0, 6.7),
            "d_alpha": uniform(-1e-6, 1e-6),
            "theta": arcsine(-0.1 - 0.5 * math.sqrt(1.32), -0.1 + 0.5 * math.sqrt(1.32)),
            "alpha": uniform(9.5e-6, 13.5e-6),
            "d_theta": uniform(-0.05, 0.05),
        },
    )
    degrees = {
        "standard": 18,
        "read": 24,
        "random": 5,
        "systematic": 8,
        "d_alpha": 50,
        "d_theta": 2,
    }

    (found,) = gum_budget(problem, 0.99, degrees=degrees)

    assert found.standard_uncertainty == pytest.approx(32, abs=0.5)
    assert math.floor(found.degrees) == 16
    assert found.expanded == pytest.approx(92, abs=0.5)
    largest = max(found.rows, key=lambda row: row.contribution)
    assert (largest.factor, round(largest.contribution)) == ("standard", 25)


def test_repeated_readings_count_with_their_degrees_of_freedom():
    """One scaled t of 9 degrees: U = t(9, .975) s/sqrt(n), 2.262157 (any table of t)."""
    (found,) = gum_budget(Problem.of([total], {"a": student_t(5, 0.2, 9), "b": normal(0, 1e-9)}))

    assert found.degrees == pytest.approx(9, rel=1e-6)
    assert found.factor == pytest.approx(2.262157, abs=1e-6)
    assert found.digits == 2


@pytest.mark.parametrize("rho", [-1.0, -0.5, 0.8])
def test_correlation_enters_the_combined_uncertainty(rho):
    tied = Correlation("knowledge", ("a", "b"), ((1, rho), (rho, 1)))
    problem = Problem.of([total], {"a": normal(1, 1), "b": normal(1, 2)}, correlations=tied)

    (found,) = gum_budget(problem)

    assert found.standard_uncertainty == pytest.approx(math.sqrt(5 + 4 * rho), rel=1e-6)


def test_correlated_lognormals_have_the_closed_covariance():
    """Cov = m^2 (exp(rho s^2) - 1) for means m (any text on lognormals)."""
    tied = Correlation("knowledge", ("a", "b"), ((1, 0.7), (0.7, 1)))
    problem = Problem.of([total], dict.fromkeys("ab", lognormal(1, 0.4)), correlations=tied)
    square = math.exp(0.16)

    (found,) = gum_budget(problem)

    variance = 2 * square * (math.expm1(0.16) + math.expm1(0.7 * 0.16))
    assert found.standard_uncertainty == pytest.approx(math.sqrt(variance), rel=1e-6)


def test_a_t_without_variance_counts_with_its_scale():
    problem = Problem.of([total], {"a": lognormal(1, 1), "b": student_t(0, 1, 2)})
    plain = Problem.of([total], {"a": lognormal(1, 1), "b": student_t(0, 1, 3)})

    assert gum_budget(plain)[0].degrees > 0
    assert np.isfinite(gum_budget(problem)[0].standard_uncertainty)


def test_unknown_degrees_are_refused():
    with pytest.raises(StudyError, match="no factor c"):
        gum_budget(Problem.of([total], dict.fromkeys("ab", normal(0, 1))), degrees={"c": 3})


@pytest.mark.parametrize(
    ("uncertainty", "digits", "half"),
    [(0.0754, 2, 0.0005), (10.1, 2, 0.5), (35.0, 1, 5.0), (0.996, 2, 0.05), (2.0, 2, 0.05)],
)
def test_tolerances_are_half_a_unit_of_the_last_digit(uncertainty, digits, half):
    """JCGM 101:2008, 7.9.2: 0.00035 g with one digit gives 0.00005 g, with two 0.000005 g."""
    assert tolerance(uncertainty, digits) == pytest.approx(half)
    assert tolerance(0.00035, digits) == pytest.approx({1: 5e-5, 2: 5e-6}[digits])


@pytest.mark.parametrize(("rho", "degrees"), [(0.0, 25 / (1 / 4 + 16 / 5)), (1.0, 4.0)])
def test_degrees_of_correlated_inputs_are_the_fewest_of_them(rho, degrees):
    """Uncorrelated as in the GUM, G.2b; one error that enters twice has its own and not more."""
    tied = Correlation("knowledge", ("a", "b"), ((1, rho), (rho, 1)))
    inputs = {"a": student_t(0, 1, 4), "b": student_t(0, 2, 5)}

    (found,) = gum_budget(Problem.of([total], inputs, correlations=tied))

    assert found.degrees == pytest.approx(degrees, rel=1e-9)
