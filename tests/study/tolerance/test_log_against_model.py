"""A log beside the model, and limits from both: edges, folds, and what each figure means."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr, ndtri

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.conformity import (
    acceptance_limits,
    conformance_probability,
    expected_conformance,
    simulated_risks,
)
from brewsim.study.tolerance.log_against_model import (
    against_log,
    needed_spread,
    predicted_outside,
)
from brewsim.study.tolerance.specification import in_a_row, long_run_limits, specify
from brewsim.study.tolerance.tolerance import summarise_log, two_sided_factor

BREW, LOT = Kinds(0, 0, 1), Kinds(0, 1, 0)


def level(known, lots, brews):
    return known * lots * brews


def folds(scale="log2"):
    """ln has sd 0.5 of knowledge, 0.4 of lots and 0.3 from brew to brew around ln 10."""
    return Problem.of(
        [level],
        {
            "known": lognormal(10.0, 0.5),
            "lots": (lognormal(1.0, 0.4), LOT),
            "brews": (lognormal(1.0, 0.3), BREW),
        },
        scales={"level": scale},
    )


@pytest.mark.parametrize("scale", ["log", "log2"])
def test_a_log_of_folds_is_told_in_natural_logarithms_whatever_the_scale(scale):
    values = 20.0 * np.exp([-0.2, 0.0, 0.2])

    (found,) = against_log(folds(scale), {"level": values}, targets={"level": Target(0.0, 25.0)})

    assert found.middle == pytest.approx(10.0, rel=0.01)
    assert found.same_lots == pytest.approx(0.3, rel=0.01)
    assert found.new_lots == pytest.approx(0.5, rel=0.01)
    assert found.unknown == pytest.approx(0.5, rel=0.02)
    assert found.offset == pytest.approx(np.log(2) / np.sqrt(0.25 + 0.04 / 3), rel=0.02)
    exact = stats.t(2).sf(np.log(25 / 20) / (0.2 * np.sqrt(4 / 3)))
    assert found.outside == pytest.approx(exact)
    assert (found.counted, found.scale, found.outcome) == (0, scale, "level")


def test_a_log_of_folds_with_nothing_in_it_is_refused():
    with pytest.raises(StudyError, match="at or below 0"):
        against_log(folds(), {"level": np.array([1.0, 0.0, 2.0])})


def sharp(brews):
    return 5.0 + brews


def test_where_neither_log_nor_model_is_uncertain_no_offset_is_told():
    """Equal readings, and nothing about the brewery unknown: there is nothing to divide by."""
    problem = Problem.of([sharp], {"brews": (normal(0, 1), BREW)})

    (still,) = against_log(problem, {"sharp": np.full(4, 6.0)})
    (moved,) = against_log(problem, {"sharp": np.array([5.0, 7.0])})

    assert np.isnan(still.offset)
    assert moved.offset == pytest.approx(1.0 / (np.sqrt(2) / np.sqrt(2)), abs=0.02)
    assert still.scatter == "too wide"


def test_what_a_rare_event_did_is_not_expected_of_a_log():
    def stalled(brews, stall_share):
        return brews + 100 * stall_share

    base = Problem.of(
        [stalled], {"brews": (normal(0, 1), BREW), "stall_share": (bernoulli(0.2), BREW)}
    )
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)

    (found,) = against_log(replace(base, factors=factors), {"stalled": np.array([0.0, 1.0])})

    assert found.same_lots == pytest.approx(1.0, rel=0.01)


def test_a_brewery_that_scatters_most_at_the_likeliest_truth_has_no_unknown_middle():
    """Brews times the cosine of what is not known: at its middle their spread is 1, else less."""

    def swung(known, brews):
        return brews * np.cos(known)

    problem = Problem.of([swung], {"known": normal(0, 1), "brews": (normal(0, 1), BREW)})

    (found,) = against_log(problem, {"swung": np.array([-1.0, 1.0])})

    assert found.unknown == 0.0
    assert found.new_lots == pytest.approx(1.0, rel=0.01)
    assert found.offset == pytest.approx(0.0, abs=0.02)


def test_every_content_asked_is_summed_up_and_the_first_stands_for_the_log():
    values = np.arange(6.0)
    problem = Problem.of([sharp], {"brews": (normal(0, 1), BREW)})

    (found,) = against_log(problem, {"sharp": values}, contents=(0.9, 0.99), confidence=0.8)

    assert list(found.by_content) == [0.9, 0.99]
    assert found.summary is found.by_content[0.9]
    assert found.by_content[0.99].factor == two_sided_factor(6, 0.99, 0.8)


def test_folds_are_foretold_by_student_on_logarithms():
    """Logarithms -1, 0 and 1: limits at e^-2 and e^2 are 2 / sqrt(4 / 3) away at 2 degrees."""
    summary = summarise_log(np.exp([-1.0, 0.0, 1.0]), logged=True)
    side = stats.t(2).sf(2 / np.sqrt(4 / 3))

    both = predicted_outside(summary, Target(np.exp(-2), np.exp(2)), logged=True)

    assert both == pytest.approx(2 * side)
    assert predicted_outside(summary, Target(None, np.exp(2)), logged=True) == pytest.approx(side)


@pytest.mark.parametrize(("target", "chance"), [(Target(None, 3.0), 0.8), (Target(1.0), 0.99)])
def test_the_spread_needed_with_one_limit_is_its_distance_over_the_quantile(target, chance):
    """Mean 2: the limit is 1 away, so 1 / z is needed whatever the log scatters by."""
    summary = summarise_log(np.array([0.0, 2.0, 4.0]))

    assert needed_spread(summary, target, chance) == pytest.approx(1 / ndtri(chance))


@pytest.mark.parametrize(
    "target", [Target(2.0, 9.0), Target(-9.0, 2.0), Target(2.5), Target(None, 1)]
)
def test_no_spread_is_small_enough_where_the_mean_is_at_a_limit_or_beyond(target):
    assert needed_spread(summarise_log(np.array([0.0, 2.0, 4.0])), target, 0.6) is None


def test_long_run_limits_are_a_brewerys_quantile_moved_by_what_is_not_known():
    """Knowledge N(0, 3), brews N(0, 1): 0.8 of the brews within 1.2816 of each one's middle."""

    def shifted(known, brews):
        return known + brews

    problem = Problem.of([shifted], {"known": normal(0, 3), "brews": (normal(0, 1), BREW)})

    low, high = long_run_limits(problem, ["shifted"], content=0.8, confidence=0.6)

    exact = ndtri(0.9) + 3 * ndtri(0.8)
    assert (low[0], high[0]) == pytest.approx((-exact, exact), rel=0.03)


