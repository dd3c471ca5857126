"""Variance budgets, capability and measuring's worth: order, edges and what is left out."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import t

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.sensitivity.variance_budget import Budget, variance_budget
from brewsim.study.tolerance.capability import ENOUGH_DRAWS, simulated_capability
from brewsim.study.tolerance.tolerance import quantile_capability
from brewsim.study.tolerance.value_of_information import (
    LEAST_GAIN,
    Measurement,
    Worth,
    Worths,
    decisions_along,
    worth_of_measuring,
)

BREW = Kinds(0, 0, 1)
LOT = Kinds(0, 1, 0)


def total(small, large, middling):
    return small + large + middling


def three(**more):
    factors = {
        "small": (normal(0, 1), BREW),
        "large": (normal(0, 3), LOT),
        "middling": normal(0, 2),
    }
    return Problem.of([total], factors, **more)


def test_the_largest_share_of_a_budget_stands_first():
    """Standard deviations 3, 2 and 1: 9, 4 and 1 of 14, each of one kind."""
    rows = variance_budget(three(), ["total"])["total"]

    assert [row.factor for row in rows] == ["large", "middling", "small"]
    assert [row.total for row in rows] == pytest.approx([9 / 14, 4 / 14, 1 / 14], abs=0.01)
    assert [(row.knowledge > 0, row.lot > 0, row.batch > 0) for row in rows] == [
        (False, True, False),
        (True, False, False),
        (False, False, True),
    ]


def test_a_factors_whole_share_is_that_of_all_its_kinds():
    assert Budget("x", "x", 0.125, 0.25, 0.5).total == 0.875


def ratio(small, large):
    return small * large**2


def test_a_budget_of_folds_divides_the_variance_of_logarithms():
    """ln of x y^2: 0.2^2 and (2 x 0.3)^2 make 0.4; what no outcome reads has no row."""
    problem = Problem.of(
        [ratio, total],
        {"small": lognormal(1, 0.2), "large": lognormal(1, 0.3), "middling": normal(0, 1)},
        scales={"ratio": "log2"},
    )

    rows = variance_budget(problem, ["ratio"])["ratio"]

    assert [row.factor for row in rows] == ["large", "small"]
    assert [row.total for row in rows] == pytest.approx([0.9, 0.1], abs=0.01)


def test_a_rare_event_has_no_share_of_a_budget():
    def stalled(small, stall_share):
        return small + 10 * stall_share

    base = Problem.of([stalled], {"small": normal(0, 1), "stall_share": bernoulli(0.02)})
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)

    (row,) = variance_budget(replace(base, factors=factors), ["stalled"])["stalled"]

    assert row.factor == "small"
    assert row.total == pytest.approx(1.0, abs=0.01)


def test_nothing_uncertain_has_an_empty_budget():
    fixed = dict.fromkeys(("small", "large", "middling"), 1.0)

    assert variance_budget(Problem.of([total], {}, fixed=fixed), ["total"]) == {"total": ()}


def test_capability_is_few_below_the_draws_its_quantiles_need():
    values = np.random.default_rng(1).standard_normal(ENOUGH_DRAWS)

    enough = simulated_capability(values, Target(-3, 3))
    short = simulated_capability(values[: ENOUGH_DRAWS // 2], Target(-3, 3))

    assert (enough.few, short.few) == (False, True)
    assert (enough.form, short.form) == ("quantiles", "quantiles")
    assert enough.actual == pytest.approx(1.0, abs=0.05)


def test_draws_without_a_value_are_outside_and_do_not_count_for_the_reach():
    """Every fourth draw has none: a quarter is outside, the others are as they were."""
    values = ndtri((np.arange(80_000) + 0.5) / 80_000)
    values = np.random.default_rng(1).permutation(values)
    broken = np.where(np.arange(80_000) % 4 == 0, np.nan, values)

    found = simulated_capability(broken, Target(-6.0, 6.0))

    assert found.outside == pytest.approx(0.25)
    assert found.outside_error == pytest.approx(0.0, abs=1e-12)
    assert found.potential == pytest.approx(2.0, abs=0.06)


@pytest.mark.parametrize("values", [np.full(800, np.nan), np.full(800, 2.0)])
def test_draws_that_do_not_vary_or_do_not_exist_have_no_capability(values):
    found = simulated_capability(values, Target(1.0, 3.0))

    assert np.isnan([found.potential, found.actual]).all()
    assert found.outside == (1.0 if np.isnan(values).all() else 0.0)


@pytest.mark.parametrize(("scale", "unit"), [("log", np.e), ("log2", 2.0)])
def test_a_limit_of_nothing_is_none_for_folds(scale, unit):
    """Middle 1, sd one unit, upper limit 1.5 units up: half a reach of three; below none."""
    values = unit ** ndtri((np.arange(8000) + 0.5) / 8000)
    values = np.random.default_rng(1).permutation(values)

    found = simulated_capability(values, Target(0.0, unit**1.5), scale=scale)

    assert found.actual == pytest.approx(0.5, rel=0.01)
    assert np.isnan(found.potential)
    assert found.outside == pytest.approx(0.0668, abs=2e-4)
    assert not found.few


def worth(label, explained, gain=0.0):
    return Worth(Measurement(label, label), 1.0, {"total": explained}, {"total": 1.0}, gain)


def test_measurements_stand_by_what_they_explain_or_gain_from_the_least_that_counts():
    rows = (worth("a", 0.02), worth("b", 0.4, LEAST_GAIN), worth("c", 0.01, 0.3), worth("d", 0.0))
    found = Worths(rows, {"total": 1.0}, 0.9)

    assert [w.measurement.label for w in found.for_outcome("total")] == ["b", "a", "c"]
    assert [w.measurement.label for w in found.for_outcome("total", 0.02)] == ["b", "a"]
    assert [w.measurement.label for w in found.for_decision()] == ["c", "b"]
    assert Worth(Measurement("a", "a"), 1.0, {}, {}).gain == 0.0


def test_what_could_be_decided_is_today_and_every_other_setting():
    kind = Knob("kind", "kind", choices=(Choice("x"), Choice("y")), current="y")
    dial = Knob("dial", "dial", "large", None, 0.0, 2.0)
    problem = Problem.of(
        [total], {"small": normal(0, 1), "middling": normal(0, 1)}, fixed={"large": 1.0}
    )

    found = decisions_along(replace(problem, knobs=(kind, dial)), 5)

    assert found == ({}, {"kind": "x"}, *({"dial": v} for v in (0.0, 0.5, 1.5, 2.0)))


def test_the_best_decision_is_named_with_its_chance_and_todays():
    """Total is N(dose, 5), wanted above 0: today at -1, the best setting is 2."""

    def dosed(small, middling, dose):
        return small + middling + dose

    problem = Problem.of(
        [dosed],
        {"small": (normal(0, 1), BREW), "middling": (normal(0, 2), BREW)},
        fixed={"dose": -1.0},
        targets={"dosed": Target(0.0, None)},
        knobs=(Knob("dose", "dose", "dose", None, -2.0, 2.0),),
    )

    found = worth_of_measuring(problem, [], decisions=decisions_along(problem, 5))

    assert found.found == ()
    assert found.best_setting == {"dose": 2.0}
    assert found.chance_now == pytest.approx(0.3274, abs=0.005)
    assert found.best_chance == pytest.approx(0.8145, abs=0.005)


def test_measuring_what_only_the_brew_decides_explains_nothing():
    asked = [Measurement("assay", "small", "small", 0.1)]

    (found,) = worth_of_measuring(three(), asked, draws=2048).found

    assert (found.reliability, found.explained["total"]) == (0.0, 0.0)


def test_what_nobody_knows_cannot_be_measured():
    with pytest.raises(StudyError, match=r"no factor larg.*Did you mean large"):
        worth_of_measuring(three(), [Measurement("x", "larg", "larg")], draws=1024)


def test_errors_of_capability_are_students_over_the_replicates():
    rng = np.random.default_rng(9)
    values = rng.normal(0.5, 1.0, 8 * 4096)
    found = simulated_capability(values, Target(-3.0, 3.0))
    each = [quantile_capability(part, -3.0, 3.0) for part in values.reshape(8, -1)]
    outside = [float(np.mean(np.abs(part) > 3.0)) for part in values.reshape(8, -1)]

    for error, replicated in (
        (found.potential_error, [one.potential for one in each]),
        (found.actual_error, [one.actual for one in each]),
        (found.outside_error, outside),
    ):
        assert error == pytest.approx(t(7).ppf(0.975) * np.std(replicated, ddof=1) / np.sqrt(8))
