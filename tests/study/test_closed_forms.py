"""Closed forms of indices, runs and tightening on small problems made by hand."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.dims import Input
from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.inference.elliptical_slice import _proposals
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import without_events
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.stopping_rule import not_settled
from brewsim.study.propagation.summary import summarise
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.tolerance.log_against_model import needed_spread
from brewsim.study.tolerance.tightening import tighten
from brewsim.study.tolerance.tolerance import (
    summarise_log,
)
from brewsim.study.tolerance.value_of_information import Measurement, worth_of_measuring
from tests.study.by_hand import BREW, folds, hop_total_g, total, weighed


def test_an_event_in_a_list_is_held_in_its_own_row():
    """A list without a fixed row: the event's row stands at its median, the others stay drawn."""
    problem = weighed(None)
    whether = replace(problem.factors[1], event=True)
    problem = replace(problem, factors=(problem.factors[0], whether, problem.factors[2]))

    held = without_events(problem)
    draws = simulate(held, 128, keep=["hop_mass_g"])["hop_mass_g"]

    assert held.fixed["hop_mass_g"].shape == (3, 1)
    assert [float(row.std()) > 0 for row in draws] == [True, False, True]
    assert float(draws[1, 0]) == 20.0


def test_a_run_goes_on_until_its_means_are_known():
    """Too short at first, it doubles until means are known to 0.045 of their spread."""
    problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 1)})
    batch = Batch("1", problem, (Reading("total", 1.0, 0.5),))

    learned = update(problem, [batch], keep=2, chains=64, time_limit_s=30)

    assert learned.precision <= 0.06
    assert learned.worst <= 0.54
    assert learned.trusted
    assert learned.remarks == ()


@pytest.mark.parametrize("uncertainty", [0.5, 2.0])
def test_a_reading_on_the_way_is_reliable_as_its_own_variance_says(uncertainty):
    """The outcome itself, variance 2, read with noise u: reliability 2 / (2 + u^2)."""
    problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 1)})
    asked = [Measurement("probe", "total", uncertainty=uncertainty)]

    (found,) = worth_of_measuring(problem, asked, draws=8192).found

    assert found.reliability == pytest.approx(2 / (2 + uncertainty**2), rel=0.02)
    assert found.explained["total"] == pytest.approx(found.reliability, abs=0.02)
    assert found.gain == 0.0


def test_the_spread_of_folds_that_is_needed_is_one_of_logarithms():
    """Middle 1, limits 1/e and e: nine in ten land where the log-sd is 1/1.645."""
    summary = summarise_log(np.exp([-1.0, 0.0, 1.0]), logged=True)

    both = needed_spread(summary, Target(np.exp(-1), np.e), 0.9, logged=True)
    upper = needed_spread(summary, Target(0.0, np.e), 0.9, logged=True)

    assert both == pytest.approx(1 / ndtri(0.95))
    assert upper == pytest.approx(1 / ndtri(0.90))


def test_what_already_meets_the_wish_need_not_be_tightened():
    problem = Problem.of(
        [total],
        {"a": (normal(0, 3.0), BREW), "b": (normal(0, 4.0), BREW)},
        targets={"total": Target(-10.0, 10.0)},
    )

    met = tighten(problem, "total", uncertainty=5.5)
    chance = tighten(problem, "total", chance=0.9)

    for found in (*met, *chance):
        assert (found.reaches, found.scale) == (True, 1.0)
        assert found.spread_then == found.spread_now
    of_a = next(t for t in met if t.factors == ("a",))
    assert of_a.now == pytest.approx(5.0, rel=0.01)
    assert of_a.best == pytest.approx(4.0, rel=0.01)
    assert of_a.spread_now == pytest.approx((-3 * ndtri(0.95), 3 * ndtri(0.95)))


def test_only_the_kinds_that_are_tightened_shrink_a_range():
    """A quarter of a's variance is knowledge, which stays: z sqrt(1/4 + 3/4 s^2)."""
    kinds = Kinds(0.25, 0, 0.75)
    problem = Problem.of([total], {"a": (normal(0, 4.0), kinds), "b": normal(0, 1.0)})

    (found,) = tighten(problem, "total", uncertainty=3.5)

    left = np.sqrt(3.5**2 - 1 - 4) / np.sqrt(12)
    assert found.factors == ("a",)
    assert found.scale == pytest.approx(left, rel=0.02)
    width = 4 * ndtri(0.95) * np.sqrt(0.25 + 0.75 * found.scale**2)
    assert found.spread_then == pytest.approx((-width, width))


def test_an_outcome_that_never_has_a_value_gets_no_figure_and_no_crash():
    def broken(a):
        return np.log(-1.0 - a * a)

    with np.errstate(invalid="ignore"):
        found = summarise(simulate(Problem.of([broken], {"a": normal(0, 1)}), 256))

    assert int(found["bad_draws"][0]) == 256
    for figure in ("estimate", "median", "standard_uncertainty", "low", "high"):
        assert np.isnan(float(found[figure][0]))


