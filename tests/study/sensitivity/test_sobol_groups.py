"""Indices of groups, of what is tied, of rare events and after learning."""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import pytest

from brewsim.distributions.constructors import bernoulli, normal
from brewsim.errors import StudyError
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.sensitivity.sobol import rank
from tests.study.models import (
    SHARES,
    correlated_pair,
    ishigami_problem,
    sum_of_four,
)


def test_correlated_factors_are_ranked_as_one_and_it_says_so():
    found = rank(correlated_pair(0.5))

    assert list(found["factor"].to_numpy()) == ["a + b"]
    assert json.loads(found.attrs["merged"]) == [["a", "b"]]
    assert float(found["total_order"][0, 0]) == pytest.approx(1.0, abs=0.005)
    assert float(found["variance"][0]) == pytest.approx(7.0, rel=0.005)


def test_groups_are_closed_sets_of_factors():
    base = Problem.of([sum_of_four], {f"x{i}": normal(0, 1) for i in range(1, 5)})
    groups = {"x1": "malt", "x2": "malt", "x3": "hops", "x4": "hops"}
    factors = tuple(replace(f, group=groups[f.id], turnable=f.id == "x1") for f in base.factors)

    found = rank(replace(base, factors=factors), by="group")

    assert list(found["factor"].to_numpy()) == ["hops", "malt"]
    np.testing.assert_allclose(found["first_order"][0], 0.5, atol=0.005)
    assert list(found["turnable"].to_numpy()) == [False, True]


def stalled(x, stall_share):
    return x + 10 * stall_share


def test_rare_events_are_held_while_ranking():
    base = Problem.of([stalled], {"x": normal(0, 1), "stall_share": bernoulli(0.02)})
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)

    found = rank(replace(base, factors=factors))

    assert list(found["factor"].to_numpy()) == ["x"]
    assert float(found["variance"][0]) == pytest.approx(1.0, rel=0.01)
    assert json.loads(found.attrs["events_held"]) == ["stall_share"]


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def learned_four():
    """x1 and x2 are tied by what was learned: their sum is known, their difference is not."""
    rng = np.random.default_rng(4)
    apart = rng.normal(0, 1, 512)
    small = rng.normal(0, 0.1, 512)
    draws = {"x1 @knowledge": apart + small, "x2 @knowledge": small - apart}
    problem = Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), SHARES) for i in range(1, 5)})
    return replace(problem, learned=Learned(draws, np.repeat(np.arange(8), 64)))


def test_after_learning_posterior_draws_are_exchanged_whole():
    found = rank(learned_four()).sel(outcome="sum_of_four")

    total = found["total_order"]
    variance = 2 * 1.0 + 2 * 0.5 + 0.5 * 0.04
    assert set(found["factor"].to_numpy()) == {"still not known", "x1", "x2", "x3", "x4"}
    assert float(total.sel(factor="still not known")) == pytest.approx(0.02 / variance, abs=0.003)
    assert float(total.sel(factor="x1")) == pytest.approx(0.5 / variance, abs=0.01)


def test_after_learning_kinds_still_make_up_the_whole():
    problem = replace(learned_four(), outcomes=("sum_of_four",))

    found = rank(problem, by="kind", pairs=[("batch", "lot")]).sel(outcome="sum_of_four")

    rest = found["first_order"].sel(factor=["lot", "batch"]).sum() + found["second_order"].sum()
    known = float(found["total_order"].sel(factor="knowledge"))
    assert known + float(rest) == pytest.approx(1.0, abs=0.01)


def test_threads_and_long_replicates_change_no_bit():
    problem = ishigami_problem(SHARES)
    with ThreadPoolExecutor(3) as threads:
        there = rank(problem, base=32_768, replicates=2, executor=threads)

    assert there.identical(rank(problem, base=32_768, replicates=2))


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"by": "fator"}, "Did you mean factor"),
        ({"pairs": [("x1", "y")]}, "nothing called y"),
        ({"pairs": [("x1", "x1")]}, "two different"),
        ({"base": 1000}, "power of two"),
    ],
)
def test_what_cannot_be_ranked_is_refused(more, message):
    with pytest.raises(StudyError, match=message):
        rank(ishigami_problem(), **more)


def test_factors_do_not_have_to_be_independent_of_the_kind_asked():
    """A correlation of what is known leaves the ranking by kind as it is: V = 5 + 2 rho."""
    tied = Correlation("knowledge", ("a", "b"), ((1, 0.5), (0.5, 1)))
    shares = Kinds(0.6, 0.0, 0.4)
    problem = Problem.of(
        [weighted_pair],
        {"a": (normal(0, 1), shares), "b": (normal(0, 2), shares)},
        correlations=(tied,),
    )

    found = rank(problem, by="kind").sel(outcome="weighted_pair")

    assert float(found["variance"]) == pytest.approx(5 + 2 * 0.6, rel=0.005)
    assert float(found["first_order"].sel(factor="batch")) == pytest.approx(2 / 6.2, abs=0.005)


def weighted_pair(a, b):
    return a + b
