"""Studies at their edges: one row of a list, shares that do not add up, nothing to bracket."""

import json
from dataclasses import replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.landing import bracket
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.propagation.variance_by_kind import spread_by_kind
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.sensitivity.variance_budget import variance_budget
from brewsim.study.steering.compare import compare
from brewsim.study.tolerance.log_against_model import against_log
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten


@pytest.mark.parametrize("shares", [(0.5, 0.2, 0.2), (0.5, 0.5, 0.5), (1.2, 0.0, -0.2), (0, 0, 0)])
def test_kind_shares_that_are_no_split_of_one_are_refused(shares):
    with pytest.raises(StudyError, match="sum to 1"):
        Kinds(*shares)


def test_kind_shares_may_miss_one_by_rounding():
    assert dict(Kinds(0.1, 0.2, 0.7).items()) == {"knowledge": 0.1, "lot": 0.2, "batch": 0.7}
    assert dict(Kinds(1 / 3, 1 / 3, 1 / 3).items()).keys() == {"knowledge", "lot", "batch"}


def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
    """Mass of all hops."""
    return hop_mass_g.sum(axis=0)


def hopped(row):
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    fixed = {"hop_mass_g": np.array([[10.0], [20.0], [30.0]])}
    knob = Knob("hop", "the hop", "hop_mass_g", row, 0.0, 50.0)
    return Problem(graph, fixed, (), ("hop_total_g",), knobs=(knob,))


def test_a_knob_of_one_row_moves_that_row_and_a_knob_of_the_list_all_of_it():
    one, every = hopped(1), hopped(None)

    moved = one.set({"hop": 5.0})

    assert moved.fixed["hop_mass_g"].ravel().tolist() == [10.0, 5.0, 30.0]
    assert one.fixed["hop_mass_g"].ravel().tolist() == [10.0, 20.0, 30.0]
    assert every.set({"hop": 5.0}).fixed["hop_mass_g"].ravel().tolist() == [5.0, 5.0, 5.0]
    assert current_setting(moved, moved.knob("hop")) == 5.0
    assert current_setting(one, one.knob("hop")) == 20.0


def test_no_bracket_is_given_where_no_chance_is_known():
    nothing = np.full(3, np.nan)

    assert bracket([1.0, 2.0, 3.0], nothing, 0.5) is None
    assert bracket([1.0, 2.0, 3.0], np.array([0.2, 0.4, 0.3]), 0.5) is None


def test_a_bracket_ends_where_a_straight_line_crosses_the_wanted_chance():
    """From 0.2 to 0.8 over one step 0.5 lies halfway; beyond the last setting nobody looked."""
    chance = np.array([0.2, 0.8, 0.9, 0.6, 0.35])

    found = bracket([0.0, 1.0, 2.0, 3.0, 5.0], chance, 0.5)
    open_end = bracket([0.0, 1.0, 2.0], np.array([0.2, 0.8, 0.9]), 0.5)

    assert (found.low, found.high) == pytest.approx((0.5, 3.0 + 2.0 * 0.1 / 0.25))
    assert (open_end.low, open_end.high) == pytest.approx((0.5, 2.0))


def total(a, b, idle):
    return a + b + 0.0 * idle


def test_what_drives_an_outcome_can_be_told_from_what_does_not():
    problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 0.5), "idle": normal(0, 1)})

    found = rank(problem, base=1024).sel(outcome="total")

    told = {str(f): bool(found.distinguishable.sel(factor=f)) for f in found.factor.values}
    assert told == {"a": True, "b": True, "idle": False}


@pytest.mark.parametrize(("one", "other"), [(True, False), (False, True), (True, True)])
def test_a_correlated_pair_can_be_turned_or_measured_where_either_can(one, other):
    base = Problem.of(
        [total],
        {"a": normal(0, 1), "b": normal(0, 1), "idle": normal(0, 1)},
        correlations=(Correlation("knowledge", ("a", "b"), ((1.0, 0.5), (0.5, 1.0))),),
    )
    can = {"a": one, "b": other, "idle": False}
    factors = tuple(replace(f, measurable=can[f.id], turnable=can[f.id]) for f in base.factors)

    found = rank(replace(base, factors=factors), base=64).sel(outcome="total")

    assert bool(found.measurable.sel(factor="a + b"))
    assert bool(found.turnable.sel(factor="a + b"))
    assert not bool(found.measurable.sel(factor="idle"))
    assert json.loads(found.attrs["merged"]) == [["a", "b"]]