def test_an_outcome_that_nothing_moves_is_driven_by_nothing():
    def still(a, b):
        return 3.0 + 0.0 * (a + b)

    problem = Problem.of([still, total], {"a": normal(0, 1), "b": normal(0, 2)})

    found = shapley(problem, base=64)

    assert found["shapley"].sel(outcome="still").values.tolist() == [0.0, 0.0]
    assert found["shapley"].sel(outcome="total").values == pytest.approx([0.2, 0.8], abs=0.05)


def test_nothing_explains_an_outcome_that_does_not_vary():
    def still(a, b):
        return 3.0 + 0.0 * (a + b)

    problem = Problem.of([still, total], {"a": normal(0, 1), "b": normal(0, 1)})

    (of_a,) = worth_of_measuring(problem, [Measurement("a", "a", "a")], draws=4096).found

    assert (of_a.explained["still"], of_a.width["still"]) == (0.0, 0.0)
    assert of_a.explained["total"] == pytest.approx(0.5, abs=0.02)


def test_a_relative_accuracy_of_what_may_be_nothing_is_refused():
    problem = Problem.of([total], {"a": normal(0.5, 1.0), "b": normal(5, 1)})
    asked = [Measurement("assay", "a", "a", 0.1, logged=True)]

    with pytest.raises(StudyError, match="above 0"):
        worth_of_measuring(problem, asked, draws=1024)


@pytest.mark.parametrize(("scale", "unit"), [("log2", np.log(2)), ("log", 1.0)])
def test_figures_of_folds_are_settled_in_shares_of_their_own_spread(scale, unit):
    """An error of e in a value is e / value logarithms, that over ln 2 doublings; 3 % may be."""
    problem = replace(folds(1.0), scales={"felt": scale})
    draws = simulate(problem, 512)
    row = summarise(draws).sel(outcome="felt")

    entries = not_settled(draws)
    found = {entry["figure"]: entry for entry in entries}
    excess = [entry["half_width"] / entry["wanted"] for entry in entries]

    assert excess == sorted(excess, reverse=True)
    for figure, share in (("low", 0.03), ("high", 0.03), ("estimate", 0.015)):
        error = float(row[f"{figure}_error"]) / (float(row[figure]) * unit)
        wanted = share * float(row["standard_uncertainty"])
        assert (figure in found) == (error > wanted)
        if figure in found:
            assert found[figure]["half_width"] == pytest.approx(error)
    error = float(row["standard_uncertainty_error"])
    assert ("standard_uncertainty" in found) == (error > 0.015 * float(row["standard_uncertainty"]))
    assert found


@pytest.mark.parametrize("correlation", [0.0, 0.5])
def test_rows_of_a_list_share_its_variance_as_factors_do(correlation):
    """Standard deviations 1, 2 and 3, a fourth row fixed: shares 1, 4 and 9 of 14.

    Two correlated rows are one: 1 + 4 + 2 x 0.5 x 2 = 7 of 16, the third 9 of 16.
    """
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = tuple(
        Factor(f"h{i}", "hop_mass_g", i, f"hop {i}", normal(20, i + 1.0)) for i in range(3)
    )
    ties = (Correlation("knowledge", ("h0", "h1"), ((1.0, correlation), (correlation, 1.0))),)
    problem = Problem(
        graph,
        {"hop_mass_g": np.array([[0.0], [0.0], [0.0], [40.0]])},
        factors,
        ("hop_total_g",),
        correlations=ties if correlation else (),
    )

    found = rank(problem, base=1024).sel(outcome="hop_total_g")["total_order"].to_numpy()

    exact = [7 / 16, 9 / 16] if correlation else [1 / 14, 4 / 14, 9 / 14]
    assert found == pytest.approx(exact, abs=0.005)


def test_proposals_of_a_slice_stay_between_brackets_that_close_on_where_it_stands():
    """Murray, Adams & MacKay (2010): a refused angle becomes the end on its side of zero."""
    rng = np.random.default_rng(3)
    angle = 2 * np.pi * rng.random(200)
    low, high = angle - 2 * np.pi, angle.copy()
    ends = [low.copy(), high.copy()]

    angles = _proposals(rng, angle, low, high, 12)

    for row in angles:
        assert (row >= ends[0]).all()
        assert (row <= ends[1]).all()
        ends = [np.where(row < 0, row, ends[0]), np.where(row >= 0, row, ends[1])]
    np.testing.assert_array_equal(low, ends[0])
    np.testing.assert_array_equal(high, ends[1])
    assert ((low < 0) & (high >= 0)).all()
    assert (high - low).max() < 2 * np.pi / 5
