"""Draws: the same for any executor, everything odd counted and located, nothing dropped."""

import json
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import bernoulli, constant, normal, uniform
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation import simulate as simulate_module
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from tests.study.models import sum_of_four


class InOrder(Executor):
    """Runs everything at once in the calling thread."""

    def submit(self, function, /, *args, **kwargs):
        future = Future()
        future.set_result(function(*args, **kwargs))
        return future


def four():
    return Problem.of([sum_of_four], {f"x{i}": normal(0, 1) for i in range(1, 5)})


@pytest.mark.parametrize("draws", [16_384, 300_000])
def test_threads_change_no_bit(draws):
    serial = simulate(four(), draws, executor=InOrder())
    own = simulate(four(), draws)
    with ThreadPoolExecutor(3) as threads:
        threaded = simulate(four(), draws, executor=threads)

    assert serial.identical(own)
    assert serial.identical(threaded)


def test_the_order_of_factors_changes_no_bit():
    backwards = Problem.of([sum_of_four], {f"x{i}": normal(0, 1) for i in range(4, 0, -1)})

    assert simulate(four(), 2048).identical(simulate(backwards, 2048))


def test_what_is_kept_changes_no_draw():
    kept = simulate(four(), 2048, keep=("x2",), keep_scores=True)

    np.testing.assert_array_equal(kept["sum_of_four"], simulate(four(), 2048)["sum_of_four"])
    np.testing.assert_array_equal(kept["x2"], kept["score"].sel(factor="x2"))


def test_a_factor_the_outcomes_never_read_moves_no_outcome():
    wider = replace(
        four(),
        graph=build_graph(
            [node.formula for node in four().graph.nodes.values()],
            {**four().graph.inputs, "zz": Input((), "Nothing reads it")},
            scalar=True,
        ),
        factors=(*four().factors, Factor("zz", "zz", None, "zz", normal(0, 1))),
    )

    found = simulate(wider, 2048, keep_scores=True)

    read = found["score"].sel(factor=["x1", "x2", "x3", "x4"]).sum("factor")
    np.testing.assert_allclose(found["sum_of_four"], read, atol=1e-12)


def test_seed_zero_is_a_seed_of_its_own():
    zero, one = (simulate(four(), 2048, seed=seed)["sum_of_four"] for seed in (0, 1))

    assert not np.array_equal(zero, one)
    assert simulate(four(), 2048, seed=0).attrs["seed"] == 0


def test_draws_come_replicate_by_replicate_with_unit_label_and_scale():
    def wort_l(x_l):
        """Wort in the kettle."""
        return x_l

    problem = Problem.of([wort_l], {"x_l": normal(20, 1)}, scales={"wort_l": "log"})

    found = simulate(problem, 1000)

    assert found.sizes == {"draw": 1024}
    np.testing.assert_array_equal(found["replicate"], np.repeat(np.arange(8), 128))
    assert found["wort_l"].attrs == {"unit": "L", "label": "Wort in the kettle", "scale": "log"}


def log_of(x):
    return np.log(x)


def twice(log_of):
    return 2 * log_of


def test_values_that_do_not_exist_are_counted_where_they_arise():
    problem = Problem.of([log_of, twice], {"x": uniform(-1, 9)}, outcomes=("twice",))

    found = simulate(problem, 16_384)

    (entry,) = json.loads(found.attrs["not_finite"])
    bad = int(np.isnan(found["twice"]).sum())
    assert entry == {"formula": "log_of", "quantity": "twice", "count": bad, "draws": 16_384}
    assert bad == pytest.approx(1638, abs=10)
    assert found.sizes["draw"] == 16_384


def test_an_input_at_fault_is_named():
    problem = Problem.of([twice], {"log_of": constant(1.0)})
    broken = replace(problem, factors=(), fixed={"log_of": np.array([np.inf])})

    (entry,) = json.loads(simulate(broken, 128).attrs["not_finite"])

    assert (entry["formula"], entry["count"]) == ("log_of", 128)


