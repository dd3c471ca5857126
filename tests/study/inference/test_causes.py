"""Causes of a deviation by hand: which kinds move, which return, which cannot be told apart."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal
from brewsim.graph.build import build_graph
from brewsim.study.inference.attribution import INSTRUMENT, READING_ERROR, _inseparable, attribute
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from tests.study.posteriors import by_hand

BREW = Kinds(0, 0, 1)


def strength(house, named, unnamed, brew):
    return 10.0 + house + named + unnamed + brew


def brewery(reading=None):
    """A year of the house, a lot that is named, one that is not, and the brew's own scatter."""
    lot = Kinds(0, 1, 0)
    base = Problem.of(
        [strength],
        {
            "house": normal(0, 1),
            "named": (normal(0, 2), lot),
            "unnamed": (normal(0, 4), lot),
            "brew": (normal(0, 8), BREW),
        },
    )
    factors = tuple(replace(f, lot="H24" if f.id == "named" else "") for f in base.factors)
    return Batch("b1", replace(base, factors=factors), () if reading is None else (reading,))


DRAWS = {
    "house @knowledge": 0.5,
    "named @lot H24": 0.25,
    "unnamed @lot of b1": -1.0,
    "brew @batch b1": 0.125,
}


def explained(against, batch=None, draws=DRAWS, **more):
    batch = batch or brewery()
    learned = by_hand(batch.problem, [batch], draws)
    return attribute(learned, "b1", against=against, **more)


def test_against_the_house_only_what_is_this_brews_own_is_a_cause():
    """10 + 0.5 + 2 x 0.25 is ordinary here; the unnamed lot took 4 and the brew gave 1."""
    (found,) = explained("house", outcomes=["strength"])

    assert (found.reference, found.reached) == (11.0, 8.0)
    assert found.deviation == -3.0
    assert [(s.factor, s.kind, s.estimate, s.returns) for s in found.shares] == [
        ("unnamed", "lot", -4.0, False),
        ("brew", "batch", 1.0, False),
    ]


def test_against_the_recipe_house_and_named_lots_are_causes_that_return():
    (found,) = explained("recipe", outcomes=["strength"])

    assert (found.reference, found.reached) == (10.0, 8.0)
    assert {(s.factor, s.kind, s.estimate, s.returns) for s in found.shares} == {
        ("unnamed", "lot", -4.0, False),
        ("brew", "batch", 1.0, False),
        ("house", "knowledge", 0.5, True),
        ("named", "lot", 0.5, True),
    }
    sizes = [abs(s.estimate) for s in found.shares]
    assert sizes == sorted(sizes, reverse=True)


def test_each_kind_of_one_factor_is_a_cause_of_its_own():
    """Shares 0.64 and 0.36 of the score: 0.8 x 1 and 0.6 x (-2) standard deviations of 5."""

    def level(x):
        return 1.0 * x

    problem = Problem.of([level], {"x": (normal(0, 5), Kinds(0.64, 0, 0.36))})
    batch = Batch("b1", problem)

    (found,) = explained(
        "recipe",
        batch,
        {"x @knowledge": 1.0, "x @batch b1": -2.0},
        outcomes=["level"],
    )

    assert {s.kind: s.estimate for s in found.shares} == pytest.approx(
        {"knowledge": 4.0, "batch": -6.0}
    )
    assert found.credits["x", "batch"] == pytest.approx(-6.0)


def test_the_range_of_a_share_leaves_a_twentieth_on_each_side():
    """Scores of the brew evenly from 0 to 1, times 8."""
    scores = np.linspace(0.0, 1.0, 512)

    (found,) = explained("house", draws={"brew @batch b1": scores}, outcomes=["strength"])

    (share,) = found.shares
    assert (share.low, share.estimate, share.high) == pytest.approx((0.4, 4.0, 7.6))
    assert share.largest == 1.0


def test_outcomes_stand_in_the_order_asked_and_those_not_read_reach_their_mean():
    def double(strength):
        return 2 * strength

    base = brewery().problem
    problem = Problem.of(
        [strength, double], {f.id: (f.distribution, f.kinds) for f in base.factors}
    )
    batch = Batch("b1", problem, (Reading("strength", 9.5, 0.1),))
    draws = {"brew @batch b1": 0.125, "unnamed @lot of b1": 0.0}

    asked = explained("recipe", batch, draws, outcomes=["double", "strength"])
    (read,) = explained("recipe", batch, draws)

    assert [(a.outcome, a.reached) for a in asked] == [("double", 22.0), ("strength", 9.5)]
    assert (read.outcome, read.batch, read.against) == ("strength", "b1", "recipe")
    assert {s.factor: s.estimate for s in read.shares}[READING_ERROR] == pytest.approx(-1.5)
    assert READING_ERROR not in {s.factor for s in asked[0].shares}


