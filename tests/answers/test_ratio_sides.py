"""The sides of a ratio that is aimed at, and how little of them advice may leave."""

import pytest

from brewsim.answers.ratio_sides import faint_sides, floors_of, known_ratios, sides_of, sides_today
from brewsim.distributions.constructors import normal
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target


def thiol_lead(thiol_activity, hop_aroma_activity):
    return thiol_activity - hop_aroma_activity


def thiol_activity(dose, error):
    return dose + error


def hop_aroma_activity(hops, error):
    return hops - error


def ratio_problem(dose=3.0, hops=2.0, **targets):
    return Problem.of(
        [thiol_lead, thiol_activity, hop_aroma_activity],
        {"error": normal(0.0, 0.1)},
        fixed={"dose": dose, "hops": hops},
        targets=targets or {"thiol_lead": Target(0.5, 1.5)},
    )


def test_a_ratio_that_is_aimed_at_has_two_sides_with_a_floor_where_they_are_noticed():
    problem = ratio_problem()

    assert list(known_ratios(problem)) == ["thiol_lead"]
    assert sides_of(problem) == ["thiol_activity", "hop_aroma_activity"]
    assert sides_today(problem) == pytest.approx(
        {"thiol_activity": 3.0, "hop_aroma_activity": 2.0}, abs=2e-3
    )
    assert floors_of(problem) == {"thiol_activity": 1.0, "hop_aroma_activity": 1.0}
    assert floors_of(ratio_problem(dose=0.9)) == {"hop_aroma_activity": 1.0}
    assert faint_sides(problem) == {}
    assert faint_sides(ratio_problem(dose=0.9)) == pytest.approx({"thiol_activity": 0.9}, abs=2e-3)
    aimed = {"thiol_lead": Target(0.5), "thiol_activity": Target(1.0)}
    assert floors_of(ratio_problem(**aimed)) == {"hop_aroma_activity": 1.0}
    other = ratio_problem(thiol_activity=Target(1.0))
    assert (sides_of(other), sides_today(other), floors_of(other)) == ([], {}, {})
    lone = Problem.of([thiol_activity], {"error": normal(0, 1)}, fixed={"dose": 1.0})
    assert known_ratios(lone) == {}
