"""Splitting a deviation: exact sums, closed forms, pairs that cannot be told apart."""

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.inference.attribution import INSTRUMENT, READING_ERROR, attribute
from brewsim.study.inference.experimental_design import Spread
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem

PER_BATCH = Kinds(0, 0, 1)


def total(first, second):
    return first + second


@pytest.fixture(scope="module")
def learned():
    problem = Problem.of(
        [total], {"first": (normal(0, 1), PER_BATCH), "second": (normal(0, 2), PER_BATCH)}
    )
    batch = Batch("1", problem, (Reading("total", 3.0, 0.5),))
    return update(problem, [batch], keep=400, time_limit_s=0)


def test_linear_gaussian_shares_are_the_closed_form(learned):
    """Y = X1 + X2, sds 1 and 2, reading error 0.5, excess 3: .571429, 2.285714 and .142857."""
    (found,) = attribute(learned, "1")
    shares = {s.factor: s.estimate for s in found.shares}

    assert shares["first"] == pytest.approx(0.571429, abs=4 * 0.9 / np.sqrt(512))
    assert shares["second"] == pytest.approx(2.285714, abs=4 * 0.98 / np.sqrt(512))
    assert shares[READING_ERROR] == pytest.approx(0.142857, abs=4 * 0.49 / np.sqrt(512))


def test_shares_add_up_exactly(learned):
    (found,) = attribute(learned, "1")

    assert sum(s.estimate for s in found.shares) == pytest.approx(found.deviation, abs=1e-12)
    assert found.deviation == pytest.approx(3.0)


def test_causes_the_reading_cannot_tell_apart_are_named(learned):
    (found,) = attribute(learned, "1")

    assert {found.inseparable[0][0], found.inseparable[0][1]} == {"first", "second"}
    assert found.inseparable[0][2] == pytest.approx(-0.867722, abs=0.05)


def product(left, right):
    return left * right


def test_an_interaction_is_shared_equally():
    """1.3 x 0.8 against 1 x 1: Shapley shares .27 and -.23 by arithmetic."""
    problem = Problem.of(
        [product],
        {"left": (lognormal(1.0, 0.5), PER_BATCH), "right": (lognormal(1.0, 0.5), PER_BATCH)},
    )
    pins = (Reading("left", 1.3, 0.001), Reading("right", 0.8, 0.001))
    learned = update(problem, [Batch("1", problem, pins)], keep=100, time_limit_s=0)

    (found,) = attribute(learned, "1", outcomes=["product"])

    shares = {s.factor: s.estimate for s in found.shares}
    assert shares["left"] == pytest.approx(0.27, abs=0.002)
    assert shares["right"] == pytest.approx(-0.23, abs=0.002)


def test_against_the_recipe_knowledge_counts_and_against_the_house_it_does_not():
    problem = Problem.of([total], {"first": normal(0, 1), "second": (normal(0, 0.1), PER_BATCH)})
    learned = update(problem, [Batch("1", problem, (Reading("total", 2.0, 0.1),))])

    (recipe,) = attribute(learned, "1", against="recipe")
    (house,) = attribute(learned, "1", against="house")

    of = {a.against: {s.factor: s.estimate for s in a.shares} for a in (recipe, house)}
    assert of["recipe"]["first"] > 1.7
    assert "first" not in of["house"]


def test_an_unknown_batch_is_refused(learned):
    with pytest.raises(StudyError, match="there is 1"):
        attribute(learned, "2")


def test_two_readings_of_one_quantity_are_each_explained_by_their_own():
    problem = Problem.of(
        [total], {"first": (normal(0, 1), PER_BATCH), "second": (normal(0, 2), PER_BATCH)}
    )
    pair = (Reading("total", 3.0, 0.5, "old", 0.5), Reading("total", 1.0, 0.2))
    learned = update(problem, [Batch("1", problem, pair)], keep=8, time_limit_s=0)

    one, other = attribute(learned, "1")

    assert (one.reached, other.reached) == (3.0, 1.0)
    assert one.reference == other.reference
    for found in (one, other):
        assert sum(s.estimate for s in found.shares) == pytest.approx(found.deviation, abs=1e-12)
    assert {s.factor for s in one.shares} - {s.factor for s in other.shares} == {INSTRUMENT}


def test_an_ordinary_batch_is_told_with_the_error_of_the_instrument_it_is_read_by():
    """A calibration fixes a bias of 1: a batch read 3.0 differs from an ordinary one by 2."""
    problem = Problem.of([total], {"first": (normal(0, 1), PER_BATCH), "second": normal(0, 1e-6)})
    readings = (
        Reading("total", 3.0, 0.01, "meter", 1.0),
        Reading("total", 1.0, 0.001, "meter", 1.0, known=0.0),
    )
    learned = update(problem, [Batch("1", problem, readings)], keep=200, time_limit_s=0)

    (found,) = attribute(learned, "1")

    assert found.deviation == pytest.approx(3.0, abs=0.01)
    assert found.ordinary == pytest.approx(1.0, abs=0.02)
    assert found.step == pytest.approx(2.0, abs=0.02)
    assert sum(share.estimate for share in found.own) == pytest.approx(found.step)
    assert INSTRUMENT not in {share.factor for share in found.own}


def test_the_chance_of_a_batch_is_that_of_its_step_in_the_house_s_scatter(learned):
    """A step of 3 in a scatter of hypot(2, 1.5) = 2.5: 2 Phi(-1.2) = 0.2301."""
    (found,) = attribute(learned, "1")
    scatter = Spread("total", 3, observed=1.0, known=1.0, brew=2.0, reading=1.5, chance=0.5)

    assert found.chance([scatter]) == pytest.approx(0.2301, abs=1e-4)
    assert found.chance([]) is None
