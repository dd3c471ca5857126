"""Problems: what is refused and how it is said, what a choice sets, what limits mean."""

import math
from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from tests.study.linear import DIAL, linear_problem

LEVEL = lognormal(8.0, 0.1)


def taste(level, haze, dose):
    return level + haze + dose


def chosen():
    """Two factors, one dose and a choice that sets the dose and redistributes the level."""
    strong = Choice("strong", {"dose": np.array([5.0])}, {"level": LEVEL})
    kind = Knob("kind", "the kind", choices=(Choice("plain"), strong), current="plain")
    return Problem.of(
        [taste],
        {"level": normal(1, 1), "haze": normal(2, 1)},
        fixed={"dose": 0.0},
        knobs=(kind, replace(DIAL, quantity="dose")),
    )


def test_a_choice_sets_what_it_fixes_redistributes_its_factors_and_stands_there():
    problem = chosen()

    moved = problem.set({"kind": "strong"})

    assert moved.fixed["dose"].tolist() == [5.0]
    assert moved.factor("level").distribution is LEVEL
    assert moved.factor("haze") is problem.factor("haze")
    assert moved.knob("kind").current == "strong"
    assert moved.knob("dial") is problem.knob("dial")
    assert (problem.knob("kind").current, problem.fixed["dose"].tolist()) == ("plain", [0.0])


def test_settings_are_made_in_their_order():
    """The choice fixes the dose; a dial of the dose set after it has the last word."""
    problem = chosen()

    assert problem.set({"kind": "strong", "dial": 2.0}).fixed["dose"].tolist() == [2.0]
    assert problem.set({"dial": 2.0, "kind": "strong"}).fixed["dose"].tolist() == [5.0]


def test_a_choice_nobody_offers_is_refused_with_those_there_are():
    with pytest.raises(StudyError, match="no choice mild; it has plain, strong"):
        chosen().set({"kind": "mild"})


def test_an_unknown_knob_is_refused_with_a_near_miss_or_with_all_there_are():
    bare = replace(linear_problem(), knobs=())

    with pytest.raises(StudyError, match="Did you mean lever"):
        linear_problem().knob("levr")
    with pytest.raises(StudyError, match="There is: dial, lever"):
        linear_problem().knob("zymurgy")
    with pytest.raises(StudyError, match="There is: none"):
        bare.knob("zymurgy")


def test_an_unknown_factor_is_refused_with_a_near_miss():
    with pytest.raises(StudyError, match=r"no factor knwon.*Did you mean known"):
        linear_problem().factor("knwon")


@pytest.mark.parametrize("more", [{"outcomes": ("strengh",)}, {"targets": {"strengh": Target()}}])
def test_what_is_asked_must_be_there(more):
    with pytest.raises(StudyError, match=r"no quantity strengh.*Did you mean strength"):
        replace(linear_problem(), **more)


def test_every_input_must_be_provided_and_all_that_are_not_are_named():
    with pytest.raises(StudyError, match="nothing provides: dial, lever"):
        replace(linear_problem(), fixed={})


@pytest.mark.parametrize("more", [{"fixed": {"missin": 3.0}}, {"extra": normal(0, 1)}])
def test_an_input_that_no_formula_reads_is_refused(more):
    def total(points, missing):
        return points + missing

    inputs = {"points": normal(1, 1), "missing": normal(0, 1), **more}
    fixed = inputs.pop("fixed", None)

    with pytest.raises(StudyError, match="no formula reads"):
        Problem.of([total], inputs, fixed=fixed)


def test_limits_that_are_not_there_are_infinite():
    assert Target(1.0, 2.0).ends == (1.0, 2.0)
    assert Target(None, 0.0).ends == (-math.inf, 0.0)
    assert Target(0.0, None).ends == (0.0, math.inf)


def test_a_model_without_named_outcomes_is_asked_for_every_formula():
    def twice(taste):
        return 2 * taste

    factors = {"level": normal(0, 1), "haze": normal(0, 1), "dose": normal(0, 1)}

    assert Problem.of([twice, taste], factors).outcomes == ("taste", "twice")
    assert Problem.of([twice, taste], factors, outcomes=["twice"]).outcomes == ("twice",)


def test_a_factor_of_a_plain_model_is_its_own_group_and_known_once_and_for_all():
    problem = Problem.of([taste], {n: normal(0, 1) for n in ("level", "haze", "dose")})

    factor = problem.factor("haze")

    assert (factor.id, factor.label, factor.group, factor.row) == ("haze", "haze", "haze", None)
    assert factor.kinds == Kinds(1.0, 0.0, 0.0)
    assert (factor.event, factor.turnable, factor.measurable) == (False, False, False)
    assert [f.id for f in problem.factors] == ["dose", "haze", "level"]


def test_kinds_without_a_share_are_left_out():
    assert Kinds(0.25, 0.0, 0.75).items() == (("knowledge", 0.25), ("batch", 0.75))
    assert Kinds(0.0, 1.0, 0.0).items() == (("lot", 1.0),)


def test_a_problem_tells_what_it_is_and_not_its_whole_graph():
    told = "<Problem 'model': 2 outcomes, 2 factors, 2 knobs, 2 targets>"
    assert repr(linear_problem()) == told


@pytest.mark.parametrize("limits", [(5.0, 3.0), (math.nan, 1.0), (0.0, math.nan)])
def test_a_target_nothing_can_land_in_is_refused(limits):
    with pytest.raises(StudyError, match="from its lower to its upper limit"):
        Target(*limits)


@pytest.mark.parametrize("setting", [math.nan, math.inf, "much"])
def test_a_dial_takes_nothing_but_a_number(setting):
    with pytest.raises(StudyError, match=f"{DIAL.id} takes a number, not {setting}"):
        linear_problem().set({DIAL.id: setting})


def test_a_number_among_the_distributions_is_refused():
    def total(a, b):
        return a + b

    with pytest.raises(StudyError, match="b: 3 is no distribution"):
        Problem.of([total], {"a": normal(0, 1), "b": 3})


def test_a_formula_cannot_change_what_the_next_one_reads():
    def greedy(a):
        a += 1
        return a

    with pytest.raises(ValueError, match="read-only"):
        simulate(Problem.of([greedy], {"a": normal(0, 1)}), 128)


def test_posing_leaves_the_functions_of_the_caller_as_they_were():
    def ratio(level: float, haze: float) -> float:
        """Level over haze."""
        return level / haze

    before = dict(ratio.__annotations__)

    problem = Problem.of([ratio], {"level": normal(4, 0.1), "haze": normal(2, 0.1)})

    assert ratio.__annotations__ == before == {"level": float, "haze": float, "return": float}
    assert problem.graph.nodes["ratio"].formula is ratio
    assert abs(float(simulate(problem, draws=1024)["ratio"].median()) - 2) < 0.01


def test_annotations_that_mean_nothing_here_do_not_stop_a_formula():
    def ratio(level: "Unknown", haze):  # noqa: F821 - a name only a type checker knows
        return level / haze

    problem = Problem.of([ratio], {"level": normal(4, 0.1), "haze": normal(2, 0.1)})

    assert problem.outcomes == ("ratio",)


def test_a_lambda_is_refused_as_a_formula_without_a_name():
    with pytest.raises(StudyError, match="a function written with def"):
        Problem.of([lambda level: level], {"level": normal(4, 0.1)})
