"""Two problems on common draws: ties, pure shifts, scatter, how many brews."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.steering.compare import batches_to_tell, compare
from tests.study.linear import linear_problem


@pytest.fixture(scope="module")
def problem():
    return linear_problem()


def test_identical_recipes_tie_exactly(problem):
    found = compare(problem, problem)

    assert np.all(found.tied.values == 1.0)
    assert np.all(found.difference.values == 0.0)
    assert np.all(found.lower.values == 0.0)
    assert np.all(found.higher.values == 0.0)


def test_a_shift_is_seen_without_noise_on_common_draws(problem):
    """Common random numbers: the difference of a pure shift has no variance at all."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.difference == pytest.approx(1.0)
    assert found.low == pytest.approx(1.0)
    assert found.variance_ratio > 1e6
    assert found.higher == 1.0


def test_scatter_is_that_of_repeat_brews(problem):
    """Batch kind alone: half the variance of `known` (0.5) and all of `scatter` (4)."""
    found = compare(problem, problem.set({"dial": 1.0})).sel(outcome="strength")

    assert found.scatter == pytest.approx(np.sqrt(4.5), rel=0.02)


def test_the_number_of_brews_is_the_handbook_one():
    """NIST/SEMATECH e-Handbook 7.2.2.2: 5 %, power 80 %: n = 2 (1.96 + 0.84)^2 at d = s."""
    assert batches_to_tell(1.0, 1.0) == 16.0
    assert np.isnan(batches_to_tell(0.0, 1.0))
    assert np.isnan(batches_to_tell(0.001, 1.0))


def pair(known, own):
    return known + own


def test_what_two_recipes_do_not_share_makes_their_difference():
    """Own parts of sd 3 and 4 beside a shared 2: variance 25 paired, 13 + 20 apart."""
    from_malt = Problem.of([pair], {"known": normal(1, 2), "own": normal(0, 3)})
    other = replace(from_malt.factor("own"), id="other", distribution=normal(5, 4))
    from_hops = replace(from_malt, factors=(from_malt.factor("known"), other), name="hops")

    found = compare(from_malt, from_hops, draws=32_768, coverage=0.8).sel(outcome="pair")

    reach = 5 * ndtri(0.9)
    assert float(found.variance_ratio) == pytest.approx(33 / 25, rel=0.01)
    assert (float(found["first"]), float(found["second"])) == pytest.approx((1.0, 6.0), abs=0.05)
    assert float(found.difference) == pytest.approx(5.0, abs=0.1)
    assert (float(found.low), float(found.high)) == pytest.approx((5 - reach, 5 + reach), abs=0.15)
    assert float(found.lower) == pytest.approx(ndtr(-1.0), abs=0.005)
    assert float(found.higher) == pytest.approx(ndtr(1.0), abs=0.005)
    assert float(found.tied) == 0.0
    assert 0 < float(found.lower_error) < 0.01
    assert (found.attrs["first"], found.attrs["second"]) == ("model", "hops")
    assert (int(found.not_finite), found.attrs["seed"]) == (0, 1)


def test_brews_are_counted_from_the_difference_and_the_scatter_of_one_recipe():
    """Half a unit apart with a scatter of 1 from brew to brew: 2 (2.8016 x 2)^2 = 62.8."""
    base = Problem.of([pair], {"known": normal(0, 9), "own": (normal(0, 1), Kinds(0, 0, 1))})
    moved = replace(base.factor("known"), distribution=normal(0.5, 9))

    found = compare(base, replace(base, factors=(moved, base.factor("own"))), draws=32_768)

    assert float(found.scatter[0]) == pytest.approx(1.0, rel=0.01)
    assert float(found.batches[0]) == pytest.approx(63, abs=1)


@pytest.mark.parametrize(
    ("scatter", "count"), [(0.01, 2), (0.5, 4), (3.568, 200), (3.5705, np.nan)]
)
def test_no_fewer_than_two_and_no_more_than_two_hundred_brews(scatter, count):
    """2 (2.80159 s)^2 is 0.0016, 3.92, 199.84 and 200.12 for a difference of 1 either way."""
    for difference in (1.0, -1.0):
        assert batches_to_tell(difference, scatter) == pytest.approx(count, nan_ok=True)


def test_an_infinite_fold_is_told_by_no_number_of_brews():
    assert np.isnan(batches_to_tell(np.inf, 1.0))
    assert np.isnan(batches_to_tell(np.nan, 1.0))


def test_scatter_of_folds_is_in_doublings():
    """ln has sd 0.5 from brew to brew: 0.5 / ln 2 doublings."""

    def felt(level):
        return 1.0 * level

    problem = Problem.of(
        [felt], {"level": (lognormal(8, 0.5), Kinds(0, 0, 1))}, scales={"felt": "log"}
    )

    found = compare(problem, problem)

    assert float(found.scatter[0]) == pytest.approx(0.5 / np.log(2), rel=0.01)
    assert found["scale"].values.tolist() == ["log"]


def test_only_outcomes_of_both_are_compared_or_those_asked(problem):
    one = replace(problem, outcomes=("strength",), targets={})

    assert compare(problem, one, draws=128)["outcome"].values.tolist() == ["strength"]
    asked = compare(problem, problem, draws=128, outcomes=["side"])
    assert asked["outcome"].values.tolist() == ["side"]
    with pytest.raises(StudyError, match="no outcome in common"):
        compare(one, replace(problem, outcomes=("side",), targets={}), draws=128)