def test_long_run_limits_leave_draws_without_a_value_out():
    """The square root of N(3, 1): one in 740 has none, the rest keep their quantiles."""

    def rooted(brews):
        return np.sqrt(brews)

    problem = Problem.of([rooted], {"brews": (normal(3, 1), BREW)})
    with np.errstate(invalid="ignore"):
        low, high = long_run_limits(problem, ["rooted"], content=0.9, confidence=0.9)

    none = ndtr(-3.0)
    ends = np.sqrt(3 + ndtri(none + (1 - none) * np.array([0.05, 0.95])))
    assert (low[0], high[0]) == pytest.approx(ends, rel=0.02)


@pytest.mark.parametrize("brews", [1, 2, 3])
def test_brews_in_a_row_land_by_the_powers_of_each_brewerys_chance(brews):
    """What is known decides: half of the breweries always land, the other half never."""

    def decided(known, brews):
        return known + 1e-9 * brews

    problem = Problem.of([decided], {"known": normal(0, 1), "brews": (normal(0, 1), BREW)})

    found = in_a_row(problem, "decided", Target(0.0, None), brews=brews)

    assert (found.brews, found.all_inside) == (brews, pytest.approx(0.5, abs=0.01))
    assert found.none_inside == pytest.approx(0.5, abs=0.01)


