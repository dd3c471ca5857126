"""Choices between whole problems: closed forms, other formulas, refusals."""

import pytest

from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.model.problem import Problem
from brewsim.study.steering.scenario_comparison import choice_shares, turn_between
from tests.study.linear import DIAL, linear_problem, side


@pytest.fixture(scope="module")
def problem():
    return linear_problem()


def test_a_choice_between_problems_has_the_shares_of_the_closed_form():
    """y = x + c, c = 0 or 3 as likely: both indices are 2.25 / (2.25 + 1)."""

    def response(known, dial):
        return known + dial

    problem = Problem.of([response], {"known": normal(0, 1)}, fixed={"dial": 0.0}, knobs=(DIAL,))
    options = {"as it is": problem, "more": problem.set({"dial": 3.0})}

    found = choice_shares(options).sel(outcome="response")

    for order in ("first_order", "total_order"):
        assert float(found[order]) == pytest.approx(2.25 / 3.25, abs=0.005)
        assert found[f"{order}_low"] <= found[order] <= found[f"{order}_high"]


def test_a_choice_between_the_same_problem_has_no_share(problem):
    found = choice_shares({"one": problem, "other": problem})

    assert float(abs(found["total_order"]).max()) == 0.0


def test_options_with_other_formulas_stand_beside_each_other(problem):
    """Another formula for one outcome; what both problems share is drawn once."""

    def strength(known, scatter, dial):
        return known + scatter + dial + 2.0

    other = Problem.of(
        [strength, side],
        {f.id: (f.distribution, f.kinds) for f in problem.factors},
        fixed={"dial": 0.0, "lever": 0.0},
        targets=dict(problem.targets),
    )

    along = turn_between({"this": problem, "that": other}, current="this", label="formula")
    middle = along["middle"].sel(outcome="strength")

    assert float(middle[1] - middle[0]) == pytest.approx(2.0, abs=1e-9)
    assert along.attrs["current"] == "this"
    assert list(along["setting"].values) == ["this", "that"]


def test_a_choice_of_one_is_refused(problem):
    with pytest.raises(StudyError, match="two options"):
        choice_shares({"only": problem})
