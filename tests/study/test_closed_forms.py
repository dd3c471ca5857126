"""Closed forms on posteriors made by hand: deviations split, conditionals, batches side by side."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.inference.attribution import INSTRUMENT, READING_ERROR, attribute
from brewsim.study.inference.elliptical_slice import _proposals
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import without_events
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.stopping_rule import not_settled
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.sweep import current_setting, turn
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.steering.compare import compare
from brewsim.study.steering.scenario_comparison import choice_shares
from brewsim.study.steering.steering import steer
from brewsim.study.tolerance.capability import simulated_capability
from brewsim.study.tolerance.conformity import acceptance_limits, conformance_probability
from brewsim.study.tolerance.log_against_model import against_log, needed_spread
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten
from brewsim.study.tolerance.tolerance import (
    normal_capability,
    quantile_capability,
    summarise_log,
    two_sided_factor,
)
from brewsim.study.tolerance.value_of_information import Measurement, worth_of_measuring
from tests.study.linear import DIAL, linear_problem
from tests.study.posteriors import by_hand

BREW = Kinds(0, 0, 1)


def volume(yearly, brew):
    return 20.0 + yearly + brew


def vessel(reading):
    problem = Problem.of([volume], {"yearly": normal(0, 0.5), "brew": (normal(0, 1), BREW)})
    return Batch("1", problem, (reading,))


def split(batch, against, **draws):
    learned = by_hand(batch.problem, [batch], draws)
    (found,) = attribute(learned, "1", against=against)
    return found, {share.factor: share.estimate for share in found.shares}


def test_a_deviation_starts_at_an_ordinary_batch_and_ends_at_the_reading():
    """Known +0.5 (one score), brew +2, read 23.1: of 2.6 against the house 2 brew and 0.6 error.

    Against the recipe the reference is 20 and what is known of the house counts too.
    """
    batch = vessel(Reading("volume", 23.1, 0.3))
    draws = {"yearly @knowledge": 1.0, "brew @batch 1": 2.0}

    house, of_house = split(batch, "house", **draws)
    recipe, of_recipe = split(batch, "recipe", **draws)

    assert (house.reference, house.reached) == pytest.approx((20.5, 23.1))
    assert of_house == pytest.approx({"brew": 2.0, READING_ERROR: 0.6})
    assert recipe.reference == pytest.approx(20.0)
    assert of_recipe == pytest.approx({"yearly": 0.5, "brew": 2.0, READING_ERROR: 0.6})
    assert [share.returns for share in recipe.shares] == [False, False, True]


@pytest.mark.parametrize(
    ("scale", "shift"), [("linear", 0.05), ("log", 21.0 * (np.exp(0.05) - 1.0))]
)
def test_an_instruments_own_error_is_added_or_multiplied_as_its_scale_says(scale, shift):
    """The mark reads one standard uncertainty of 0.05 high; the batch was 21 L, 22.5 read."""
    reading = Reading("volume", 22.5, 0.01, "mark", bias=0.05, scale=scale)

    _, shares = split(vessel(reading), "recipe", **{"brew @batch 1": 1.0, "mark @bias": 1.0})

    assert shares["brew"] == pytest.approx(1.0)
    assert shares[INSTRUMENT] == pytest.approx(shift)
    assert shares[READING_ERROR] == pytest.approx(1.5 - shift)


def test_a_calibration_of_the_instrument_is_no_reading_of_the_batch():
    reading = Reading("volume", 22.0, 0.3, "mark")
    check = Reading("volume", 5.1, 0.3, "mark", known=5.0)
    batch = vessel(reading)
    both = replace(batch, readings=(reading, check))
    draws = {"brew @batch 1": 1.0}

    (one, of_one), (two, of_two) = (split(b, "recipe", **draws) for b in (batch, both))

    assert (
        (two.reached, of_two) == (one.reached, of_one) == (22.0, {"brew": 1.0, READING_ERROR: 1.0})
    )


def test_readings_are_taken_as_normal_unless_outliers_are_asked_for():
    """Log likelihood -z^2 / 2; Student's t with 4 degrees -2.5 ln(1 + z^2 / 4); z = 6 here."""
    batch = vessel(Reading("volume", 23.0, 0.5))
    state = np.zeros((2, 1))

    assert Model([batch]).log_likelihood(state)[0] == pytest.approx(-18.0)
    robust = Model([batch], outliers=True).log_likelihood(state)[0]
    assert robust == pytest.approx(-2.5 * np.log(1 + 36 / 4))