def test_brews_in_a_row_differ_where_only_they_scatter():
    """One in four lands: three in a row 1/64, none of three 27/64."""
    problem = Problem.of([sharp], {"brews": (normal(0, 1), BREW)})

    found = in_a_row(problem, "sharp", Target(5.0 + ndtri(0.75), None), brews=3)

    assert found.all_inside == pytest.approx(1 / 64, abs=0.003)
    assert found.none_inside == pytest.approx(27 / 64, abs=0.01)


def test_a_log_of_folds_has_limits_that_are_ratios():
    """Logarithms 0, 1 and 2: mean e, limits e times e to plus and minus k."""
    found = specify(folds(), log={"level": np.exp([0.0, 1.0, 2.0])}, draws=128).sel(outcome="level")

    k = two_sided_factor(3, 0.95, 0.9)
    assert float(found.log_mean) == pytest.approx(np.e)
    assert np.log([found.log_low, found.log_high]) == pytest.approx([1 - k, 1 + k])


def test_without_a_log_there_are_no_limits_of_one():
    assert "log_low" not in specify(folds(), draws=128)


def test_the_shortest_interval_of_a_skewed_outcome_starts_lower_and_ends_lower():
    """Log-sd 1: ends of equal density, so their logarithms add up to -2; it holds 95 %."""

    def skewed(brews):
        return 1.0 * brews

    problem = Problem.of([skewed], {"brews": (lognormal(1.0, 1.0), BREW)})
    row = specify(problem, draws=65_536).sel(outcome="skewed", scope="next brew")

    a, b = np.log(float(row.shortest_low)), np.log(float(row.shortest_high))
    assert ndtr(b) - ndtr(a) == pytest.approx(0.95, abs=0.003)
    assert a == pytest.approx(-2 - b, abs=0.35)
    assert np.log([row.low, row.high]) == pytest.approx([-1.96, 1.96], abs=0.03)


def test_a_guard_band_on_each_side_keeps_the_wanted_chance_up_to_the_middle():
    """Window 2 wide and u 0.1: each limit 1.2816 u inside, the other too far to matter."""
    found = acceptance_limits(Target(4.0, 6.0), 0.1, 0.9)

    assert (found.lower, found.upper) == pytest.approx((4.12816, 5.87184), abs=1e-5)


def test_below_even_odds_a_measured_value_may_lie_beyond_the_limit():
    """A chance of 0.3 is kept half a u outside: ndtri(0.3) = -0.5244."""
    found = acceptance_limits(Target(4.0, 6.0), 0.1, 0.3)

    assert (found.lower, found.upper) == pytest.approx((4.0 - 0.05244, 6.0 + 0.05244), abs=1e-5)
    assert conformance_probability(found.upper, 0.1, Target(4.0, 6.0)) == pytest.approx(0.3)


def test_risks_of_verdicts_by_hand():
    """True 0 and 3, limit 1, accepted up to 1, u 1: passes with Phi(1) and Phi(-2)."""
    found = simulated_risks(np.array([0.0, 3.0]), 1.0, Target(None, 1.0), Target(None, 1.0))

    assert found.consumer == pytest.approx(ndtr(-2.0) / 2)
    assert found.producer == pytest.approx(ndtr(-1.0) / 2)


def test_values_are_weighed_by_how_well_they_explain_the_reading():
    """Values 0, 1 and one that does not exist; read 0 with u 1: weights 1 and exp(-1/2)."""
    values = np.array([0.0, 1.0, np.nan])

    found = expected_conformance(values, 0.0, 1.0, Target(0.5, None))

    assert found == pytest.approx(np.exp(-0.5) / (1 + np.exp(-0.5)))


def test_a_single_content_may_be_asked():
    problem = Problem.of([sharp], {"brews": (normal(0, 1), BREW)})

    (found,) = against_log(problem, {"sharp": np.arange(6.0)}, contents=(0.9,))

    assert list(found.by_content) == [0.9]
    assert found.offset == pytest.approx(
        -2.5 / (np.std(np.arange(6.0), ddof=1) / np.sqrt(6)), rel=0.02
    )
