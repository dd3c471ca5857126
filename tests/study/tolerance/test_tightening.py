"""What to tighten: alone and in pairs, in order of promise, by closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.tightening import Tightener, tighten

BREW = Kinds(0, 0, 1)


def total(a, b, c):
    return a + b + c


def three(**more):
    """Standard deviations 2, 3 and 6 from brew to brew: 7 together."""
    factors = {"a": (normal(0, 2), BREW), "b": (normal(0, 3), BREW), "c": (normal(0, 6), BREW)}
    return Problem.of([total], factors, **more)


def test_a_pair_is_tightened_where_neither_can_alone():
    """For 2.5 of 7: without c 3.6 are left; with b as well 2, so s^2 = (2.5^2 - 4) / 45."""
    found = {t.factors: t for t in tighten(three(), "total", uncertainty=2.5)}

    pairs = [names for names in found if len(names) == 2]
    assert pairs == [("c", "b")]
    pair = found["c", "b"]
    assert pair.label == "c and b"
    assert pair.scale == pytest.approx(np.sqrt(2.25 / 45), rel=0.02)
    assert (pair.now, pair.best) == pytest.approx((7.0, 2.0), rel=0.01)
    assert pair.spread_then[1] == pytest.approx(6 * ndtri(0.95) * pair.scale)


def test_those_that_reach_it_stand_first_by_how_little_they_must_shrink():
    """For 6.5 of 7: a alone leaves 6.71; b must lose 6.75 of its 9, c 6.75 of its 36."""
    found = tighten(three(), "total", uncertainty=6.5)

    assert [t.factors for t in found] == [("c",), ("b",), ("a",)]
    assert [t.reaches for t in found] == [True, True, False]
    scales = [np.sqrt(1 - 6.75 / 36), np.sqrt(1 - 6.75 / 9), 0.0]
    assert [t.scale for t in found] == pytest.approx(scales, abs=0.01)
    assert [t.best for t in found] == pytest.approx(
        [np.sqrt(13), np.sqrt(40), np.sqrt(45)], rel=0.01
    )


def test_those_that_cannot_stand_by_the_best_they_can_do():
    by_uncertainty = tighten(three(), "total", uncertainty=1.0)
    by_chance = tighten(three(targets={"total": Target(-1.0, 1.0)}), "total", chance=0.9)

    for found in (by_uncertainty, by_chance):
        assert [t.factors for t in found[:3]] == [("c",), ("b",), ("a",)]
        assert not any(t.reaches for t in found[:3])
    assert by_chance[0].best == pytest.approx(2 * ndtr(1 / np.sqrt(13)) - 1, abs=0.005)
    assert by_chance[0].now == pytest.approx(2 * ndtr(1 / 7) - 1, abs=0.005)


def test_a_chance_is_that_of_the_outcomes_own_target_alone():
    def other(a):
        return 1.0 * a

    problem = Problem.of(
        [total, other],
        {n: (normal(0, s), BREW) for n, s in (("a", 2.0), ("b", 3.0), ("c", 6.0))},
        targets={"total": Target(-7.0, 7.0), "other": Target(-1e-9, 1e-9)},
    )

    found = tighten(problem, "total", chance=0.5)

    assert found[0].reaches
    assert found[0].now == pytest.approx(2 * ndtr(1.0) - 1, abs=0.005)


def test_events_and_what_the_outcome_never_reads_are_not_tightened():
    def quiet(a, stall_share, b):
        return a + stall_share + b

    def loud(c):
        return 1.0 * c

    base = Problem.of(
        [quiet, loud],
        {
            "a": (normal(0, 1), BREW),
            "b": normal(0, 1),
            "c": (normal(0, 1), BREW),
            "stall_share": (bernoulli(0.1), BREW),
        },
    )
    problem = replace(
        base, factors=tuple(replace(f, event=f.id == "stall_share") for f in base.factors)
    )

    assert [f.id for f in Tightener(problem, "quiet", draws=128).candidates] == ["a"]


def test_shrinking_leaves_the_median_where_it_is():
    """Lognormal log-sd 0.8 shrunk to a quarter: median 5, log-sd 0.2; both at once to nothing."""

    def product(a, b):
        return a * b

    problem = Problem.of(
        [product],
        {"a": (lognormal(5.0, 0.8), BREW), "b": (lognormal(2.0, 0.3), BREW)},
        scales={"product": "log2"},
    )
    tightener = Tightener(problem, "product", draws=8192)
    a, b = problem.factor("a"), problem.factor("b")

    y = np.log(tightener.values(0.25, a)["product"])

    assert (y.mean(), y.std()) == pytest.approx((np.log(10.0), np.hypot(0.2, 0.3)), rel=0.01)
    assert tightener.uncertainty(0.25, a) == pytest.approx(np.hypot(0.2, 0.3) / np.log(2), rel=0.01)
    np.testing.assert_allclose(tightener.values(0.0, a, b)["product"], 10.0)


def test_a_wish_for_a_chance_needs_a_target_and_one_wish_is_enough():
    with pytest.raises(StudyError, match="no target"):
        tighten(three(), "total", chance=0.9)
    with pytest.raises(StudyError, match="one thing"):
        tighten(three(), "total", uncertainty=1.0, chance=0.9)


@pytest.mark.parametrize(
    ("pairs", "found"), [(0, []), (1, [("c", "b")]), (4, [("c", "b"), ("c", "a")])]
)
def test_the_most_promising_are_tried_in_pairs_first(pairs, found):
    """For 3.2 of 7: c with b leaves 2 and c with a 3, but a with b 6."""
    tried = tighten(three(), "total", uncertainty=3.2, pairs=pairs)

    assert [t.factors for t in tried if len(t.factors) == 2] == found


def test_only_those_within_reach_are_tried():
    """Without c nothing falls below the root of 36 + 9."""
    found = tighten(three(), "total", uncertainty=2.5, among={"a", "b"})

    assert [t.factors for t in found] == [("b",), ("a",)]
    assert found[0].best == pytest.approx(np.sqrt(40), rel=0.01)
