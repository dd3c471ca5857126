"""What measuring is worth, against closed forms."""

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, scores
from brewsim.study.model.targets import Target
from brewsim.study.sensitivity.given_data import ScoreFits
from brewsim.study.sensitivity.variance_budget import variance_budget
from brewsim.study.tolerance.value_of_information import (
    Measurement,
    decisions_along,
    exact_measurements,
    worth_of_measuring,
)
from tests.study.models import sum_of_four


def strength(known, lot, brew, nothing, setting):
    return known + lot + brew + 0.0 * nothing + setting


def beer(**options):
    return Problem.of(
        [strength],
        {
            "known": normal(0, 2),
            "lot": (normal(0, 1), Kinds(0, 0.75, 0.25)),
            "brew": (normal(0, 1), Kinds(0, 0, 1)),
            "nothing": normal(0, 1),
        },
        fixed={"setting": 0.0},
        **options,
    )


def exactly(*names):
    return [Measurement(name, name, name) for name in names]


def test_knowing_takes_the_first_order_share_of_knowledge_and_lot():
    """Var E[Y|X] = S V: 4/6 for known, 0.75/6 for the lot part, nothing for the brew's scatter."""
    found = worth_of_measuring(beer(), exactly("known", "lot", "brew", "nothing")).found

    shares = [w.explained["strength"] for w in found]
    assert shares == pytest.approx([4 / 6, 0.75 / 6, 0.0, 0.0], abs=0.012)


def test_the_interval_left_is_the_one_of_what_remains_unknown():
    """Normal: half width of nine in ten falls from z sqrt(6) to z sqrt(2)."""
    worths = worth_of_measuring(beer(), exactly("known"), draws=32_768)

    z = ndtri(0.95)
    assert worths.width["strength"] == pytest.approx(z * 6**0.5, rel=0.01)
    assert worths.found[0].width["strength"] == pytest.approx(z * 2**0.5, rel=0.02)


@pytest.mark.parametrize("uncertainty", [1.0, 2.0, 6.0])
def test_a_measurement_of_reliability_r_takes_r_times_the_share(uncertainty):
    """Normal conjugate: r = 4 / (4 + u^2), the variance that goes is r 4 / 6."""
    asked = [Measurement("assay", "known", "known", uncertainty)]

    (found,) = worth_of_measuring(beer(), asked).found

    r = 4 / (4 + uncertainty**2)
    assert found.reliability == pytest.approx(r, rel=0.01)
    assert found.explained["strength"] == pytest.approx(r * 4 / 6, abs=0.015)


def test_a_measurement_of_a_lot_reads_only_what_the_lot_keeps():
    """Of variance 1 a quarter is new every brew: r = .75 / (.75 + 1), and r .75 / 6 goes."""
    (found,) = worth_of_measuring(beer(), [Measurement("assay", "lot", "lot", 1.0)]).found

    assert found.reliability == pytest.approx(0.75 / 1.75, rel=0.01)
    assert found.explained["strength"] == pytest.approx(0.75 / 1.75 * 0.75 / 6, abs=0.012)


def test_a_relative_accuracy_is_one_of_the_logarithm():
    """Lognormal log-sd 0.4 read to 0.3: reliability 0.16 / 0.25."""

    def taste(level):
        return 1.0 * level

    problem = Problem.of([taste], {"level": lognormal(5.0, 0.4)}, scales={"taste": "log"})
    asked = [Measurement("assay", "level", "level", 0.3, logged=True)]

    (found,) = worth_of_measuring(problem, asked).found

    assert found.reliability == pytest.approx(0.64, abs=0.01)
    assert found.explained["taste"] == pytest.approx(0.64, abs=0.02)


def test_a_reading_on_the_way_knows_everything_before_it():
    """Reading a + b to u = 1 before c is added: r = 5 / 6 of the share 5 / 9."""

    def early(a, b):
        return a + b

    def late(early, c):
        return early + c

    problem = Problem.of(
        [early, late], {"a": normal(0, 1), "b": normal(0, 2), "c": normal(0, 2)}, outcomes=["late"]
    )

    (found,) = worth_of_measuring(problem, [Measurement("gauge", "early", "", 1.0)]).found

    assert found.explained["late"] == pytest.approx(5 / 6 * 5 / 9, abs=0.015)


