"""Indices against closed forms, with errors that mean what they say and zeros that are zeros."""

import json

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, Points
from brewsim.study.sensitivity import pickfreeze
from brewsim.study.sensitivity.sobol import rank
from tests.study.models import (
    SHARES,
    g_function,
    ishigami_problem,
    log_plus,
    sum_of_four,
    within,
)


def assert_agrees(found, first, total):
    for name, exact in (("first_order", first), ("total_order", total)):
        values = found[name].to_numpy().ravel()
        errors = found[f"{name}_high"].to_numpy().ravel() - values
        for value, wanted, error in zip(values, exact, errors, strict=True):
            assert within(value, wanted, error), (name, value, wanted, error)


def test_ishigami():
    """Ishigami & Homma (1990), a = 7, b = 0.1; closed form."""
    found = rank(ishigami_problem())

    assert_agrees(found, [0.313905, 0.442411, 0.0], [0.557589, 0.442411, 0.243684])
    assert float(found["variance"][0]) == pytest.approx(13.844588, rel=0.005)


def test_an_interaction_of_a_chosen_pair():
    """Ishigami: S13 = .243684, the only one."""
    found = rank(ishigami_problem(), pairs=[("x1", "x3"), ("x1", "x2")])

    for pair, exact in (("x1 × x3", 0.243684), ("x1 × x2", 0.0)):
        row = found.sel(pair=pair, outcome="ishigami")
        value, high = float(row["second_order"]), float(row["second_order_high"])
        assert within(value, exact, high - value)


def test_the_g_function():
    """Saltelli & Sobol' (1995), a = (0, 9, 99): V = prod(1 + p) - 1, p = 1 / (3 (1 + a)^2)."""
    problem = Problem.of([g_function], dict.fromkeys(("x1", "x2", "x3"), uniform(0, 1)))

    found = rank(problem)

    assert_agrees(found, [0.986712, 0.009867, 0.000099], [0.990034, 0.013157, 0.000132])


def product(x1, x2, x3):
    return x1 * x2 * x3


def lognormal_product(scales=None):
    spreads = {"x1": 0.1, "x2": 0.2, "x3": 0.4}
    return Problem.of([product], {n: lognormal(5, s) for n, s in spreads.items()}, scales=scales)


def test_a_product_of_lognormals():
    """S = e_i / V, T = e_i prod(1 + e) / ((1 + e_i) V), e the squared coefficient of variation."""
    e = np.expm1(np.array([0.1, 0.2, 0.4]) ** 2)
    whole = np.prod(1 + e)

    found = rank(lognormal_product())

    assert_agrees(found, e / (whole - 1), e * whole / ((1 + e) * (whole - 1)))


def test_a_product_is_a_sum_on_the_log_scale():
    shares = np.array([0.1, 0.2, 0.4]) ** 2 / 0.21

    found = rank(lognormal_product({"product": "log2"}))

    np.testing.assert_allclose(found["first_order"][0], shares, atol=0.002)
    np.testing.assert_allclose(found["total_order"][0], shares, atol=0.002)


def test_what_is_known_and_what_varies_make_up_the_whole():
    """S of knowledge + T of lot and batch together = 1, whatever the marginals."""
    found = rank(ishigami_problem(SHARES), by="kind", pairs=[("batch", "lot")])

    first = found["first_order"].sel(outcome="ishigami")
    known = float(first.sel(factor="knowledge"))
    closed_rest = float(
        first.sel(factor="lot")
        + first.sel(factor="batch")
        + found["second_order"].sel(outcome="ishigami", pair="batch × lot")
    )
    total_known = float(found["total_order"].sel(outcome="ishigami", factor="knowledge"))
    assert total_known + closed_rest == pytest.approx(1.0, abs=0.02)
    varies = rank(ishigami_problem(Kinds(0.5, 0.0, 0.5)), by="kind").sel(outcome="ishigami")
    rest = float(varies["total_order"].sel(factor="batch"))
    assert float(varies["first_order"].sel(factor="knowledge")) + rest == pytest.approx(
        1.0, abs=0.02
    )
    assert 0 < known < total_known


