"""Two problems on common draws: ties, pure shifts, scatter, how many brews."""

import numpy as np
import pytest

from brewsim.study.compare import batches_to_tell, compare
from tests.study.linear import linear_problem


@pytest.fixture(scope="module")
def problem():
    return linear_problem()


def test_identical_recipes_tie_exactly(problem):
    found = compare(problem, problem)

    assert np.all(found.tied.values == 1.0)
    assert np.all(found.difference.values == 0.0)


def test_a_shift_is_seen_without_noise_on_common_draws(problem):
    """Common random numbers: the difference of a pure shift has no variance at all."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.difference == pytest.approx(1.0)
    assert found.low == pytest.approx(1.0)
    assert found.variance_ratio > 1e6
    assert found.higher == 1.0


def test_scatter_is_that_of_repeat_brews(problem):
    """Batch kind alone: half the variance of `known` (0.5) and all of `scatter` (4)."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.scatter == pytest.approx(np.sqrt(4.5), rel=0.02)


def test_the_number_of_brews_is_the_handbook_one():
    """NIST/SEMATECH e-Handbook 7.2.2.2: 5 %, power 80 %: n = 2 (1.96 + 0.84)^2 at d = s."""
    assert batches_to_tell(1.0, 1.0) == 16.0
    assert np.isnan(batches_to_tell(0.0, 1.0))
    assert np.isnan(batches_to_tell(0.001, 1.0))
