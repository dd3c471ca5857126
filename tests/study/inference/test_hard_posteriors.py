"""Funnel, banana, two humps, 200 batches: how far off, how far it says, and what it says.

Each truth is an integral over one latent, the others being normal given it. Errors are in posterior
standard deviations and held against what `worst` allows: four standard errors.
"""

import time

import numpy as np
import pytest
from scipy.stats import norm

from brewsim.distributions.constructors import normal
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem

NORMAL, OWN = normal(0, 1), Kinds(0, 0, 1)
ALLOWED = 4 / 2.3646


def bent(a, b):
    return a + b**2


def scaled(s, e):
    return np.exp(s) * e


def humps(a):
    return (a + 0.3) ** 2


def level(mu, b):
    return 10 + 2 * mu + b


def moments(places, weights):
    mean = (weights * places).sum()
    return mean, np.sqrt((weights * places**2).sum() - mean**2)


@pytest.mark.parametrize("noise", [0.5, 0.1, 0.01])
def test_a_banana(noise):
    problem = Problem.of([bent], {"a": NORMAL, "b": NORMAL})
    b = np.linspace(-6, 6, 200_001)
    weights = norm.pdf(b) * norm.pdf(2 - b**2, 0, np.sqrt(1 + noise**2))
    weights /= weights.sum()
    middles, own = (2 - b**2) / (1 + noise**2), noise**2 / (1 + noise**2)
    mean, spread = moments(middles, weights)
    spread = np.sqrt(spread**2 + own)

    learned = update(problem, [Batch("1", problem, (Reading("bent", 2.0, noise),))])

    assert learned.trusted
    assert learned.worst < 0.6
    assert abs(learned.mean("a @knowledge") - mean) < ALLOWED * learned.worst * spread
    assert learned.standard_deviation("a @knowledge") == pytest.approx(spread, rel=0.15)
    wide = moments(b, weights)[1]
    assert abs(learned.mean("b @knowledge")) < ALLOWED * learned.worst * wide
    assert learned.standard_deviation("b @knowledge") == pytest.approx(wide, rel=0.15)


@pytest.mark.parametrize(("noise", "seed"), [(1.0, 1), (0.1, 1), (0.1, 2), (0.1, 6)])
def test_a_funnel_of_eight_groups(noise, seed):
    """An ensemble that starts in the neck comes out slowly: all its groups together."""
    problem = Problem.of([scaled], {"s": NORMAL, "e": (NORMAL, OWN)})
    values = (0.776, -0.339, 1.773, -0.356, 0.016, 2.649, 0.81, -0.862)
    batches = [Batch(str(i), problem, (Reading("scaled", v, noise),)) for i, v in enumerate(values)]
    s = np.linspace(-8, 6, 100_001)
    spreads = np.sqrt(np.exp(2 * s) + noise**2)
    log = norm.logpdf(s) + sum(norm.logpdf(v, 0, spreads) for v in values)
    weights = np.exp(log - log.max())
    mean, spread = moments(s, weights / weights.sum())

    learned = update(problem, batches, seed=seed)

    assert learned.trusted
    assert learned.worst < 0.6
    assert abs(learned.mean("s @knowledge") - mean) < ALLOWED * learned.worst * spread
    assert learned.standard_deviation("s @knowledge") == pytest.approx(spread, rel=0.15)


@pytest.mark.slow
@pytest.mark.parametrize("noise", [1.0, 0.05])
def test_two_humps_are_weighed_or_told(noise):
    problem = Problem.of([humps], {"a": NORMAL})
    a = np.linspace(-6, 6, 400_001)
    weights = norm.pdf(a) * norm.pdf(4, (a + 0.3) ** 2, noise)
    weights /= weights.sum()
    smaller = weights[a < -0.3].sum()
    batch = Batch("1", problem, (Reading("humps", 4.0, noise),))

    learned = update(problem, [batch], time_limit_s=2)

    found = np.mean(learned.draws["a @knowledge"] < -0.3)
    assert learned.trusted == (noise == 1.0)
    assert abs(found - smaller) < 0.08 or not learned.trusted
    if not learned.trusted:
        assert any("forgotten" in remark for remark in learned.remarks)


@pytest.mark.slow
def test_two_hundred_batches_are_learned_or_told():
    """Linear and normal, so the truth is a table of 201 latents; 10 s of work at most."""
    count, noise = 200, 0.05
    problem = Problem.of([level], {"mu": NORMAL, "b": (NORMAL, OWN)})
    values = 11.4 + np.random.default_rng(4).standard_normal(count)
    batches = [
        Batch(f"{i:03d}", problem, (Reading("level", float(v), noise),))
        for i, v in enumerate(values)
    ]
    slopes = np.concatenate([np.full((count, 1), 2.0), np.eye(count)], axis=1)
    table = np.linalg.inv(np.eye(1 + count) + slopes.T @ slopes / noise**2)
    mean = table @ slopes.T @ (values - 10) / noise**2
    names = ["mu @knowledge", *(f"b @batch {i:03d}" for i in range(count))]
    began = time.process_time()

    learned = update(problem, batches)

    off = [(learned.mean(n) - m) for n, m in zip(names, mean, strict=True)]
    worst = np.abs(off / np.sqrt(np.diag(table))).max()
    assert time.process_time() - began < 60
    assert worst < ALLOWED * learned.worst or not learned.trusted