def test_a_cause_is_the_largest_in_the_share_of_draws_in_which_it_is():
    """Brew +2 in three draws of four and +0.1 in the fourth, where the reading's error is 1.9."""
    batch = vessel(Reading("volume", 22.0, 0.3))
    brew = np.where(np.arange(512) % 4 == 0, 0.1, 2.0)

    found, _ = split(batch, "house", **{"brew @batch 1": brew, "yearly @knowledge": 0.0})

    largest = {share.factor: share.largest for share in found.shares}
    assert largest == {"brew": 0.75, READING_ERROR: 0.25}


def test_what_no_reading_reached_stays_at_its_middle_unless_it_lasts():
    """The reference has no sampling error where nothing is drawn; a house's own year is drawn."""
    batch = vessel(Reading("volume", 22.0, 0.3))

    recipe, _ = split(batch, "recipe", **{"brew @batch 1": 1.0})
    house, of_house = split(batch, "house", **{"yearly @knowledge": 1.0})
    drawn, of_drawn = split(batch, "house", **{"brew @batch 1": 1.0})

    assert recipe.reference == pytest.approx(20.0, abs=1e-12)
    assert house.reference == pytest.approx(20.5, abs=1e-12)
    assert set(of_house) == {READING_ERROR}
    assert drawn.reference != 20.0
    assert drawn.reference == pytest.approx(20.0, abs=4 * 0.5 / np.sqrt(512))
    assert of_drawn["brew"] == pytest.approx(1.0)


def total(a, b):
    return a + b


@pytest.mark.parametrize("known", ["a", "b"])
def test_what_was_learned_of_one_of_a_pair_moves_the_other_by_their_correlation(known):
    """Normal conditional: b known at a score of 2, correlation 0.6: a has mean 1.2, sd 0.8."""
    pair = ("a", "b")
    problem = Problem.of(
        [total],
        {"a": normal(0, 1), "b": normal(0, 1)},
        correlations=(Correlation("knowledge", pair, ((1.0, 0.6), (0.6, 1.0))),),
    )
    learned = by_hand(problem, draws={f"{known} @knowledge": 2.0})

    draws = simulate(replace(problem, learned=learned), 8192, keep=pair)

    other = draws["b" if known == "a" else "a"]
    assert float(draws[known].mean()) == pytest.approx(2.0)
    assert float(draws[known].std()) == pytest.approx(0.0, abs=1e-12)
    assert float(other.mean()) == pytest.approx(1.2, abs=0.01)
    assert float(other.std()) == pytest.approx(0.8, rel=0.02)


def gravity(house, lots, brew, dose):
    return 50.0 + house + lots + brew + dose


@pytest.mark.parametrize("doses", [(0.0, 10.0, 20.0), (20.0, 0.0, 10.0), (5.0, 5.0, 5.0)])
def test_batches_read_together_are_what_each_is_by_itself(doses):
    """Each batch has its own lot, brew and dose; the house is the same in all of them."""
    factors = {
        "house": normal(0, 2.0),
        "lots": (normal(0, 1.0), Kinds(0, 1, 0)),
        "brew": (normal(0, 0.5), BREW),
    }
    reading = (Reading("gravity", 50.0, 0.1),)
    batches = [
        Batch(f"b{i}", Problem.of([gravity], factors, fixed={"dose": dose}), reading)
        for i, dose in enumerate(doses)
    ]
    model = Model(batches)
    state = np.random.default_rng(1).standard_normal((len(model.names), 40))
    score = dict(zip(model.names, state, strict=True))

    found = model.predicted(state)

    for i in range(3):
        own = score[f"lots @lot of b{i}"] + 0.5 * score[f"brew @batch b{i}"]
        expected = 50.0 + doses[i] + 2.0 * score["house @knowledge"] + own
        np.testing.assert_allclose(found[i], expected, rtol=1e-12)
    assert len(model.names) == 7


