"""Arguments of studies that make no sense are refused in words, before anything is computed."""

import math
from functools import partial

import numpy as np
import pytest

import brewsim
from brewsim.distributions.constructors import mixture, normal
from brewsim.errors import DistributionError, StudyError
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target


def size(dose, spread):
    return dose + spread


def fails(spread):
    return spread > 0


def beer(formulas=(size,), factors=None, **options):
    return Problem.of(
        list(formulas),
        factors or {"spread": normal(0, 1)},
        fixed={"dose": 10.0, **options.pop("fixed", {})},
        **options,
    )


def dial(**parts):
    return Knob(**{"id": "dose", "label": "dose", "quantity": "dose", "low": 5, "high": 15} | parts)


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({"scales": {"size": "log10"}}, "size: a scale is one of linear, log, log2, not 'log10'"),
        ({"scales": {"sise": "log"}}, "no quantity sise.*size"),
        ({"targets": {"size": (9, 11)}}, "a target is Target"),
        ({"fixed": {"spread": 1.0}}, "spread is both uncertain and fixed"),
        ({"factors": {"spread": (normal(0, 1), "batch")}}, "kinds are shares"),
        ({"formulas": [np.exp]}, "a formula is a function written with def"),
        ({"knobs": (dial(quantity="does"),)}, "no fixed number is called 'does'.*dose"),
        ({"knobs": (dial(quantity="spread"),)}, "no fixed number is called 'spread'"),
        ({"knobs": (dial(row=1),)}, "dose has no row 1"),
        ({"knobs": (dial(low=15, high=5),)}, "from 15 to 5: no such range"),
        ({"knobs": (dial(low=math.nan),)}, "no such range"),
        ({"knobs": (dial(step=-1),)}, "its steps cannot be -1"),
        (
            {"knobs": (dial(choices=(Choice("a", {"dd": np.ones(1)}),)),)},
            "no fixed number is called dd",
        ),
        (
            {"knobs": (dial(choices=(Choice("a", {}, {"sp": normal(0, 2)}),)),)},
            "no factor is called sp",
        ),
    ],
)
def test_a_model_that_is_posed_wrongly_is_refused(parts, told):
    with pytest.raises(StudyError, match=told):
        beer(**parts)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Kinds(math.nan, 0, 0), "sum to 1"),
        (lambda: Target("a", "b"), "numbers or None"),
        (lambda: mixture([normal(0, 1), 2], [0.5, 0.5]), "2 is no distribution"),
    ],
)
def test_parts_of_a_model_are_refused_by_themselves(make, told):
    with pytest.raises((StudyError, DistributionError), match=told):
        make()


@pytest.mark.parametrize(
    ("study", "told"),
    [
        (partial(brewsim.compare, beer(), coverage=95), "coverage is a share"),
        (partial(brewsim.compare, beer(), outcomes=["sise"]), "no quantity sise.*size"),
    ],
)
def test_a_comparison_of_nothing_is_refused(study, told):
    with pytest.raises(StudyError, match=told):
        study(beer())


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"confidence": 90}, "confidence is a share"),
        ({"confidence": 1}, "confidence is a share"),
        ({"content": -0.5}, "content is a share"),
        ({"log": {"sise": np.ones(3)}}, "the log has sise, which is no outcome.*size"),
    ],
)
def test_a_spec_of_nothing_is_refused(options, told):
    with pytest.raises(StudyError, match=told):
        brewsim.specify(beer(), **options)


def test_orders_and_sweeps_there_have_to_be():
    batch = Batch("B1", beer(), (Reading("size", 10.0, 1.0),))

    with pytest.raises(StudyError, match="order"):
        brewsim.shapley(beer(), base=64, turns=0)
    for wrong in ({"chains": -8}, {"burn": -1}, {"keep": 0}):
        with pytest.raises(StudyError, match=r"chains|kept"):
            update(beer(), [batch], **wrong)


def test_a_factor_is_not_correlated_with_itself():
    with pytest.raises(StudyError, match="with itself"):
        Correlation("knowledge", ("spread", "spread"), ((1.0, 0.5), (0.5, 1.0)))


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({"value": math.nan}, "cannot be read as nan"),
        ({"value": math.inf}, "cannot be read as inf"),
        ({"value": -13.0, "scale": "log"}, "cannot be read as -13.0 on a log scale"),
        ({"known": -1.0, "scale": "log"}, "cannot be read as -1.0"),
        ({"bias": -1.0}, "cannot have a bias of -1.0"),
        ({"noise": math.inf}, "needs a noise above 0"),
        ({"scale": "log2"}, "not on 'log2'"),
        ({"row": 3}, "is one value, without rows"),
        ({"trials": 5, "value": 7.0}, "cannot be 7.0 of 5"),
    ],
)
def test_a_reading_that_tells_nothing_is_refused(parts, told):
    reading = Reading(**{"quantity": "size", "value": 10.0, "noise": 1.0} | parts)

    with pytest.raises(StudyError, match=f"batch B1: size .*{told}"):
        update(beer(), [Batch("B1", beer(), (reading,))])


def test_a_batch_is_explained_against_house_or_recipe_and_in_what_there_is():
    batch = Batch("B1", beer(), (Reading("size", 10.0, 1.0),))
    learned = update(beer(), [batch], time_limit_s=1.0)

    with pytest.raises(StudyError, match="against house or recipe"):
        brewsim.attribute(learned, "B1", against="homes")
    with pytest.raises(StudyError, match=r"no quantity sise.*size"):
        brewsim.attribute(learned, "B1", outcomes=["sise"])


def test_a_formula_that_answers_yes_or_no_has_a_share():
    """Half of a standard normal is above 0, in every study."""
    problem = beer([size, fails], outcomes=["fails"], knobs=(dial(),))

    summary = brewsim.summarise(brewsim.simulate(problem, 1024))
    turned = brewsim.turn(problem, "dose", at=[10.0], draws=1024)

    assert float(summary["estimate"].item()) == pytest.approx(0.5, abs=0.01)
    assert float(turned["high"].item()) == 1.0
