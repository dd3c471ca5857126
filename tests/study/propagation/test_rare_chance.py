"""Rare chances against closed forms: normals, products, several limits, rare events, learning."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from brewsim.distributions.constructors import bernoulli, lognormal, normal, uniform
from brewsim.errors import StudyError
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.rare_chance import rare_chance
from tests.study.models import correlated_pair

NORMAL = normal(0.0, 1.0)
WIDTHS = 4.0 / 2.3646
"""Four standard errors in half widths of a t interval with 7 degrees of freedom."""


def total(a, b):
    return a + b


def amount(a, b, c):
    return a * b * c


def one(a, b):
    return a + b


def two(c, d):
    return 3 * c - 4 * d


def level(stall, start, idle):
    return start + 3 * stall + 0 * idle


def steps(a):
    return np.floor(4 * a)


def rooted(a):
    return np.sqrt(a)


def holds(found, truth):
    """Tell whether a chance lies within four standard errors, on its own logarithmic scale."""
    width = math.log(found.high / found.low) / 2
    return found.trusted and abs(math.log(found.chance / truth)) <= WIDTHS * width


@pytest.mark.parametrize("chance", [0.3, 1e-3, 1e-4, 1e-5, 1e-6, 1e-9])
def test_a_sum_of_normals(chance):
    limit = 5 * norm.isf(chance)
    problem = Problem.of([total], {"a": normal(0, 3), "b": normal(0, 4)})

    found = rare_chance(problem, {"total": Target(upper=limit)})

    assert holds(found, chance)
    assert found.high / found.low < 1.2
    assert found.evaluations < 100_000


def test_a_sum_of_normals_says_what_it_comes_of():
    """Given a sum far out, the share of each normal is as its variance: 0.6 and 0.8 of it."""
    problem = Problem.of([total], {"a": normal(0, 3), "b": normal(0, 4)})

    found = rare_chance(problem, {"total": Target(upper=25.0)})

    reach = norm.pdf(5) / norm.sf(5)
    assert found.scores["a"] == pytest.approx(0.6 * reach, rel=0.02)
    assert found.scores["b"] == pytest.approx(0.8 * reach, rel=0.02)


def test_a_product_of_lognormals():
    factors = {n: lognormal(1.0, s) for n, s in zip("abc", (0.2, 0.4, 0.6), strict=True)}
    limit = math.exp(math.sqrt(0.56) * norm.isf(1e-6))

    found = rare_chance(Problem.of([amount], factors), {"amount": Target(upper=limit)})

    assert holds(found, 1e-6)


def test_any_of_several_limits():
    """Four ways out, in units that differ."""
    factors = dict.fromkeys("abcd", NORMAL)
    targets = {"one": Target(-6.0, 6.0), "two": Target(-22.0, 22.0)}
    problem = Problem.of([one, two], factors, targets=targets)

    found = rare_chance(problem)

    inside = (1 - 2 * norm.sf(6 / math.sqrt(2))) * (1 - 2 * norm.sf(22 / 5))
    assert holds(found, 1 - inside)


def test_a_rare_event_is_among_the_ways():
    factors = {"stall": bernoulli(0.02), "start": NORMAL, "idle": NORMAL}

    found = rare_chance(Problem.of([level], factors), {"level": Target(upper=5.5)})

    assert holds(found, 0.98 * norm.sf(5.5) + 0.02 * norm.sf(2.5))


def test_correlated_inputs():
    problem = correlated_pair(0.5)
    spread = math.sqrt(1 + 4 + 2)

    found = rare_chance(problem, {"weighted": Target(lower=-4.5 * spread)})

    assert holds(found, norm.cdf(-4.5))


def test_what_was_learned_counts():
    """A linear-Gaussian posterior; the draws that stand for it add to the stated error."""
    scatter = (NORMAL, Kinds(0, 0, 1))
    problem = Problem.of([total], {"a": NORMAL, "b": scatter})
    learned = update(problem, [Batch("1", problem, (Reading("total", 2.0, 0.3),))])
    mean, spread = 2 / 2.09, math.sqrt(2 - 1 / 2.09)

    found = rare_chance(
        replace(problem, learned=learned), {"total": Target(upper=mean + 4 * spread)}
    )

    assert found.low < norm.sf(4) < found.high


def test_what_cannot_be_is_bounded():
    problem = Problem.of([total], {"a": uniform(0, 1), "b": uniform(0, 1)})

    found = rare_chance(problem, {"total": Target(upper=2.0)})

    assert (found.chance, found.low) == (0.0, 0.0)
    assert 0 < found.high < 1e-12
    assert found.remarks == ("nothing beyond the limit was found",)


def test_what_is_rarer_than_asked_is_bounded():
    problem = Problem.of([total], {"a": NORMAL, "b": NORMAL})

    found = rare_chance(problem, {"total": Target(upper=10.0)}, least=1e-5)

    assert found.chance == 0
    assert norm.sf(10 / math.sqrt(2)) < found.high < 1e-5
    assert found.evaluations < 60_000


def test_a_staircase_without_a_top_step_is_bounded_by_what_was_seen():
    found = rare_chance(Problem.of([steps], {"a": uniform(0, 1)}), {"steps": Target(upper=3.0)})

    assert found.chance == 0
    assert found.high < 0.01
    assert not found.trusted


def test_draws_without_a_value_count_as_within_and_are_counted():
    problem = Problem.of([rooted], {"a": NORMAL})

    found = rare_chance(problem, {"rooted": Target(upper=2.0)})

    assert found.chance == pytest.approx(norm.sf(4.0), rel=0.1)
    assert 3500 < found.no_value < 5000
    assert "draws have no value and count as within the limits" in found.remarks[0]


def test_two_ways_that_disagree_are_said(monkeypatch):
    """Weighted draws that look at one of two humps only would give half the chance, unsaid."""
    module = "brewsim.study.propagation.rare_chance.fitted"
    from brewsim.study.propagation.tail_proposal import fitted

    def one_hump(beyond, rng):
        own = [(s[:, s[0] > 0], w[s[0] > 0]) for s, w in beyond]
        return fitted(own, rng)

    monkeypatch.setattr(module, one_hump)
    problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 1e-6)})

    found = rare_chance(problem, {"total": Target(-4.5, 4.5)}, particles=4096)

    assert not found.trusted
    assert found.low < 2 * norm.sf(4.5) < found.high


def test_the_same_seed_gives_the_same_chance():
    problem = Problem.of([total], {"a": NORMAL, "b": NORMAL})
    asked = {"total": Target(upper=6.0)}

    assert rare_chance(problem, asked, seed=3) == rare_chance(problem, asked, seed=3)
    assert rare_chance(problem, asked, seed=3) != rare_chance(problem, asked, seed=4)


@pytest.mark.parametrize(
    ("limits", "more", "words"),
    [
        ({}, {}, "there is no limit"),
        ({"totl": Target(upper=1.0)}, {}, "Did you mean total"),
        ({"total": Target()}, {}, "lower or an upper limit"),
        ({"total": (0, 1)}, {}, "a limit is Target"),
        ({"total": Target(upper=1.0)}, {"precision": 2}, "precision lies between 0 and 1"),
        ({"total": Target(upper=1.0)}, {"particles": 10}, "particles are 64 or more"),
    ],
)
def test_what_cannot_be_asked(limits, more, words):
    problem = Problem.of([total], {"a": NORMAL, "b": NORMAL})

    with pytest.raises(StudyError, match=words):
        rare_chance(problem, limits, **more)