def test_a_factor_with_correlations_of_zero_is_ranked_by_itself():
    """A table of three in which the third goes with neither of the others."""
    table = ((1.0, 0.5, 0.0), (0.5, 1.0, 0.0), (0.0, 0.0, 1.0))
    problem = Problem.of(
        [total],
        {"a": normal(0, 1), "b": normal(0, 1), "idle": normal(0, 1)},
        correlations=(Correlation("knowledge", ("a", "b", "idle"), table),),
    )

    found = rank(problem, base=64)

    assert [str(f) for f in found.factor.values] == ["a + b", "idle"]


def capped_g(raw_g: PerBatch) -> PerBatch:
    """A mass that is never below nothing."""
    return np.maximum(raw_g, 0.0)


def test_a_value_at_the_end_of_a_range_has_not_left_it():
    """Half of the draws stand at 0 exactly; only those above 1 are outside, 0.1587 of them."""
    graph = build_graph(
        [capped_g], {"raw_g": Input((), "Mass")}, valid={"capped_g": {"capped_g": (0.0, 1.0)}}
    )
    raw = Factor("raw", "raw_g", None, "raw", normal(0, 1))

    draws = simulate(Problem(graph, {}, (raw,), ("capped_g",)), 8192)

    (left,) = json.loads(draws.attrs["outside"])
    assert (left["formula"], left["low"], left["high"]) == ("capped_g", 0.0, 1.0)
    assert left["count"] / left["draws"] == pytest.approx(0.1587, abs=0.002)


def test_good_draws_get_no_note():
    problem = Problem.of([total], {n: normal(0, 1) for n in ("a", "b", "idle")})

    assert json.loads(summarise(simulate(problem, 256)).attrs["notes"]) == []


def seeded(study):
    """Return what a study says of one small problem by seed, as a list of numbers."""
    problem = Problem.of(
        [total],
        {"a": normal(0, 1), "b": (normal(0, 1), Kinds(0, 0, 1)), "idle": normal(0, 1)},
        targets={"total": Target(-1.0, 1.0)},
    )
    other = replace(problem, fixed={}, name="other")
    studies = {
        "simulate": lambda seed: simulate(problem, 128, seed)["total"],
        "large": lambda seed: summarise_large(problem, 1024, seed)["high"],
        "rank": lambda seed: rank(problem, 64, seed=seed)["total_order"],
        "shapley": lambda seed: shapley(problem, 64, seed=seed)["shapley"],
        "specify": lambda seed: specify(problem, draws=128, seed=seed)["high"],
        "long run": lambda seed: specify(problem, draws=128, seed=seed)["long_run_high"],
        "spread": lambda seed: spread_by_kind(problem, 64, 16, seed)["scatter"],
        "compare": lambda seed: compare(problem, other, draws=128, seed=seed)["scatter"],
        "tighten": lambda seed: [
            t.scale for t in tighten(problem, "total", uncertainty=1.2, draws=128, seed=seed)
        ],
        "budget": lambda seed: [
            row.total for row in variance_budget(problem, ["total"], draws=128, seed=seed)["total"]
        ],
        "log": lambda seed: [
            found.same_lots
            for found in against_log(problem, {"total": np.arange(4.0)}, draws=128, seed=seed)
        ],
    }
    return lambda seed: np.ravel(studies[study](seed)).tolist()


@pytest.mark.parametrize(
    "study",
    [
        "simulate",
        "large",
        "rank",
        "shapley",
        "specify",
        "long run",
        "spread",
        "compare",
        "tighten",
        "budget",
        "log",
    ],
)
def test_a_seed_is_used_and_another_gives_other_numbers(study):
    numbers = seeded(study)

    first = numbers(1)

    assert first
    assert numbers(1) == first
    assert numbers(2) != first


def test_a_factor_of_no_input_and_a_doubled_one_are_refused():
    problem = hopped(None)
    lost = Factor("x", "hop_mas_g", 0, "lost", normal(0, 1))
    twice = Factor("x", "hop_mass_g", 0, "twice", normal(0, 1))

    with pytest.raises(StudyError, match="Did you mean hop_mass_g"):
        replace(problem, factors=(lost,))
    with pytest.raises(StudyError, match="doubled: x"):
        replace(problem, factors=(twice, replace(twice, row=1)))
