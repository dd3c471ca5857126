"""Normal scores by pieces against SciPy's quantile of the normal distribution."""

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.distributions.normal_scores import LEAST, normal_scores

STEP = 2.0**-31


def test_scores_are_scipys_quantiles_in_the_middle_and_far_out():
    uniform = np.random.default_rng(1).random(1_000_000) * (1 - 2 * STEP) + STEP
    tails = np.geomspace(LEAST, 0.5, 200_000)
    points = np.concatenate([uniform, tails, 1 - tails, [STEP, 0.5 - STEP, 0.5, 0.5 + STEP]])

    assert np.abs(normal_scores(points) - ndtri(points)).max() < 5e-12


def test_scores_rise_with_the_point_across_every_seam():
    seams = np.unique(np.concatenate([2.0**-k * (1 + np.arange(256) / 256) for k in range(2, 33)]))
    around = np.sort(np.concatenate([np.nextafter(seams, 0), seams, seams + STEP]))

    assert np.all(np.diff(normal_scores(around[around >= LEAST])) >= -1e-15)


@pytest.mark.parametrize("uniform", [STEP, 0.1, 0.25, 0.5 - STEP])
def test_scores_are_the_same_on_both_sides(uniform):
    low, high = normal_scores(np.array([uniform, 1 - uniform]))

    assert low == -high < 0


def test_the_middle_is_nought_and_shapes_stay():
    assert normal_scores(np.full((2, 3), 0.5)).tolist() == [[0.0] * 3] * 2
