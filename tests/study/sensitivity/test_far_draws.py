"""Shares of a variance that few draws carry, or that an input does not have, are told as rough."""

import json

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal, student_t
from brewsim.study.model.problem import Problem
from brewsim.study.sensitivity.far_draws import lumps
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank


def product(a, b):
    return a * b


def notes(study, law, **options):
    problem = Problem.of([product], {"a": law, "b": normal(1, 0.1)}, **options)
    return json.loads(study(problem, base=256).attrs["notes"])


@pytest.mark.parametrize("study", [rank, shapley])
def test_far_draws_are_told_and_a_log_scale_settles_them(study):
    rough = "product: a few far draws carry its variance: take its shares as rough"

    assert notes(study, normal(0, 1)) == []
    assert notes(study, lognormal(1, 0.2)) == []
    assert notes(study, lognormal(1, 1.5)) == [rough]
    assert notes(study, lognormal(1, 1.5), scales={"product": "log"}) == []


@pytest.mark.parametrize("study", [rank, shapley])
def test_an_input_without_variance_is_named(study):
    told = notes(study, student_t(0, 1, 2))

    assert told[0].startswith("a: without a variance")


def test_lumps_are_those_of_a_normals_square():
    """E z^2 = 1, E z^4 = 3, E z^6 = 15; what is not finite is left out."""
    values = np.random.default_rng(3).standard_normal((1, 2**20))
    values[0, :5] = np.nan

    assert lumps(values)[0] == pytest.approx([1, 3, 15], rel=0.02)


def test_a_constant_has_no_lumps():
    assert not lumps(np.full((1, 64), 0.1)).any()
