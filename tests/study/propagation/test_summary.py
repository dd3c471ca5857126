"""Summaries: errors from replicates, nothing hidden about bad draws, events kept apart."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm, t

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import bernoulli, lognormal, normal, uniform
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.targets import Target
from brewsim.study.propagation.coverage import coverage_interval
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.stopping_rule import chance_wanted
from brewsim.study.propagation.summary import summarise


def one(x):
    return 1.0 * x


def two(x):
    return x + 1


def beside(y):
    return y


def log_of(x):
    return np.log(x)


def normal_problem(**more):
    return Problem.of([one, two], {"x": normal(0, 1)}, **more)


def test_errors_are_t_intervals_over_replicates_or_the_grain_of_one_factor():
    draws = simulate(normal_problem(), 16_384)

    row = summarise(draws).sel(outcome="one")

    ends = np.quantile(draws["one"].to_numpy().reshape(8, -1), 0.95, axis=1)
    spread = t.ppf(0.975, 7) * np.std(ends, ddof=1) / np.sqrt(8)
    near = np.quantile(draws["one"], 0.95 + np.array([-3, 3]) / 16_384)
    assert spread < np.ptp(near) / 2
    assert float(row["high_error"]) == pytest.approx(np.ptp(near) / 2)
    mean = t.ppf(0.975, 7) * np.std(draws["one"].to_numpy().reshape(8, -1).mean(1), ddof=1) / 8**0.5
    assert mean <= float(row["estimate_error"]) < 1.05 * mean
    assert float(row["high"]) == pytest.approx(np.quantile(draws["one"], 0.95))


def test_half_width_uses_students_t_with_few_values():
    """t with 2 degrees of freedom at .975 is 4.302653 (any table of t)."""
    assert half_width(np.array([1.0, 2.0, 3.0])) == pytest.approx(4.302653 / np.sqrt(3))


def test_the_joint_chance_is_of_landing_all_targets_at_once():
    targets = {"one": Target(-1, 1), "two": Target(None, 1.5)}

    table = summarise(simulate(normal_problem(targets=targets), 16_384))

    assert float(table["in_target"].sel(outcome="one")) == pytest.approx(0.682689, abs=2e-3)
    assert float(table["in_target"].sel(outcome="two")) == pytest.approx(norm.cdf(0.5), abs=2e-3)
    exact = norm.cdf(0.5) - norm.cdf(-1)
    assert table.attrs["joint_in_target"] == pytest.approx(exact, abs=2e-3)
    assert table.attrs["joint_in_target_error"] < 0.01


def test_other_targets_can_be_asked_of_the_same_draws():
    draws = simulate(normal_problem(targets={"one": Target(-1, 1)}), 2048)

    table = summarise(draws, targets={"two": Target(lower=1.0)})

    assert np.isnan(table["in_target"].sel(outcome="one"))
    assert float(table["in_target"].sel(outcome="two")) == pytest.approx(0.5, abs=0.01)


def test_without_targets_no_chance_is_given():
    table = summarise(simulate(normal_problem(), 1024))

    assert np.isnan(table.attrs["joint_in_target"])


def test_log_outcomes_are_told_by_their_median_and_doublings():
    problem = Problem.of([one], {"x": lognormal(8.0, np.log(2))}, scales={"one": "log2"})

    row = summarise(simulate(problem, 16_384)).sel(outcome="one")

    assert float(row["estimate"]) == pytest.approx(8.0, rel=0.02)
    assert float(row["standard_uncertainty"]) == pytest.approx(1.0, rel=0.005)
    assert float(row["high"]) == pytest.approx(8 * 2**1.644854, rel=0.03)


def test_a_quantity_without_spread_has_no_uncertainty():
    problem = Problem.of(
        [one, beside], {"y": normal(0, 1)}, fixed={"x": 5.0}, scales={"one": "log2"}
    )

    row = summarise(simulate(problem, 1024)).sel(outcome="one")

    assert (float(row["estimate"]), float(row["standard_uncertainty"])) == (5.0, 0.0)


def test_a_draw_without_a_value_counts_as_not_landing():
    problem = Problem.of(
        [log_of], {"x": uniform(-0.005, 0.995)}, targets={"log_of": Target(upper=10.0)}
    )

    table = summarise(simulate(problem, 16_384))

    assert float(table["in_target"][0]) == pytest.approx(0.995, abs=1e-3)
    assert np.isfinite(table["low"][0])
    assert int(table["bad_draws"][0]) == pytest.approx(82, abs=5)


def test_above_one_percent_of_bad_draws_no_interval_is_given():
    problem = Problem.of([log_of], {"x": uniform(-0.5, 9.5)})

    table = summarise(simulate(problem, 16_384))

    assert np.isnan(table["low"][0])
    assert np.isnan(table["high"][0])
    (note,) = json.loads(table.attrs["notes"])
    assert "log_of" in note
    assert "no interval" in note


def stalled(x, stall_share):
    return x + 10 * stall_share


def test_rare_events_stay_out_of_the_interval_and_are_told_apart():
    base = Problem.of([stalled], {"x": normal(0, 1), "stall_share": bernoulli(0.02)})
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)
    problem = replace(base, factors=factors, targets={"stalled": Target(-9, 5)})

    table = summarise(simulate(problem, 16_384))

    assert float(table["standard_uncertainty"][0]) == pytest.approx(1.0, abs=0.01)
    assert float(table["in_target"][0]) == pytest.approx(1.0, abs=1e-3)
    assert float(table["in_target_with_events"][0]) == pytest.approx(0.98, abs=2e-3)
    assert table.attrs["event_chance"] == pytest.approx(0.02, abs=1e-3)


@pytest.mark.parametrize("coverage", [0, 1, 1.5])
def test_coverage_outside_0_to_1_is_refused(coverage):
    with pytest.raises(StudyError, match="between 0 and 1"):
        summarise(simulate(normal_problem(), 128), coverage)


def test_a_target_without_draws_is_refused_with_a_hint():
    with pytest.raises(StudyError, match="Did you mean two"):
        summarise(simulate(normal_problem(), 128), targets={"twoo": Target(lower=1)})


def test_the_shortest_interval_of_a_skewed_sample_starts_at_its_edge():
    values = np.arange(100.0) ** 2

    assert coverage_interval(values, 0.5, "shortest") == (0.0, 2500.0)


def test_an_interval_of_values_that_are_not_finite_is_refused():
    with pytest.raises(StudyError, match="finite"):
        coverage_interval(np.array([1.0, np.nan]), 0.5)


@pytest.mark.parametrize(
    ("chance", "wanted"), [(0.5, 0.01), (0.99, 0.0025), (0.004, 0.001), (0.0004, 0.0006)]
)
def test_small_chances_must_be_known_to_a_quarter(chance, wanted):
    assert chance_wanted(chance) == pytest.approx(wanted)


def test_chances_are_shares_of_all_draws_and_not_of_one_replicate():
    base = Problem.of(
        [stalled],
        {"x": normal(0, 1), "stall_share": bernoulli(0.3)},
        targets={"stalled": Target(0)},
    )
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)

    draws = simulate(replace(base, factors=factors), 256)
    table = summarise(draws)

    landed, event = draws["stalled"].to_numpy() >= 0, draws["event"].to_numpy()
    exact = {
        "joint_in_target": landed[~event].mean(),
        "joint_in_target_with_events": landed.mean(),
        "event_chance": event.mean(),
    }
    for name, share in exact.items():
        assert table.attrs[name] == pytest.approx(share, rel=1e-12)
        assert table.attrs[f"{name}_error"] > 0
    assert float(table["in_target"][0]) == pytest.approx(exact["joint_in_target"], rel=1e-12)
    assert float(table["in_target_with_events"][0]) == pytest.approx(landed.mean(), rel=1e-12)
    each = [e.mean() for e in event.reshape(8, -1)]
    assert table.attrs["event_chance_error"] == pytest.approx(float(half_width(np.array(each))))


def test_without_rare_events_their_chance_is_nothing():
    attributes = summarise(simulate(normal_problem(), 256)).attrs

    assert (attributes["event_chance"], attributes["event_chance_error"]) == (0.0, 0.0)


def test_a_list_has_no_target_and_is_not_summed_up():
    graph = build_graph([hop_total], {"hop_x": Input(("hop",), "x")})
    problem = Problem(graph, {"hop_x": np.ones((2, 1))}, (), ("hop_total",))
    draws = simulate(problem, 128, keep=("hop_x",))

    assert summarise(draws)["outcome"].values.tolist() == ["hop_total"]
    with pytest.raises(StudyError, match="hop_x is a list"):
        summarise(draws, targets={"hop_x": Target(0)})


def hop_total(hop_x: PerHop) -> PerBatch:
    return hop_x.sum(axis=0)


@pytest.mark.parametrize(
    ("draws", "coverage", "told"), [(128, 0.9, "160"), (2048, 0.999, "16,000")]
)
def test_ends_that_rest_on_too_few_draws_are_said_to_be_rough(draws, coverage, told):
    few = summarise(simulate(normal_problem(), draws), coverage)
    enough = summarise(simulate(normal_problem(), 8 * draws), coverage)

    (note,) = json.loads(few.attrs["notes"])
    assert note.startswith(f"{draws:,} draws are few")
    assert note.endswith(f"or draw {told}")
    assert json.loads(enough.attrs["notes"]) == []
