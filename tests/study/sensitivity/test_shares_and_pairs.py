"""Rankings and Shapley effects: intervals, lists, long blocks, large correlated sets."""

import json
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.graph.build import build_graph
from brewsim.study.model import sampling
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.latents import latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.sensitivity.permutation_paths import correlated_blocks, score_moments
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from tests.study.models import ishigami, ishigami_problem, sum_of_four, within


def half_widths(found, name):
    low, middle, high = (found[f"{name}{end}"].to_numpy() for end in ("_low", "", "_high"))
    return middle - low, high - middle


def test_intervals_reach_as_far_down_as_up_and_hold_their_estimate():
    ranked = rank(ishigami_problem(), base=256, pairs=[("x1", "x3"), ("x2", "x3")])
    shared = shapley(ishigami_problem(), base=64)

    for found, name in (
        (ranked, "first_order"),
        (ranked, "total_order"),
        (ranked, "second_order"),
        (shared, "shapley"),
    ):
        down, up = half_widths(found, name)
        np.testing.assert_allclose(down, up, rtol=1e-9)
        assert (up > 0).all()


def test_a_pair_acts_together_beyond_what_each_does_alone():
    """Var(xy) of N(0, 1)s is all interaction: first orders 0, second 1, totals 1."""

    def product(x, y):
        return x * y

    found = rank(Problem.of([product], {"x": normal(0, 1), "y": normal(0, 1)}), pairs=[("y", "x")])
    row = found.sel(outcome="product")

    assert found["pair"].values.tolist() == ["y × x"]
    error = float(row["second_order_high"][0] - row["second_order"][0])
    assert within(float(row["second_order"][0]), 1.0, error)
    assert row["first_order"].values == pytest.approx([0.0, 0.0], abs=0.02)
    assert row["total_order"].values == pytest.approx([1.0, 1.0], abs=0.03)


def test_blocks_of_rows_are_added_up_to_the_sums_of_the_whole(monkeypatch):
    """Each block's draws are the same as in one piece; only the order of adding differs."""
    kinds = Kinds(0.5, 0.2, 0.3)
    whole = rank(ishigami_problem(kinds), base=512, by="kind", pairs=[("lot", "batch")])
    monkeypatch.setattr(sampling, "ROWS_PER_BLOCK", 128)
    pieces = rank(ishigami_problem(kinds), base=512, by="kind", pairs=[("lot", "batch")])

    for name in ("first_order", "total_order", "second_order", "total_order_low", "variance"):
        np.testing.assert_allclose(pieces[name], whole[name], rtol=1e-9, atol=1e-12)


def log_plus(x1, x2):
    return np.log(x1) + x2


def test_rows_without_a_value_are_counted_over_all_blocks(monkeypatch):
    problem = Problem.of([log_plus], {"x1": uniform(-0.003, 0.997), "x2": normal(0, 1)})
    whole = rank(problem, base=512)
    monkeypatch.setattr(sampling, "ROWS_PER_BLOCK", 128)
    pieces = rank(problem, base=512)

    assert pieces.attrs["left_out"] == whole.attrs["left_out"]
    assert json.loads(whole.attrs["left_out"])["log_plus"] > 0
    np.testing.assert_allclose(pieces["total_order"], whole["total_order"], rtol=1e-9)


def test_simulations_in_blocks_are_the_same_to_the_last_bit(monkeypatch):
    problem = Problem.of([log_plus], {"x1": uniform(-0.1, 0.9), "x2": normal(0, 1)})
    problem = replace(problem, targets={"log_plus": Target(-1.0, 1.0)})
    whole, summed = simulate(problem, 8192, keep_scores=True), summarise_large(problem, 8192)
    monkeypatch.setattr(sampling, "ROWS_PER_BLOCK", 256)

    assert simulate(problem, 8192, keep_scores=True).identical(whole)
    large = summarise_large(problem, 8192)
    for name in ("bad_draws", "in_target", "in_target_error", "standard_uncertainty"):
        np.testing.assert_allclose(large[name], summed[name], rtol=1e-9)


def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
    """Mass of all hops."""
    return hop_mass_g.sum(axis=0)


