"""Events, draws without a value, and figures that are told only where they mean something."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import bernoulli, normal, uniform
from brewsim.graph.build import build_graph
from brewsim.study.model import sampling
from brewsim.study.model.factor import Factor
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import without_events
from brewsim.study.model.targets import Target
from brewsim.study.propagation.coverage import coverage_interval
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.stopping_rule import not_settled
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.sweep import turn
from brewsim.study.steering.compare import compare
from brewsim.study.tolerance.specification import specify
from tests.study.linear import linear_problem
from tests.study.models import pair, weighted


@pytest.mark.parametrize("rows", [1, 2])
def test_an_event_in_the_first_row_of_a_list_without_fixed_rows_is_held(rows):
    def hop_total(hop_x: PerHop) -> PerBatch:
        return hop_x.sum(axis=0)

    graph = build_graph([hop_total], {"hop_x": Input(("hop",), "x")})
    factors = tuple(
        Factor(f"h{i}", "hop_x", i, f"h{i}", normal(7.0, 1), event=i == 0) for i in range(rows)
    )

    held = without_events(Problem(graph, {}, factors, ("hop_total",)))

    assert held.fixed["hop_x"].ravel().tolist() == [7.0, 0.0][:rows]
    assert len(held.factors) == rows - 1


def test_an_event_of_a_row_is_flagged_where_it_happens():
    def hop_total(hop_x: PerHop) -> PerBatch:
        return hop_x.sum(axis=0)

    graph = build_graph([hop_total], {"hop_x": Input(("hop",), "x")})
    factors = (
        Factor("a", "hop_x", 0, "a", normal(0.0, 0.01)),
        Factor("b", "hop_x", 1, "b", bernoulli(0.25), event=True),
        Factor("c", "hop_x", 2, "c", bernoulli(0.5), event=True),
    )

    found = simulate(Problem(graph, {}, factors, ("hop_total",)), 4096)

    np.testing.assert_array_equal(found["event"], found["hop_total"] > 0.5)
    assert float(found["event"].mean()) == pytest.approx(1 - 0.75 * 0.5, abs=0.01)
    assert json.loads(found.attrs["events"]) == ["b", "c"]


def test_chances_are_settled_when_known_well_enough_for_their_size():
    """Few draws of a chance of one half: the joint one and its own are both open, no more."""
    problem = pair(targets={"weighted": Target(0.0, None)})
    draws = simulate(problem, 128)
    row = summarise(draws).sel(outcome="weighted")

    found = {(e["outcome"], e["figure"]): e for e in not_settled(draws)}

    error = float(row["in_target_error"])
    assert error > 0.01
    for key in (("weighted", "in_target"), ("", "joint_in_target")):
        assert found[key]["half_width"] == pytest.approx(error)
        assert found[key]["wanted"] == pytest.approx(0.01)
    for figure, share in (("estimate", 0.015), ("low", 0.03)):
        allowed = share * float(row["standard_uncertainty"])
        assert (("weighted", figure) in found) == (float(row[f"{figure}_error"]) > allowed)
        if ("weighted", figure) in found:
            assert found["weighted", figure]["wanted"] == pytest.approx(allowed)
    assert ("weighted", "estimate") in found or ("weighted", "low") in found


def test_a_thousand_times_more_draws_leave_nothing_open():
    assert not_settled(simulate(pair(), 2**17)) == []


def fifth(x):
    return np.where(x < 0.02, np.nan, x)


def test_where_no_interval_is_given_its_ends_have_no_error_but_the_middle_has():
    found = summarise(simulate(Problem.of([fifth], {"x": uniform(0, 1)}), 4096))

    assert np.isnan([float(found[k][0]) for k in ("low", "high", "low_error", "high_error")]).all()
    assert float(found["estimate"][0]) == pytest.approx(0.51, abs=0.005)
    assert 0 < float(found["estimate_error"][0]) < 0.01
    (note,) = json.loads(found.attrs["notes"])
    bad = int(found["bad_draws"][0])
    assert note == f"fifth: {bad} of 4096 draws have no value, so no interval is given"


def test_values_at_or_below_nothing_have_no_spread_in_folds_and_a_note():
    def floor(x):
        return np.maximum(x, 0.0)

    problem = Problem.of([floor], {"x": normal(1, 1)}, scales={"floor": "log2"})

    found = summarise(simulate(problem, 1024))

    assert np.isnan(float(found["standard_uncertainty"][0]))
    assert float(found["median"][0]) == pytest.approx(1.0, abs=0.05)
    assert json.loads(found.attrs["notes"]) == [
        "floor: values at or below 0 have no spread on a log scale"
    ]


@pytest.mark.parametrize(("share", "ends"), [(0.5, (25.0, 75.0)), (0.9, (5.0, 95.0))])
def test_a_symmetric_interval_leaves_as_much_on_each_side(share, ends):
    assert coverage_interval(np.arange(101.0), share) == pytest.approx(ends)


@pytest.mark.parametrize("count", [1, 2, 10])
def test_the_shortest_interval_never_asks_for_more_values_than_there_are(count):
    values = np.arange(float(count))

    assert coverage_interval(values, 0.99, "shortest") == (0.0, count - 1.0)


def test_draws_carry_what_was_asked_and_from_where():
    problem = linear_problem()

    found = simulate(problem, 100, seed=5)

    assert json.loads(found.attrs["targets"]) == {"strength": [4.0, 8.0], "side": [-1.0, 1.0]}
    assert json.loads(found.attrs["outcomes"]) == ["strength", "side"]
    assert (found.attrs["seed"], found.attrs["draws"], found.attrs["replicates"]) == (5, 128, 8)
    assert json.loads(found.attrs["events"]) == []
    assert "event" not in found
    assert "score" not in found


def test_automatic_draws_tell_how_far_they_are():
    """The first 4,096 of 2^20 draws are 2^-8 of all, of which the root is told: 1/16."""
    heard = []

    found = simulate(pair(), "auto", progress=lambda share, text: heard.append((share, text)))

    shares = [share for share, _ in heard]
    assert shares == sorted(shares)
    assert shares[0] == 1 / 16
    assert shares[-1] <= 1
    assert heard[-1][1] == f"{found.sizes['draw']} draws"


def first(x):
    return np.log(x)


def second(first, y):
    return first + np.sqrt(y)


def test_each_draw_without_a_value_is_blamed_on_the_first_formula_at_fault():
    """A quarter has no logarithm; of the others half have no root."""
    problem = Problem.of(
        [first, second], {"x": uniform(-1, 3), "y": uniform(-1, 1)}, outcomes=["second"]
    )
    with np.errstate(invalid="ignore"):
        draws = simulate(problem, 8192)

    blamed = {e["formula"]: e["count"] / 8192 for e in json.loads(draws.attrs["not_finite"])}

    assert blamed == pytest.approx({"first": 0.25, "second": 0.375}, abs=0.005)
    bad = float(np.isnan(draws["second"]).mean())
    assert sum(blamed.values()) == pytest.approx(bad, abs=1e-9)


@pytest.mark.parametrize("keep", [(), ("a",)])
def test_events_and_scores_of_several_blocks_stand_end_to_end(monkeypatch, keep):
    base = Problem.of([weighted], {"a": normal(0, 0.01), "b": bernoulli(0.25)})
    problem = replace(base, factors=tuple(replace(f, event=f.id == "b") for f in base.factors))
    whole = simulate(problem, 4096, keep=keep, keep_scores=True)
    monkeypatch.setattr(sampling, "ROWS_PER_BLOCK", 128)

    assert simulate(problem, 4096, keep=keep, keep_scores=True).identical(whole)
    np.testing.assert_array_equal(whole["event"], whole["weighted"] > 0.5)


def test_every_range_of_a_formula_is_looked_at_also_after_one_that_is_kept():
    """The first need stays in its range; the second leaves its own in a quarter of the draws."""

    def mixed(x: PerBatch, y: PerBatch) -> PerBatch:
        return x + y

    ranges = {"mixed": {"x": (0.0, 1.0), "y": (0.0, 0.75), "mixed": (0.0, 1.75)}}
    graph = build_graph([mixed], {"x": Input((), "x"), "y": Input((), "y")}, valid=ranges)
    factors = tuple(Factor(name, name, None, name, uniform(0, 1)) for name in ("x", "y"))

    draws = simulate(Problem(graph, {}, factors, ("mixed",)), 8192)

    left = {e["quantity"]: e["count"] / 8192 for e in json.loads(draws.attrs["outside"])}
    assert left == pytest.approx({"y": 0.25, "mixed": 1 / 32}, abs=0.003)


def root(level, shift):
    return np.sqrt(level + shift)


def rooted(shift):
    """Return a model whose draws have no value where a standard normal lies below -shift."""
    return Problem.of(
        [root],
        {"level": normal(0, 1)},
        fixed={"shift": shift},
        knobs=(Knob("shift", "shift", "shift", low=0.0, high=4.0),),
    )


def test_a_knob_tells_no_interval_where_many_draws_have_no_value_and_how_many():
    turned = turn(rooted(2.0), "shift", at=[0.0, 3.5]).sel(outcome="root")

    np.testing.assert_allclose(turned["without_value"], [ndtr(0.0), ndtr(-3.5)], atol=0.001)
    assert np.isnan(turned["low"][0])
    assert np.isnan(turned["high"][0])
    assert np.isfinite(turned["middle"]).all()
    assert np.isfinite(turned["low"][1])


def test_a_spec_and_a_comparison_leave_out_a_few_draws_without_a_value():
    """At a shift of 3.5 it is one draw in 4,300; at 1 one in six, and no limit is told."""
    few = specify(rooted(3.5), draws=8192).sel(outcome="root", scope="next brew")
    many = specify(rooted(1.0), draws=8192).sel(outcome="root", scope="next brew")
    pair_of = compare(rooted(3.5), rooted(3.6), draws=8192).sel(outcome="root")

    wanted = np.sqrt(3.5 + ndtri([0.025, 0.975]))
    np.testing.assert_allclose([few["low"], few["high"]], wanted, rtol=0.01)
    assert np.isnan([many["low"], many["high"], many["shortest_low"]]).all()
    assert float(pair_of["first"]) == pytest.approx(3.5**0.5, rel=0.005)
    assert float(pair_of["not_finite"]) > 0
