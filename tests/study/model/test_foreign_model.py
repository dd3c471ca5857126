"""Models from elsewhere: methods, partials, defaults, loops, units, groups, reserved names."""

import json
import math
from functools import partial

import numpy as np
import pytest

from brewsim.distributions.constructors import normal, uniform
from brewsim.errors import StudyError
from brewsim.study.model.foreign_model import one_by_one
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from brewsim.study.sensitivity.sobol import rank


class Kettle:
    """A model with a state of its own."""

    def __init__(self, loss):
        self.loss = loss

    def left(self, volume):
        return volume - self.loss


def scaled(x, factor, offset=1.0):
    return factor * x + offset


def offset(x):
    return 10 * x


def root(x):
    return math.sqrt(x)


def heat_c(a, b, c):
    return a + 2 * b + 3 * c


def mean_of(problem):
    return float(summarise(simulate(problem, 4096))["estimate"][0])


def test_a_method_is_a_formula():
    assert mean_of(Problem.of([Kettle(2.0).left], {"volume": normal(20, 1)})) == pytest.approx(
        18, abs=1e-3
    )


def test_a_partial_is_a_formula_of_what_is_left_open():
    problem = Problem.of([partial(scaled, factor=3.0)], {"x": normal(2, 1)})

    assert mean_of(problem) == pytest.approx(7, abs=3e-3)


def test_a_default_stands_where_nothing_provides_the_parameter():
    usual = Problem.of([scaled], {"x": normal(2, 1)}, fixed={"factor": 3.0})
    computed = Problem.of(
        [scaled, offset], {"x": normal(2, 1)}, fixed={"factor": 3.0}, outcomes=["scaled"]
    )
    stated = Problem.of([scaled], {"x": normal(2, 1)}, fixed={"factor": 3.0, "offset": 5.0})

    assert mean_of(usual) == pytest.approx(7, abs=3e-3)
    assert mean_of(stated) == pytest.approx(11, abs=3e-3)
    assert mean_of(computed) == pytest.approx(26, abs=0.02)


def test_a_function_of_numbers_runs_draw_by_draw_and_counts_failures():
    """A quarter of the draws lie below 0, where there is no root."""
    problem = Problem.of([one_by_one(root)], {"x": uniform(-1, 3)})

    draws = simulate(problem, 1024)

    (entry,) = json.loads(draws.attrs["not_finite"])
    assert (entry["formula"], entry["count"]) == ("root", 256)
    known = draws["x"] if "x" in draws else draws["root"]
    assert np.isnan(known).sum() == 256


def test_units_and_groups_are_as_stated():
    given = {name: normal(0, 1) for name in "abc"}
    problem = Problem.of(
        [heat_c], given, units={"heat_c": "kJ"}, groups={"a": "first", "b": "first"}
    )

    assert simulate(problem, 128)["heat_c"].attrs["unit"] == "kJ"
    assert rank(problem, base=64, by="group")["factor"].to_numpy().tolist() == ["c", "first"]
    assert simulate(Problem.of([heat_c], given), 128)["heat_c"].attrs["unit"] == "°C"


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({"units": {"heat": "kJ"}}, "no quantity heat"),
        ({"groups": {"d": "x"}}, "no factor d"),
    ],
)
def test_units_and_groups_of_strangers_are_refused(parts, told):
    with pytest.raises(StudyError, match=told):
        Problem.of([heat_c], {name: normal(0, 1) for name in "abc"}, **parts)


def event(x):
    return x


@pytest.mark.parametrize("model", [np.sqrt, lambda x: x, "scaled", partial(np.power, 2)])
def test_what_has_no_names_is_refused_in_words(model):
    with pytest.raises(StudyError, match="written with def"):
        Problem.of([model], {"x": normal(0, 1)})


@pytest.mark.parametrize("name", ["draw", "replicate", "event", "score", "factor", "outcome"])
def test_names_of_results_are_refused_in_words(name):
    def model(x):
        return x

    model.__name__ = name
    with pytest.raises(StudyError, match="name of brewsim's own results"):
        Problem.of([model], {"x": normal(0, 1)})


def test_a_problem_leaves_the_users_functions_as_they_are():
    def total(a: float, b: float = 2.0) -> float:
        return a + b

    before = dict(total.__annotations__)
    Problem.of([total], {"a": normal(0, 1)})

    assert total.__annotations__ == before