def test_without_a_decision_nothing_is_gained():
    worths = worth_of_measuring(beer(targets={"strength": Target(-1, 1)}), exactly("known"))

    assert worths.found[0].gain == 0.0
    assert math.isnan(worths.best_chance)


def test_the_gain_of_a_decision_is_the_closed_form():
    """Setting +-d after seeing X ~ U(-1, 1), target +-w of X + E + s: integrals over X."""

    def hit(x, e, s):
        return x + e + s

    knob = Knob("s", "setting", "s", None, -1.0, 1.0, 0.5)
    problem = Problem.of(
        [hit],
        {"x": uniform(-1, 1), "e": (normal(0, 0.2), Kinds(0, 0, 1))},
        fixed={"s": 0.0},
        knobs=(knob,),
        targets={"hit": Target(-0.3, 0.3)},
    )
    x = np.linspace(-1, 1, 20_001)
    chances = np.array(
        [
            ndtr((0.3 - x - s) / 0.2) - ndtr((-0.3 - x - s) / 0.2)
            for s in (-1.0, -0.5, 0.0, 0.5, 1.0)
        ]
    )
    exact = chances.max(axis=0).mean() - chances.mean(axis=1).max()

    decisions = decisions_along(problem)
    worths = worth_of_measuring(problem, exactly("x", "e"), decisions=decisions)

    assert len(decisions) == 5
    assert worths.best_chance == pytest.approx(chances.mean(axis=1).max(), abs=0.01)
    assert worths.found[0].gain == pytest.approx(exact, abs=0.015)
    assert [w.measurement.label for w in worths.for_decision()] == ["x"]


def test_a_factor_without_effect_gains_less_than_is_printed():
    knob = Knob("setting", "setting", "setting", None, -2.0, 2.0, 0.25)
    problem = beer(targets={"strength": Target(-2, 2)}, knobs=(knob,))

    worths = worth_of_measuring(problem, exactly("nothing"), decisions=decisions_along(problem))

    assert worths.for_decision() == ()
    assert worths.for_outcome("strength") == ()


def test_the_gain_of_knowing_a_parameter_is_that_of_a_published_example():
    """R package voi, vignette: NB 0 and p1 - p2, p1 ~ N(1, 1), p2 ~ N(0, 2): .083315, .395593.

    Exact by E max(0, N(m, s)) = m Phi(m / s) + s phi(m / s).
    """
    z = np.concatenate([scores(("a", "b", "c"), Plan(), r) for r in range(8)], axis=1)
    utilities = np.array([np.zeros(z.shape[1]), 1 + z[0] - 2 * z[1]])

    _, gains = ScoreFits([], utilities, 0.9, seed=1).of(z)

    assert gains[:2] == pytest.approx([0.083315, 0.395593], abs=0.006)
    assert gains[2] < 5e-4


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def test_after_learning_the_posterior_draws_are_what_is_left_to_measure():
    kinds = Kinds(0.5, 0.0, 0.5)
    posterior = np.random.default_rng(2).normal(0, 0.5, 512)
    problem = Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), kinds) for i in range(1, 5)})
    learned = Learned({"x1 @knowledge": posterior}, np.repeat(np.arange(8), 64))

    found = worth_of_measuring(replace(problem, learned=learned), exactly("x1", "x2")).found

    variance = 3 + 0.5 + 0.5 * 0.25
    assert found[0].explained["sum_of_four"] == pytest.approx(0.125 / variance, abs=0.01)
    assert found[1].explained["sum_of_four"] == pytest.approx(0.5 / variance, abs=0.01)


def test_only_measurable_factors_with_something_lasting_are_offered():
    problem = beer()
    marked = replace(
        problem, factors=tuple(replace(f, measurable=f.id != "known") for f in problem.factors)
    )

    assert [m.factor for m in exact_measurements(marked)] == ["lot", "nothing"]


def test_the_budget_divides_the_variance_over_factors_and_kinds():
    """Linear Gaussian: shares c^2 sigma^2 / V, here 4, 0.75 + 0.25 and 1 of 6."""
    rows = {b.factor: b for b in variance_budget(beer(), ["strength"])["strength"]}

    assert rows["known"].knowledge == pytest.approx(4 / 6, abs=0.02)
    assert (rows["lot"].lot, rows["lot"].batch) == pytest.approx((0.125, 0.25 / 6), abs=0.02)
    assert rows["brew"].batch == pytest.approx(1 / 6, abs=0.02)
    assert rows["nothing"].total < 0.01
