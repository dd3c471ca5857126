"""Closed forms of knobs, choices and folds on small problems made by hand."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.distributions.constructors import normal, uniform
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.sweep import current_setting, turn
from brewsim.study.steering.compare import compare
from brewsim.study.steering.scenario_comparison import choice_shares
from brewsim.study.steering.steering import steer
from tests.study.by_hand import folds
from tests.study.linear import DIAL, linear_problem


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


def test_a_choice_stands_where_it_was_made_or_at_its_first():
    problem = linear_problem()
    choices = (Choice("plain"), Choice("strong"))

    assert current_setting(problem, Knob("k", "k", choices=choices)) == "plain"
    assert current_setting(problem, Knob("k", "k", choices=choices, current="strong")) == "strong"


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