def test_kinds_of_a_linear_model_are_their_shares():
    problem = Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), SHARES) for i in range(1, 5)})

    found = rank(problem, by="kind").sel(outcome="sum_of_four")

    for kind, share in (("knowledge", 0.5), ("lot", 0.2), ("batch", 0.3)):
        assert float(found["total_order"].sel(factor=kind)) == pytest.approx(share, abs=0.003)


def halved(x1):
    return x1 / 2


def other(x2):
    return x2 + 1


def test_what_cannot_reach_an_outcome_is_exactly_zero():
    found = rank(Problem.of([halved, other], {"x1": normal(0, 1), "x2": normal(0, 1)}))

    unreached = found.sel(outcome="halved", factor="x2")
    for name in ("first_order", "total_order", "total_order_low", "total_order_high"):
        assert float(unreached[name]) == 0.0
    assert not bool(unreached["distinguishable"])
    assert float(found["total_order"].sel(outcome="halved", factor="x1")) == pytest.approx(
        1.0, abs=2e-3
    )


def test_equal_factors_are_called_tied_and_unequal_ones_are_not():
    spreads = {"x1": 1.0, "x2": 1.0, "x3": 3.0, "x4": 0.1}
    problem = Problem.of([sum_of_four], {n: normal(0, s) for n, s in spreads.items()})

    found = rank(problem).sel(outcome="sum_of_four")

    tied = found["tied_with_next"]
    largest = max(("x1", "x2"), key=lambda n: float(found["total_order"].sel(factor=n)))
    assert bool(tied.sel(factor=largest))
    assert not bool(tied.sel(factor="x3"))


class TwoScrambles:
    """A from one scramble and B from another, as a careless design would."""

    def __init__(self, dimension, plan, replicate):
        self._a = Points(dimension // 2, plan, replicate)
        self._b = Points(dimension // 2, Plan(seed=plan.seed + 1), replicate)

    def scores(self, rows):
        return np.concatenate([self._a.scores(rows), self._b.scores(rows)])


def test_one_sequence_is_split_because_two_scrambles_are_not_independent(monkeypatch):
    """Owen, Monte Carlo theory (2013), 17: scrambles share the digital structure of the net."""
    exact = np.array([0.557589, 0.442411, 0.243684])

    right = rank(ishigami_problem())["total_order"][0] - exact
    monkeypatch.setattr(pickfreeze, "Points", TwoScrambles)
    wrong = rank(ishigami_problem())["total_order"][0] - exact

    assert float(abs(right).max()) < 0.005
    assert float(abs(wrong).max()) > 0.02


def test_a_bad_row_is_left_out_of_every_design_alike():
    """Truncating x1 at 0 by hand gives the same shares as leaving its bad rows out."""
    broken = Problem.of([log_plus], {"x1": uniform(-0.003, 0.997), "x2": normal(0, 1)})
    clean = Problem.of([log_plus], {"x1": uniform(1e-9, 0.997), "x2": normal(0, 1)})

    found, wanted = rank(broken), rank(clean)

    np.testing.assert_allclose(found["total_order"], wanted["total_order"], atol=0.02)
    assert np.isfinite(found["total_order_high"]).all()
    assert json.loads(found.attrs["left_out"])["log_plus"] == pytest.approx(98, abs=8)


def test_above_one_percent_of_bad_rows_there_is_no_interval():
    problem = Problem.of([log_plus], {"x1": uniform(-0.1, 0.9), "x2": normal(0, 1)})

    found = rank(problem)

    assert np.isnan(found["total_order_low"]).all()
    assert not found["distinguishable"].any()


def test_the_order_of_factors_changes_no_bit():
    names = ("x3", "x1", "x4", "x2")
    shuffled = Problem.of([sum_of_four], {n: normal(0, 1) for n in names})
    straight = Problem.of([sum_of_four], {n: normal(0, 1) for n in sorted(names)})

    assert rank(shuffled, base=256).identical(rank(straight, base=256))


def test_a_far_off_level_costs_no_accuracy():
    """Centring: with mean 1e6 times the spread the indices stay as they are."""
    far = Problem.of([sum_of_four], {f"x{i}": normal(1e6, 1) for i in range(1, 5)})

    np.testing.assert_allclose(rank(far)["first_order"], 0.25, atol=0.003)
