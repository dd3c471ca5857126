"""A search that has not forgotten where it began says so."""

import numpy as np
import pytest

from brewsim import Problem, normal
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading


def product(a, b):
    return a * b


def total(a, b):
    return a + b


def square(a, b):
    return a**2 + b


@pytest.mark.parametrize("formula", [product, total, square])
def test_a_search_that_cannot_forget_is_told_from_one_that_did(formula):
    """From a^2 = 6 no chain finds the way to the other root; along a b = 6 all go far."""
    problem = Problem.of([formula], {"a": normal(0, 1), "b": normal(0.1, 0.1)})
    if formula is not square:
        problem = Problem.of([formula], {"a": normal(3, 1), "b": normal(3, 1)})
    batch = Batch("1", problem, (Reading(formula.__name__, 6.0, 0.02),))

    learned = update(problem, [batch], keep=20, time_limit_s=0)

    stuck = any("forgotten" in remark for remark in learned.remarks)
    assert stuck == (formula is square)
    assert (learned.memory > 0.9) == (formula is square)
    assert (learned.memory < 0.3) == (formula is not square)


@pytest.mark.slow
def test_a_bent_and_narrow_ridge_keeps_its_true_shape():
    """Posterior of a where a b is read as 6.00 with error 0.05: integrated on a grid."""
    problem = Problem.of([product], {"a": normal(3, 1), "b": normal(3, 1)})
    batch = Batch("1", problem, (Reading("product", 6.0, 0.05),))
    grid = np.linspace(-7, 7, 2801)
    a, b = np.meshgrid(3 + grid, 3 + grid, indexing="ij")
    density = np.exp(-0.5 * (grid[:, None] ** 2 + grid**2) - 0.5 * ((a * b - 6) / 0.05) ** 2)
    weight = density.sum(axis=1) / density.sum()
    mean = (weight * grid).sum()
    spread = np.sqrt((weight * grid**2).sum() - mean**2)

    learned = update(problem, [batch], burn=10, keep=300, time_limit_s=0)

    error = max(learned.precision, 0.01) * spread
    assert learned.mean("a @knowledge") == pytest.approx(mean, abs=4 * error)
    assert learned.standard_deviation("a @knowledge") == pytest.approx(spread, rel=0.05)
