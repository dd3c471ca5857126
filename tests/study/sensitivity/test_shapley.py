"""Shapley effects against closed forms, and the credit given to what the model never reads."""

import json
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from brewsim.distributions.constructors import normal, uniform
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.problem import Problem
from brewsim.study.sensitivity.shapley import shapley
from tests.study.models import (
    correlated_pair,
    g_function,
    ishigami_problem,
    only_a,
    sum_of_four,
    within,
)


def assert_shares(found, exact):
    values = found["shapley"].to_numpy()[0]
    errors = found["shapley_high"].to_numpy()[0] - values
    for value, wanted, error in zip(values, exact, errors, strict=True):
        assert within(value, wanted, error), (value, wanted, error)


@pytest.mark.parametrize(
    ("correlation", "shares"),
    [
        (-0.5, (0.125, 0.875)),
        (0.0, (0.2, 0.8)),
        (0.5, (0.339286, 0.660714)),
        (0.9, (0.466860, 0.533140)),
        (1.0, (0.5, 0.5)),
    ],
)
def test_two_correlated_gaussians(correlation, shares):
    """Owen & Prieur, SIAM/ASA J. Uncertainty Quantification 5 (2017) 986; closed form."""
    found = shapley(correlated_pair(correlation))

    assert_shares(found, shares)


def test_what_the_model_never_reads_is_credited_and_named():
    """Iooss & Prieur (arXiv 1707.01334): beta = (1, 0), rho = .5 gives shares .875, .125."""
    found = shapley(correlated_pair(0.5, only_a))

    assert_shares(found, (0.875, 0.125))
    assert json.loads(found.attrs["never_read"]) == {"only_a": ["b"]}
    assert list(found["read"].to_numpy()[0]) == [True, False]
    assert list(found["block"].to_numpy()) == ["a + b", "a + b"]


def test_ishigami_shares_split_its_interaction_in_halves():
    """Owen, SIAM/ASA J. Uncertainty Quantification 2 (2014) 245: .435747, .442411, .121842."""
    found = shapley(ishigami_problem(), base=2048)

    assert_shares(found, (0.435747, 0.442411, 0.121842))


def test_the_g_function():
    """a = (0, 9, 99): .988373, .011512, .000115 from its closed-form interactions."""
    problem = Problem.of([g_function], dict.fromkeys(("x1", "x2", "x3"), uniform(0, 1)))

    assert_shares(shapley(problem), (0.988373, 0.011512, 0.000115))


def test_a_block_of_three_beside_an_independent_factor():
    """Exchangeable block: each of three gets a third of (3 + 6 rho) / V, by symmetry."""
    matrix = tuple(tuple(1.0 if i == j else 0.5 for j in range(3)) for i in range(3))
    problem = Problem.of(
        [sum_of_four],
        {f"x{i}": normal(0, 1) for i in range(1, 5)},
        correlations=(Correlation("knowledge", ("x1", "x2", "x3"), matrix),),
    )

    found = shapley(problem)

    assert_shares(found, (2 / 7, 2 / 7, 2 / 7, 1 / 7))


def test_shares_add_up_to_the_whole():
    for problem in (ishigami_problem(), correlated_pair(0.7)):
        assert float(shapley(problem, base=256)["shapley"].sum()) == pytest.approx(1.0, abs=1e-12)


def log_plus(x1, x2):
    return np.log(x1) + x2


def test_rows_without_a_value_are_left_out_all_along():
    problem = Problem.of([log_plus], {"x1": uniform(-0.003, 0.997), "x2": normal(0, 1)})

    found = shapley(problem)

    np.testing.assert_allclose(found["shapley"][0], [0.5, 0.5], atol=0.02)


def test_threads_change_no_bit():
    with ThreadPoolExecutor(3) as threads:
        there = shapley(correlated_pair(0.5), executor=threads)

    assert there.identical(shapley(correlated_pair(0.5)))
