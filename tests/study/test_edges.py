"""Studies at their edges: one row of a list, shares that do not add up, nothing to bracket."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.inference.convergence import reached_by
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
from brewsim.study.tolerance.log_against_model import against_log, predicted_outside
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten
from brewsim.study.tolerance.tolerance import summarise_log, two_sided_factor


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


def test_the_spread_of_ten_batches_is_known_by_the_chi_square_table():
    """Ten values with s 1: 95 % interval 0.688 to 1.826 (19.023 and 2.700 at 9 degrees).

    The mean is 20: control limits 17 and 23; the next at 95 % within 2.262 sqrt(1.1) = 2.373,
    at 90 % within 1.833 sqrt(1.1).
    """
    values = 20.0 + np.array([-1.0, 1.0] * 5) * np.sqrt(0.9)

    found = summarise_log(values, content=0.95)
    narrow = summarise_log(values, content=0.9)

    assert found.standard_deviation == pytest.approx(1.0)
    assert found.standard_deviation_low == pytest.approx(np.sqrt(9 / 19.023), abs=1e-4)
    assert found.standard_deviation_high == pytest.approx(np.sqrt(9 / 2.700), abs=1e-3)
    assert (found.control_low, found.control_high) == pytest.approx((17.0, 23.0))
    assert (found.next_low, found.next_high) == pytest.approx((17.627, 22.373), abs=1e-3)
    assert narrow.next_high - 20.0 == pytest.approx(1.833 * np.sqrt(1.1), abs=1e-3)


def test_a_log_of_folds_is_summed_up_on_logarithms_and_told_in_its_unit():
    """Values 1, e and e^2: mean e, s 1, control limits e^-2 and e^4."""
    found = summarise_log(np.exp([0.0, 1.0, 2.0, np.nan]), logged=True)

    assert (found.count, found.mean) == (3, pytest.approx(np.e))
    assert found.standard_deviation == pytest.approx(1.0)
    assert (found.control_low, found.control_high) == pytest.approx((np.exp(-2), np.exp(4)))
    assert np.sqrt(found.tolerance_low * found.tolerance_high) == pytest.approx(np.e)
    assert np.log(found.tolerance_high / np.e) == pytest.approx(two_sided_factor(3, 0.95, 0.95))


@pytest.mark.parametrize(
    ("count", "content", "confidence"), [(1, 0.9, 0.9), (5, 1.0, 0.9), (5, 0.9, 0.0), (5, 0.0, 0.5)]
)
def test_a_tolerance_factor_nobody_can_give_is_refused(count, content, confidence):
    with pytest.raises(StudyError, match="2 or more values and shares"):
        two_sided_factor(count, content, confidence)


def test_few_batches_are_said_to_be_few_below_eight():
    values = np.arange(8.0)

    assert summarise_log(values[:7]).few
    assert not summarise_log(values).few


def test_a_log_foretells_misses_by_student_on_the_sides_that_have_a_limit():
    """Mean 0, s 1 of 10 values: the next is outside 2 with P(t9 > 2 / sqrt(1.1)) = 0.0444."""
    values = np.array([-1.0, 1.0] * 5) * np.sqrt(0.9)
    summary = summarise_log(values)
    one_side = stats.t(9).sf(2 / np.sqrt(1.1))

    assert one_side == pytest.approx(0.0444, abs=5e-5)
    assert predicted_outside(summary, Target(None, 2.0)) == pytest.approx(one_side)
    assert predicted_outside(summary, Target(-2.0, None)) == pytest.approx(one_side)
    assert predicted_outside(summary, Target(-2.0, 2.0)) == pytest.approx(2 * one_side)


def test_a_log_without_scatter_misses_always_or_never():
    """No scatter at all: the one value is outside, inside, or on the wrong side of a limit."""
    summary = summarise_log(np.full(4, 5.0))

    assert predicted_outside(summary, Target(4.0, 6.0)) == 0.0
    assert predicted_outside(summary, Target(5.5, 6.0)) == 1.0
    assert predicted_outside(summary, Target(None, 4.5)) == 1.0


def test_a_lower_limit_of_nothing_is_no_limit_for_folds():
    """No fold is at or below 0: on logarithms such a limit is passed by every batch."""
    summary = summarise_log(np.exp([-1.0, 0.0, 1.0]), logged=True)

    assert predicted_outside(summary, Target(0.0, None), logged=True) == 0.0
    assert predicted_outside(summary, Target(1.0, None), logged=True) == pytest.approx(0.5)


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


def kept_draws(steps=64, latents=20, chains=256):
    return np.random.default_rng(5).standard_normal((steps, latents, chains))


def test_independent_draws_are_known_to_one_over_the_root_of_their_number():
    """64 x 256 independent draws: a mean has a standard error of 1/128 of their spread.

    The largest of twenty half widths (t with 7 degrees, 2.36) lies above it and not far above.
    """
    reached = reached_by(3.0 + 10.0 * kept_draws())

    assert reached.precision == pytest.approx(1 / 128, rel=0.15)
    assert 2.36 / 128 < reached.worst < 2.5 * 2.36 / 128
    assert reached.settled


def test_chains_that_stay_apart_are_not_settled():
    """Groups of chains whose middles differ by one spread: the error is 1/sqrt(2 x 8)."""
    middles = np.repeat([-1.0, 1.0] * 4, 32)

    reached = reached_by(kept_draws() + middles)

    exact = np.std([-1.0, 1.0] * 4, ddof=1) / np.sqrt(8) / np.sqrt(2)
    assert reached.precision == pytest.approx(exact, rel=0.02)
    assert not reached.settled


def test_a_run_that_still_wanders_shows_it_by_its_halves():
    still = kept_draws()
    wandering = still + np.linspace(-0.2, 0.2, len(still))[:, None, None]

    assert reached_by(still).drift < 3.0
    assert reached_by(wandering).drift > 3.0


def test_drift_is_half_the_change_between_halves_over_the_half_width():
    """One latent: a step of 0.3 between the halves takes each from the mean of all by 0.15."""
    kept = kept_draws(latents=1)
    kept[len(kept) // 2 :] += 0.3
    halves = kept[: len(kept) // 2].mean(), kept[len(kept) // 2 :].mean()
    moved = abs(halves[1] - halves[0]) / 2 / kept.std()

    found = reached_by(kept)

    assert found.drift == pytest.approx(moved / found.worst, rel=1e-6)


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
