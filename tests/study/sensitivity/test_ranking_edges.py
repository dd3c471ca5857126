"""Rankings after learning, of groups and kinds, with rows left out and on an executor."""

import json
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace

import numpy as np
import pytest

from brewsim.distributions.constructors import normal, uniform
from brewsim.study.model.factor import Kinds
from brewsim.study.model.latents import latents
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.sensitivity.permutation_paths import correlated_blocks, score_moments
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from tests.study.models import ishigami, ishigami_problem, log_plus, sum_of_four


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def test_scores_after_learning_have_the_mean_and_covariance_of_what_was_drawn():
    """Knowledge 0.5: half of the drawn covariance, and what was not learned beside it."""
    draws = np.random.default_rng(3).multivariate_normal([1, -2], [[1, 0.6], [0.6, 2]], 512).T
    kinds = Kinds(0.5, 0.0, 0.5)
    problem = replace(
        Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), kinds) for i in range(1, 5)}),
        learned=Learned(
            {"x1 @knowledge": draws[0], "x3 @knowledge": draws[1]}, np.repeat(np.arange(8), 64)
        ),
    )

    mean, covariance = score_moments(latents(problem))

    spread = 0.5 * np.cov(draws)
    assert mean == pytest.approx(
        [np.sqrt(0.5) * draws[0].mean(), 0, np.sqrt(0.5) * draws[1].mean(), 0]
    )
    exact = np.eye(4)
    exact[np.ix_([0, 2], [0, 2])] = spread + 0.5 * np.eye(2)
    np.testing.assert_allclose(covariance, exact, atol=1e-12)
    assert correlated_blocks(covariance) == [(0, 2), (1,), (3,)]
    assert shapley(problem, base=64).attrs["approximate"] == 1
    assert shapley(replace(problem, learned=None), base=64).attrs["approximate"] == 0


def test_factors_belong_together_by_any_chain_of_correlations():
    """0 with 2, 2 with 4, 1 with 3; 5 with nobody, and a trace of rounding is no tie."""
    table = np.eye(6)
    for i, j, r in ((0, 2, 0.5), (2, 4, -0.2), (1, 3, 0.1), (5, 0, 1e-13)):
        table[i, j] = table[j, i] = r

    assert correlated_blocks(table) == [(0, 2, 4), (1, 3), (5,)]


def test_a_group_is_ranked_with_all_its_factors_and_says_what_it_is():
    base = Problem.of([sum_of_four], {f"x{i}": normal(0, float(i)) for i in range(1, 5)})
    groups = {"x1": "malt", "x2": "", "x3": "malt", "x4": "hops"}
    factors = tuple(
        replace(f, group=groups[f.id], label=f"the {f.id}", measurable=f.id == "x3")
        for f in base.factors
    )
    problem = replace(base, factors=factors)

    found = rank(problem, base=256, by="group").sel(outcome="sum_of_four")
    single = rank(problem, base=256)

    assert found["factor"].values.tolist() == ["hops", "malt", "x2"]
    assert found["label"].values.tolist() == ["hops", "malt", "x2"]
    assert found["total_order"].values == pytest.approx([16 / 30, 10 / 30, 4 / 30], abs=0.01)
    assert found["measurable"].values.tolist() == [False, True, False]
    assert single["label"].values.tolist() == ["the x1", "the x2", "the x3", "the x4"]
    assert json.loads(single.attrs["merged"]) == []


def test_kinds_are_named_and_only_those_there_are_ranked():
    problem = Problem.of(
        [sum_of_four],
        {
            "x1": (normal(0, 1), Kinds(0, 1, 0)),
            **{f"x{i}": (normal(0, 1), Kinds(0, 0, 1)) for i in (2, 3, 4)},
        },
    )

    found = rank(problem, base=256, by="kind").sel(outcome="sum_of_four")

    assert found["factor"].values.tolist() == ["batch", "lot"]
    assert found["label"].values.tolist() == [
        "What varies from brew to brew",
        "A new lot of each ingredient",
    ]
    assert found["total_order"].values == pytest.approx([0.75, 0.25], abs=0.01)
    assert not found["turnable"].any()
    assert not found["measurable"].any()


def test_where_rows_are_left_out_shares_are_still_those_of_the_others():
    """The logarithm of an even share has variance 1, beside a sd of 2: a fifth and four."""
    problem = Problem.of([log_plus], {"x1": uniform(-0.004, 0.996), "x2": normal(0, 2)})

    found = shapley(problem)

    assert found["shapley"].values[0] == pytest.approx([0.2, 0.8], abs=0.02)


def early(x1):
    return 2.0 * x1


def test_a_pair_that_cannot_reach_an_outcome_acts_on_it_by_exactly_nothing():
    one = uniform(-np.pi, np.pi)
    problem = Problem.of([early, ishigami], {"x1": one, "x2": one, "x3": one})

    found = rank(problem, base=64, pairs=[("x2", "x3")]).sel(outcome="early")

    ends = [float(found[f"second_order{end}"][0]) for end in ("_low", "", "_high")]
    assert ends == [0.0, 0.0, 0.0]


class Counted(Executor):
    """Runs everything at once in the calling thread, and counts."""

    def __init__(self):
        self.count = 0

    def submit(self, function, /, *args, **kwargs):
        self.count += 1
        future = Future()
        future.set_result(function(*args, **kwargs))
        return future


@pytest.mark.parametrize("study", [rank, shapley, simulate, summarise_large])
def test_every_long_study_gives_its_replicates_to_the_executor_and_tells_how_far_it_is(study):
    heard, executor = [], Counted()

    study(
        ishigami_problem(),
        1024,
        executor=executor,
        progress=lambda share, text: heard.append((share, text)),
    )

    assert executor.count == 8
    assert [share for share, _ in heard] == [k / 8 for k in range(1, 9)]
    assert heard[-1][1] == "replicate 8 of 8"


def test_automatic_draws_go_to_the_executor_too():
    executor = Counted()

    found = simulate(ishigami_problem(), "auto", executor=executor)

    doublings = int(np.log2(found.sizes["draw"] / 4096))
    assert executor.count == 8 * (1 + doublings)