def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
    """Mass of all hops."""
    return hop_mass_g.sum(axis=0)


def weighed(base):
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = tuple(
        Factor(f"h{i}", "hop_mass_g", i, f"hop {i}", normal(20, i + 1.0), kinds)
        for i, kinds in enumerate((Kinds(), BREW, BREW))
    )
    fixed = {} if base is None else {"hop_mass_g": np.array(base)[:, None]}
    return Problem(graph, fixed, factors, ("hop_total_g",))


@pytest.mark.parametrize(
    "bases", [[None], [None, None], [[0, 0, 0, 40.0]], [[0, 0, 0, 40.0], [0, 0, 0, 50.0]]]
)
def test_rows_of_a_list_are_read_in_each_batch_as_it_was_brewed(bases):
    """Rows 20 + z, 20 + 2 z and 20 + 3 z, the first shared by all batches, a fourth row fixed."""
    reading = (Reading("hop_total_g", 60.0, 0.1),)
    batches = [Batch(f"b{i}", weighed(base), reading) for i, base in enumerate(bases)]
    model = Model(batches)
    state = np.random.default_rng(2).standard_normal((len(model.names), 30))
    score = dict(zip(model.names, state, strict=True))

    found = model.predicted(state)

    for i, base in enumerate(bases):
        own = 2 * score[f"h1 @batch b{i}"] + 3 * score[f"h2 @batch b{i}"]
        fixed = 0.0 if base is None else base[3]
        np.testing.assert_allclose(found[i], 60.0 + fixed + score["h0 @knowledge"] + own)


def test_a_list_that_is_uncertain_throughout_has_as_many_rows_as_it_has_factors():
    draws = simulate(weighed(None), 128, keep=["hop_mass_g"])

    assert draws["hop_mass_g"].shape == (3, 128)
    np.testing.assert_allclose(draws["hop_mass_g"].sum("hop"), draws["hop_total_g"])


@pytest.mark.parametrize("value", [-2.0, 0.3, 1.5])
def test_a_reading_is_as_surprising_as_its_place_in_what_was_expected(value):
    """Expected N(0, 1 + 0.25); learned mean value / 1.25; the reading's noise is 0.5."""

    def level(x):
        return 1.0 * x

    problem = Problem.of([level], {"x": (normal(0, 1), BREW)})
    batch = Batch("1", problem, (Reading("level", value, 0.5),))

    (found,) = update(problem, [batch], keep=10, time_limit_s=0).surprises

    sd = np.sqrt(1.25)
    assert found.chance == pytest.approx(2 * ndtr(-abs(value) / sd), abs=4 * 0.5 / np.sqrt(1024))
    assert found.expected == pytest.approx(0.0, abs=4 * 1.2533 * sd / np.sqrt(4096))
    assert (found.low, found.high) == pytest.approx((-1.645 * sd, 1.645 * sd), abs=0.15)
    assert found.residual == pytest.approx((value - value / 1.25) / 0.5, abs=0.3)


@pytest.mark.parametrize(("mean", "nearest"), [(9.5, 0.5), (10.5, 0.5), (10.0, 1.0), (8.5, -0.5)])
def test_capability_is_held_against_the_nearer_limit(mean, nearest):
    """Limits 9 and 11, s 0.4: the distance to the nearer one over 3 s."""
    found = normal_capability(mean, 0.4, 9.0, 11.0)

    assert found.actual == pytest.approx(nearest / 1.2)
    assert found.potential == pytest.approx(2 / 2.4)


