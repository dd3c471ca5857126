"""Rankings and Shapley effects: intervals, lists, long blocks, large correlated sets."""

import json
from dataclasses import replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.graph.build import build_graph
from brewsim.study.model import sampling
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from tests.study.models import ishigami_problem, log_plus, within


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