def hops(*correlations):
    """Rows with standard deviations 1, 2 and 3, and a fixed fourth."""
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = tuple(
        Factor(f"h{i}", "hop_mass_g", i, f"hop {i}", normal(20, i + 1.0)) for i in range(3)
    )
    fixed = {"hop_mass_g": np.array([[0.0], [0.0], [0.0], [40.0]])}
    return Problem(graph, fixed, factors, ("hop_total_g",), correlations=correlations)


def test_rows_of_a_list_get_their_shares_of_shapley():
    """Independent: variances over 14. Two rows tied by 0.5: each its own and half of 2 rho."""
    tied = Correlation("knowledge", ("h0", "h1"), ((1.0, 0.5), (0.5, 1.0)))

    apart, together = shapley(hops(), base=256), shapley(hops(tied), base=1024)

    assert apart["shapley"].values[0] == pytest.approx(np.array([1, 4, 9]) / 14, abs=0.01)
    assert apart["block"].values.tolist() == ["", "", ""]
    assert together["block"].values.tolist() == ["h0 + h1", "h0 + h1", ""]
    pair = np.array([1, 4]) * (1 - 0.25 / 2) + np.array([4, 1]) * 0.25 / 2 + 1.0
    assert together["shapley"].values[0] == pytest.approx([*pair / 16, 9 / 16], abs=0.015)


def test_a_factor_of_a_whole_list_moves_every_row():
    """One factor for all three rows: 3 N(0, 1) beside a scalar of sd 4: 9 and 16 of 25."""

    def heavy_g(hop_mass_g: PerHop, pot_g: PerBatch) -> PerBatch:
        return hop_mass_g.sum(axis=0) + pot_g

    graph = build_graph(
        [heavy_g], {"hop_mass_g": Input(("hop",), "Mass"), "pot_g": Input((), "Pot")}
    )
    factors = (
        Factor("all", "hop_mass_g", None, "all", normal(5, 1)),
        Factor("pot", "pot_g", None, "pot", normal(0, 4)),
    )
    problem = Problem(graph, {"hop_mass_g": np.zeros((3, 1))}, factors, ("heavy_g",))

    assert shapley(problem, base=256)["shapley"].values[0] == pytest.approx([0.36, 0.64], abs=0.01)
    assert rank(problem, base=256)["total_order"].values[0] == pytest.approx([0.36, 0.64], abs=0.01)


def sum_of_five(x1, x2, x3, x4, x5):
    return x1 + x2 + x3 + x4 + x5


def test_a_block_too_large_for_all_orders_still_shares_evenly():
    """Five exchangeable factors, correlation 0.3: a fifth each by symmetry."""
    matrix = tuple(tuple(1.0 if i == j else 0.3 for j in range(5)) for i in range(5))
    names = tuple(f"x{i}" for i in range(1, 6))
    problem = Problem.of(
        [sum_of_five],
        dict.fromkeys(names, normal(0, 1)),
        correlations=(Correlation("knowledge", names, matrix),),
    )

    found = shapley(problem, base=256)

    values = found["shapley"].values[0]
    errors = found["shapley_high"].values[0] - values
    assert values.sum() == pytest.approx(1.0)
    assert all(within(v, 0.2, max(e, 0.02)) for v, e in zip(values, errors, strict=True))


def test_shares_of_folds_are_those_of_logarithms():
    def product(x1, x2):
        return x1 * x2

    problem = Problem.of(
        [product],
        {"x1": lognormal(5, 0.3), "x2": lognormal(5, 0.4)},
        scales={"product": "log2"},
    )

    found = shapley(problem, base=256)

    assert found["shapley"].values[0] == pytest.approx([0.36, 0.64], abs=0.01)
    assert found["scale"].values.tolist() == ["log2"]


@pytest.mark.parametrize(("low", "refused"), [(-0.02, True), (-0.004, False)])
def test_above_one_percent_of_rows_without_a_value_a_share_has_no_interval(low, refused):
    problem = Problem.of([log_plus], {"x1": uniform(low, 1.0 + low), "x2": normal(0, 1)})

    found = shapley(problem, base=512)

    assert np.isnan(found["shapley_high"]).all() == refused
    assert np.isfinite(found["shapley"]).all()


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
