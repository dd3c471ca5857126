"""Every name of the nomenclature is one of a result."""

import re
from dataclasses import fields
from pathlib import Path

import brewsim
from brewsim import GumBudget, Kinds, Learned, Problem, Target, normal

PAGE = Path(__file__).parents[1] / "docs/nomenclature.md"


def total(a, b):
    return a + b


def test_every_name_is_one_of_a_result():
    problem = Problem.of(
        [total], {"a": normal(0, 1), "b": normal(0, 1)}, targets={"total": Target(0, 1)}
    )
    ranking = brewsim.rank(problem, base=64, pairs=[("a", "b")])
    known = {
        *brewsim.summarise(brewsim.simulate(problem, 128)).variables,
        *ranking.variables,
        *brewsim.shapley(problem, base=64).variables,
        *(field.name for part in (GumBudget, Learned, Kinds) for field in fields(part)),
        "expanded",
    }
    rows = re.findall(r"^\|([^|]*)\|([^|]*)\|", PAGE.read_text("utf-8"), flags=re.MULTILINE)
    named = {name for row in rows for name in re.findall(r"`(\w+)`", "".join(row))}

    assert hasattr(GumBudget, "expanded")
    assert len(named) >= 20
    assert named <= known
