"""Every command learns a brewery's log in the same one way."""

from dataclasses import replace
from pathlib import Path

import brewsim
from brewsim.distributions.constructors import normal
from brewsim.logbook.learning import learned_from
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.scatter import EVERYTHING

PACKAGE = Path(brewsim.__file__).parent


def level(a):
    return 1.0 * a


def test_the_scatter_of_a_brewery_is_learned_with_it():
    plain = Problem.of([level], {"a": normal(0.0, 1.0)})
    problem = replace(plain, factors=(replace(plain.factors[0], kinds=Kinds(0.5, 0.0, 0.5)),))
    batches = [Batch(f"b{i}", problem, (Reading("level", 0.1 * i, 0.1),)) for i in range(9)]

    assert EVERYTHING in learned_from(problem, batches, time_limit_s=0).draws
    assert EVERYTHING not in learned_from(problem, batches[:4], time_limit_s=0).draws


def test_no_command_learns_a_log_past_it():
    rooms = ("cli", "page", "wording", "answers", "logbook")
    calls = {
        str(path.relative_to(PACKAGE))
        for room in rooms
        for path in (PACKAGE / room).rglob("*.py")
        if "import update\n" in (text := path.read_text(encoding="utf-8"))
        or "brewsim.update(" in text
    }

    assert calls == {"logbook/learning.py"}