def test_the_error_of_a_capability_is_the_t_interval_of_its_replicates():
    """Folds: (3 - |mean|) / 3 s in each eighth; t with 7 degrees of freedom is 2.3646."""
    doublings = np.random.default_rng(4).standard_normal(8000) + 0.2
    parts = doublings.reshape(8, -1)
    each = (3.0 - parts.mean(axis=1)) / (3.0 * parts.std(axis=1))

    found = simulated_capability(np.exp2(doublings), Target(0.125, 8.0), scale="log2")

    assert found.actual_error == pytest.approx(2.3646 * each.std(ddof=1) / np.sqrt(8), rel=0.01)


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


def test_the_expected_middle_of_a_log_is_that_of_every_uncertainty():
    """Lognormal knowledge of log-sd 0.5: mean exp(0.125); held at its middle it would be 1."""

    def strength(level, brew):
        return level + brew

    problem = Problem.of([strength], {"level": lognormal(1.0, 0.5), "brew": (normal(0, 0.1), BREW)})

    (found,) = against_log(problem, {"strength": np.array([0.9, 1.0, 1.2])})

    assert found.middle == pytest.approx(np.exp(0.125), rel=0.01)
    assert found.same_lots == pytest.approx(0.1, rel=0.01)


@pytest.mark.parametrize("side", ["lower", "upper"])
def test_a_one_sided_acceptance_limit_lies_one_guard_band_inside(side):
    """JCGM 106:2012, 8.3.2: 95 % needs 1.645 standard uncertainties."""
    target = Target(**{side: 5.0})

    accepted = acceptance_limits(target, 0.1, 0.95)

    inward = 0.1644854 if side == "lower" else -0.1644854
    limit = getattr(accepted, side)
    assert limit == pytest.approx(5.0 + inward)
    assert getattr(accepted, "upper" if side == "lower" else "lower") is None
    assert conformance_probability(limit, 0.1, target) == pytest.approx(0.95)


def test_options_without_a_value_have_no_shares_and_others_keep_theirs():
    def broken(known, dial):
        return np.log(dial) + known

    def sound(known, dial):
        return known + dial

    problem = Problem.of(
        [broken, sound], {"known": normal(0, 1)}, fixed={"dial": -1.0}, knobs=(DIAL,)
    )
    with np.errstate(invalid="ignore"):
        found = choice_shares({"one": problem, "more": problem.set({"dial": 2.0})}, draws=1024)

    assert np.isnan(float(found.first_order.sel(outcome="broken")))
    assert float(found.first_order.sel(outcome="sound")) == pytest.approx(2.25 / 3.25, abs=0.02)
    assert (found.attrs["options"], found.attrs["draws"]) == (["one", "more"], 1024)


@pytest.mark.parametrize(("low", "error"), [(-0.01, 0.01), (-1.5, 0.01), (-30.0, 0.05)])
def test_draws_without_a_value_leave_the_shares_of_a_choice_among_the_others(low, error):
    """1, 60 or 97 % have no logarithm; the others have variance 1, a shift of ln 4 (ln 2)^2."""

    def felt(known, dial):
        return known * dial

    problem = Problem.of(
        [felt],
        {"known": uniform(low, 1.0)},
        fixed={"dial": 1.0},
        knobs=(DIAL,),
        scales={"felt": "log"},
    )

    found = choice_shares({"one": problem, "more": problem.set({"dial": 4.0})}).sel(outcome="felt")

    exact = np.log(2) ** 2 / (1 + np.log(2) ** 2)
    assert float(found.first_order) == pytest.approx(exact, abs=error)
    assert float(found.total_order) == pytest.approx(exact, abs=error)