def test_draws_outside_a_formulas_range_are_counted():
    def shifted(x: PerBatch) -> PerBatch:
        return x + 1

    def total(hop_x: PerHop, shifted: PerBatch) -> PerBatch:
        return hop_x.sum(axis=0) + shifted

    graph = build_graph(
        [shifted, total],
        {"x": Input((), "x"), "hop_x": Input(("hop",), "x of a hop")},
        valid={"shifted": {"x": (0.0, 9.0)}, "total": {"hop_x": (0.0, 1.0), "total": (-99, 99)}},
    )
    factors = (Factor("x", "x", None, "x", uniform(-1, 9)),)
    problem = Problem(graph, {"hop_x": np.array([[0.5], [2.0]])}, factors, ("total",))

    entries = json.loads(simulate(problem, 16_384).attrs["outside"])

    counts = {(e["formula"], e["quantity"]): e["count"] for e in entries}
    assert counts["total", "hop_x"] == 16_384
    assert counts["shifted", "x"] == pytest.approx(1638, abs=10)
    assert len(counts) == 2


def test_a_kept_list_has_its_rows_named():
    def hop_total(hop_x: PerHop) -> PerBatch:
        return hop_x.sum(axis=0)

    graph = build_graph([hop_total], {"hop_x": Input(("hop",), "x of a hop")})
    factors = (Factor("x", "hop_x", 0, "x", normal(0, 1)),)
    problem = Problem(
        graph,
        {"hop_x": np.ones((2, 1))},
        factors,
        ("hop_total",),
        row_labels={"hop": ("Fuggle", "Challenger")},
    )

    found = simulate(problem, 128, keep=("hop_x",))

    assert found["hop_x"].dims == ("hop", "draw")
    np.testing.assert_array_equal(found["hop_x"].sel(hop="Challenger"), 1.0)


def stalled(x, stall_share):
    return x + 10 * stall_share


def eventful():
    graph = Problem.of([stalled], {"x": normal(0, 1), "stall_share": bernoulli(0.02)})
    factors = [replace(f, event=f.id == "stall_share") for f in graph.factors]
    return replace(graph, factors=tuple(factors), targets={"stalled": Target(upper=2.0)})


def test_rare_events_are_flagged_draw_by_draw():
    found = simulate(eventful(), 16_384)

    np.testing.assert_array_equal(found["event"], found["stalled"] > 5)
    assert float(found["event"].mean()) == pytest.approx(0.02, abs=0.001)
    assert json.loads(found.attrs["events"]) == ["stall_share"]


def test_progress_ends_at_one_and_says_where_it_is():
    heard = []

    simulate(four(), 1024, progress=lambda share, text: heard.append((share, text)))

    assert heard[-1] == (1.0, "replicate 8 of 8")
    assert [share for share, _ in heard] == sorted(share for share, _ in heard)


def test_an_unknown_quantity_is_refused_with_a_hint():
    with pytest.raises(StudyError, match="Did you mean sum_of_four"):
        simulate(four(), 128, keep=("sum_of_for",))


def test_auto_stops_when_every_figure_is_settled():
    found = simulate(replace(four(), targets={"sum_of_four": Target(-2, 2)}), "auto")

    table = summarise(found)
    assert json.loads(found.attrs["not_settled"]) == []
    assert 4096 <= found.sizes["draw"] <= 65_536
    assert float(table["high_error"][0]) <= 0.03 * float(table["standard_uncertainty"][0])
    assert float(table["in_target_error"][0]) <= 0.01


def test_auto_draws_are_the_draws_of_that_number():
    found = simulate(four(), "auto")

    fixed = simulate(four(), found.sizes["draw"])
    np.testing.assert_array_equal(found["sum_of_four"], fixed["sum_of_four"])


def test_auto_says_what_it_could_not_settle(monkeypatch):
    monkeypatch.setattr(simulate_module, "AUTO_MOST_DRAWS", 8192)
    problem = replace(four(), targets={"sum_of_four": Target(upper=5.5)})

    found = simulate(problem, "auto")

    open_figures = json.loads(found.attrs["not_settled"])
    assert found.sizes["draw"] == 8192
    assert "in_target" in {entry["figure"] for entry in open_figures}
    assert all(entry["half_width"] > entry["wanted"] for entry in open_figures)
