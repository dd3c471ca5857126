"""A search is limited by work: no clock decides a number, and what is not known is not trusted."""

import time

import numpy as np
import pytest

import brewsim.study.inference.update as module
from brewsim.distributions.constructors import normal
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem


def square(a):
    return a**2


def slow_square(a):
    time.sleep(0.002)
    return a**2


def level(mu, b):
    return 10 + 2 * mu + b


def total(a, b):
    return a + b


def squared(formula):
    return Problem.of([formula], {"a": normal(0.3, 1)})


@pytest.mark.slow
def test_a_slower_machine_draws_the_same():
    draws = []
    for formula in (square, slow_square):
        problem = squared(formula)
        batch = Batch("1", problem, (Reading(formula.__name__, 4.0, 0.1),))
        learned = update(problem, [batch], time_limit_s=0.15, chains=64)
        draws.append(learned.draws["a @knowledge"])

    np.testing.assert_array_equal(*draws)


@pytest.mark.slow
@pytest.mark.parametrize("limit", [0.3, 1.0])
def test_the_limit_of_work_is_kept_within_a_fifth(limit, monkeypatch):
    """Two humps never settle, so the search goes on for as long as it may."""
    models = []
    real = module.Model
    monkeypatch.setattr(module, "Model", lambda *a, **k: models.append(real(*a, **k)) or models[-1])
    problem = squared(square)
    batch = Batch("1", problem, (Reading("square", 4.0, 0.05),))

    update(problem, [batch], time_limit_s=limit)

    assert models[0].work.seconds <= 1.2 * limit
    assert models[0].work.seconds >= 0.5 * limit


@pytest.mark.slow
def test_many_readings_in_one_batch_do_not_break_the_limit():
    """Trajectories over 300 readings cost more than the limit, so slices alone are taken."""
    problem = Problem.of([level], {"mu": normal(0, 1), "b": (normal(0, 1), Kinds(0, 0, 1))})
    rng = np.random.default_rng(4)
    values = 11.4 + rng.standard_normal(300)
    readings = tuple(Reading("level", float(v), 1.0) for v in values)
    began = time.process_time()

    learned = update(problem, [Batch("1", problem, readings)], time_limit_s=1)

    assert time.process_time() - began < 6
    slope = np.array([2.0, 1.0])
    precision = np.eye(2) + 300 * np.outer(slope, slope)
    mean = np.linalg.solve(precision, slope * (values - 10).sum())
    assert learned.mean("mu @knowledge") == pytest.approx(mean[0], abs=0.1)


def test_chains_that_stay_in_two_humps_are_not_trusted():
    problem = squared(square)
    batch = Batch("1", problem, (Reading("square", 4.0, 0.02),))

    learned = update(problem, [batch], time_limit_s=0.3)

    assert learned.memory > 0.5
    assert not learned.trusted


def test_a_very_exact_reading_is_reached_and_not_called_unexplained():
    problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 1)})
    batch = Batch("1", problem, (Reading("total", 1.0, 1e-9),))

    learned = update(problem, [batch], keep=20, time_limit_s=0)

    assert abs(learned.surprises[0].residual) < 0.5
    assert learned.remarks == ()


def test_what_was_learned_prints_short_and_goes_to_arviz():
    problem = Problem.of([total], {"a": normal(5, 2), "b": (normal(0, 1), Kinds(0, 0, 1))})
    batch = Batch("1", problem, (Reading("total", 6.0, 0.5),))
    learned = update(problem, [batch], keep=20, time_limit_s=0)

    tree = learned.to_xarray()

    assert len(repr(learned)) < 200
    assert tree["posterior"]["score"].dims == ("chain", "draw", "latent")
    assert tree["posterior"]["a"].shape == (8, 64)
    expected = 5 + 2 * learned.mean("a @knowledge")
    assert float(tree["posterior"]["a"].mean()) == pytest.approx(expected, abs=0.2)
    assert tree["observed_data"]["value"].to_numpy().tolist() == [6.0]
