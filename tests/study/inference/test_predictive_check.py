"""How surprising a reading is, where what was expected is known exactly."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import constant, lognormal, normal
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.predictive_check import (
    remarks_on,
    surprises_of,
    too_many_unexplained,
)
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem

BREW = Kinds(0, 0, 1)
DRAWN = 4096


def level(x):
    return 1.0 * x


def surprise(distribution, reading, learned=0.0):
    """Return the surprise of one reading, with the posterior at one score throughout."""
    problem = Problem.of([level], {"x": (distribution, BREW)})
    model = Model([Batch("b7", problem, (reading,))])
    draws = np.full((len(model.names), 100), learned)
    (found,) = surprises_of(model, draws, np.random.default_rng(2))
    return found


@pytest.mark.parametrize("value", [-60.0, 60.0])
def test_no_reading_is_impossible_only_rarer_than_what_was_drawn(value):
    """Beyond all n draws: the half of a draw that stands for it, of n + 1, on either side."""
    found = surprise(normal(0, 1), Reading("level", value, 0.5))

    assert found.chance == pytest.approx(1 / (DRAWN + 1))


def test_a_reading_in_the_middle_is_no_surprise():
    assert surprise(normal(0, 1), Reading("level", 0.0, 0.5)).chance > 0.9


def test_what_was_expected_of_a_log_reading_is_told_in_its_own_unit():
    """ln x has sd 0.3 and the reading 0.4 of it: together 0.5 around ln 20."""
    reading = Reading("level", 20.0 * np.exp(0.5), 0.4, scale="log")

    found = surprise(lognormal(20.0, 0.3), reading, learned=1.0)

    reach = stats.norm.ppf(0.95) * 0.5
    error = 4 * 0.5 * np.sqrt(0.05 * 0.95 / DRAWN) / stats.norm.pdf(stats.norm.ppf(0.95))
    assert np.log(found.expected / 20.0) == pytest.approx(0.0, abs=4 * 1.2533 * 0.5 / 64)
    assert np.log(np.array([found.low, found.high]) / 20.0) == pytest.approx(
        [-reach, reach], abs=error
    )
    assert found.value == reading.value
    assert found.chance == pytest.approx(2 * stats.norm.sf(1.0), abs=4 * 0.0148)
    assert found.residual == pytest.approx((0.5 - 0.3) / 0.4)


@pytest.mark.parametrize("value", [4, 12, 20])
def test_a_count_is_expected_to_be_binomial(value):
    """A share of 0.5 of 20: sd sqrt(5), nine counts in ten within 6 and 14."""
    found = surprise(constant(0.5), Reading("level", value, 0.0, trials=20))

    count = stats.binom(20, 0.5)
    each = count.pmf(np.arange(21))
    exact = each[each <= each[value] * (1 + 1e-9)].sum()
    assert found.chance == pytest.approx(exact, abs=max(4 * np.sqrt(exact / DRAWN), 1 / DRAWN))
    assert (found.expected, found.low, found.high) == (10.0, 6.0, 14.0)
    assert found.residual == pytest.approx((value - 10.0) / np.sqrt(5.0))


def test_a_share_beyond_its_limits_counts_as_none_or_all():
    none = surprise(constant(-0.2), Reading("level", 0, 0.0, trials=20))
    every = surprise(constant(1.2), Reading("level", 20, 0.0, trials=20))

    assert (none.expected, none.low, none.high) == (0.0, 0.0, 0.0)
    assert (every.expected, every.low, every.high) == (20.0, 20.0, 20.0)


def test_a_count_that_could_not_be_has_a_large_residual_and_not_an_infinite_one():
    """A share of exactly 0 has no scatter; 1e-9 a trial is put in its place."""
    found = surprise(constant(0.0), Reading("level", 1, 0.0, trials=10))

    assert found.residual == pytest.approx(1 / np.sqrt(1e-8))


def test_a_reading_is_named_by_its_label_and_else_by_its_quantity():
    plain, named = Reading("level", 0.0, 1.0), Reading("level", 0.0, 1.0, label="day 3")

    assert surprise(normal(0, 1), plain).label == "level"
    assert surprise(normal(0, 1), named).label == "day 3"
    assert surprise(normal(0, 1), named).batch == "b7"


def test_remarks_write_values_as_they_are_told_and_counts_as_they_are():
    seen = surprise(normal(0, 1), Reading("level", 9.0, 0.5, label="the level"))
    counted = replace(seen, quantity="", value=7.0)

    far, count, unexplained, _ = remarks_on([seen, counted], lambda q, v: f"{q} of {v:.1f} L")

    assert "the level read level of 9.0 L, expected level of -" in far
    assert "the level read 7, expected" in count
    assert "explains the level = level of 9.0 L; it stays 18.0 reading errors" in unexplained


@pytest.mark.parametrize(
    ("chance", "told"),
    [(1 / (DRAWN + 1), "fewer than 1 in 1,000"), (0.0042, "about 4 in 1,000")],
)
def test_a_chance_is_not_told_more_finely_than_draws_can_tell_it(chance, told):
    seen = replace(surprise(normal(0, 1), Reading("level", 1.0, 0.5)), chance=chance)

    (far,) = remarks_on([seen])

    assert far.endswith(f"; {told} readings lie this far out")


@pytest.mark.parametrize(
    ("far", "outliers", "trusted"),
    [(1, False, True), (2, False, True), (3, False, False), (10, True, True), (11, True, False)],
)
def test_more_than_a_few_unexplained_readings_forbid_trust(far, outliers, trusted):
    one = surprise(normal(0, 1), Reading("level", 0.0, 0.5))
    lost = replace(one, residual=-3.6)

    why = too_many_unexplained([*[lost] * far, *[one] * (100 - far)], outliers=outliers)

    assert (why == ()) is trusted
    assert trusted or f"{far} of 100 readings" in why[0]