def test_a_dial_without_a_range_is_left_where_it_stands():
    stuck = Knob("stuck", "stuck", "lever", None, 0.0, 0.0)
    problem = replace(linear_problem(), knobs=(DIAL, stuck), targets={"strength": Target(4.0, 8.0)})

    found = steer(problem, chance=0.5)

    assert found.best.settings.keys() <= {"dial"}
    assert np.isfinite(found.best.change)
    assert found.best.settings["dial"] == pytest.approx(6.0, abs=0.25)


def test_along_a_knob_stand_the_ends_and_the_middle_of_the_interval():
    """Normal with variance 5 around the dial: nine in ten within 1.645 sqrt(5) of it."""
    found = turn(linear_problem(), "dial", at=[0.0, 3.0], draws=16_384).sel(outcome="strength")
    reach = ndtri(0.95) * np.sqrt(5)

    for name, offset in (("low", -reach), ("middle", 0.0), ("high", reach)):
        assert found[name].values == pytest.approx(offset + np.array([0.0, 3.0]), abs=0.06)


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


@pytest.mark.parametrize(
    ("low", "high", "share"), [(0.1, None, 0.1), (None, 0.7, 0.3), (0.1, 0.7, 0.4)]
)
def test_the_share_outside_counts_each_side_that_has_a_limit(low, high, share):
    values = (np.arange(10_000) + 0.5) / 10_000

    found = quantile_capability(values, low, high)

    assert found.share_outside == pytest.approx(share)


def test_a_choice_stands_where_it_was_made_or_at_its_first():
    problem = linear_problem()
    choices = (Choice("plain"), Choice("strong"))

    assert current_setting(problem, Knob("k", "k", choices=choices)) == "plain"
    assert current_setting(problem, Knob("k", "k", choices=choices, current="strong")) == "strong"


def felt(level, dose):
    return level * dose


def folds(dose):
    return Problem.of(
        [felt], {"level": lognormal(8.0, 0.5)}, fixed={"dose": dose}, scales={"felt": "log2"}
    )


@pytest.mark.parametrize("times", [4.0, 0.125])
def test_a_difference_of_folds_is_how_many_times_as_much(times):
    found = compare(folds(1.0), folds(times), draws=1024).sel(outcome="felt")

    assert [float(found[key]) for key in ("low", "difference", "high")] == pytest.approx(
        [times] * 3
    )
    assert float(found["second"]) == pytest.approx(times * float(found["first"]))


def test_a_difference_of_two_that_have_no_value_is_none():
    def broken(level, dose):
        return np.sqrt(-dose) + level

    problem = Problem.of([broken], {"level": normal(0, 1)}, fixed={"dose": 1.0})
    with np.errstate(invalid="ignore"):
        found = compare(problem, problem, draws=1024).sel(outcome="broken")

    assert [np.isnan(float(found[key])) for key in ("low", "difference", "high")] == [True] * 3
    assert float(found["tied"]) == 0.0


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


def test_limits_say_what_they_hold_and_of_how_many_draws():
    found = specify(linear_problem(), content=0.9, confidence=0.8, draws=2000, seed=3)

    assert found.attrs == {"content": 0.9, "confidence": 0.8, "draws": 2048, "seed": 3}


@pytest.mark.parametrize("confidence", [0.8, 0.99])
def test_a_logs_own_limits_hold_the_wanted_share_with_the_wanted_confidence(confidence):
    values = np.array([1.0, 2.0, 3.0, 4.0, np.nan])
    log = {"strength": values, "side": np.array([1.0])}

    found = specify(linear_problem(), content=0.9, confidence=confidence, log=log, draws=128)

    reach = two_sided_factor(4, 0.9, confidence) * np.std([1, 2, 3, 4], ddof=1)
    row, short = found.sel(outcome="strength"), found.sel(outcome="side")
    assert (float(row.log_low), float(row.log_high)) == pytest.approx((2.5 - reach, 2.5 + reach))
    assert (int(row.log_count), float(row.log_mean)) == (4, 2.5)
    assert int(short.log_count) == 1
    assert np.isnan(float(short.log_mean))


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