def product(left, right):
    return left * right


def test_what_two_causes_do_together_is_shared_equally_in_every_draw():
    """1.3 x 0.8 against 1 x 1: 0.3 x (1 + 0.8) / 2 and -0.2 x (1 + 1.3) / 2."""
    problem = Problem.of(
        [product], {"left": (lognormal(1, 1), BREW), "right": (lognormal(1, 1), BREW)}
    )
    draws = {"left @batch b1": np.log(1.3), "right @batch b1": np.log(0.8)}

    (found,) = explained("recipe", Batch("b1", problem), draws, outcomes=["product"])

    np.testing.assert_allclose(found.credits["left", "batch"], 0.27)
    np.testing.assert_allclose(found.credits["right", "batch"], -0.23)


def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
    """Mass of all hops."""
    return hop_mass_g.sum(axis=0)


def test_rows_of_a_list_are_causes_each_by_itself():
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = tuple(
        Factor(f"h{i}", "hop_mass_g", i, f"hop {i}", normal(20, i + 1.0), BREW) for i in range(2)
    )
    batch = Batch("b1", Problem(graph, {}, factors, ("hop_total_g",)))

    (found,) = explained(
        "house", batch, {"h0 @batch b1": 3.0, "h1 @batch b1": -1.0}, outcomes=["hop_total_g"]
    )

    assert {s.factor: s.estimate for s in found.shares} == {"h0": 3.0, "h1": -2.0}
    assert {s.label for s in found.shares} == {"hop 0", "hop 1"}


def rows_that_go(correlation, seed=1, size=4000):
    """Return two rows whose sample correlation is exactly that."""
    raw = np.random.default_rng(seed).standard_normal((2, size))
    raw -= raw.mean(axis=1, keepdims=True)
    plain = np.linalg.solve(np.linalg.cholesky(np.cov(raw)), raw)
    return plain[0], correlation * plain[0] + np.sqrt(1 - correlation**2) * plain[1]


@pytest.mark.parametrize(("correlation", "told"), [(-0.6, 1), (-0.4, 0), (0.9, 0)])
def test_only_causes_that_make_up_for_one_another_cannot_be_told_apart(correlation, told):
    found = _inseparable(["a", "b"], rows_that_go(correlation))

    assert len(found) == told
    assert all(pair[2] == pytest.approx(correlation) for pair in found)


def test_kinds_of_one_factor_and_causes_that_stand_still_are_no_pair():
    one, other = rows_that_go(-0.9)

    assert _inseparable(["a", "a"], (one, other)) == ()
    assert _inseparable(["a", "b"], (one, np.zeros_like(one))) == ()


def test_pairs_stand_by_how_little_they_can_be_told_apart_among_the_six_widest():
    """Two pairs of -0.9 and -0.7, two that go with nobody, and a narrow one too many."""
    strong, weak = rows_that_go(-0.9), [10 * row for row in rows_that_go(-0.7, 2)]
    lone = np.random.default_rng(9).standard_normal((2, 4000)) * 5
    narrow = -0.01 * strong[0]
    names = ["w1", "s1", "n", "w2", "l1", "s2", "l2"]
    rows = [weak[0], strong[0], narrow, weak[1], lone[0], strong[1], lone[1]]

    found = _inseparable(names, rows)

    assert [set(pair[:2]) for pair in found] == [{"s1", "s2"}, {"w1", "w2"}]
    assert [pair[2] for pair in found] == pytest.approx([-0.9, -0.7])


def test_an_instrument_is_named_without_what_follows_a_comma_and_errs_again():
    reading = Reading("strength", 9.0, 0.1, "hydrometer, the old one", bias=0.5)

    (found,) = explained("recipe", brewery(reading), {"brew @batch b1": 0.125})

    labels = {s.factor: (s.label, s.group, s.kind, s.returns) for s in found.shares}
    assert labels[INSTRUMENT] == ("error of hydrometer", "reading", INSTRUMENT, True)
    assert labels[READING_ERROR] == (
        "this reading's own error",
        "reading",
        "measurement",
        False,
    )
    exact = {"brew": 1.0, INSTRUMENT: 0.0, READING_ERROR: -2.0}
    assert {s.factor: s.estimate for s in found.shares} == pytest.approx(exact)
