"""Where an outcome came from: parts that add up exactly, and Shapley's values where they do not."""

import numpy as np
import pytest

from brewsim.beer.thiol_sources import thiol_sources
from brewsim.distributions.constructors import lognormal
from brewsim.errors import StudyError
from brewsim.logbook.pose import pose
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem
from brewsim.study.steering.origin import origin, shapley
from tests.small_recipe import write
from tests.study.posteriors import by_hand


def from_malt(malt):
    return 1.0 * malt


def from_hops(hops):
    return 1.0 * hops


def linear(from_malt, from_hops, kept):
    return kept * (from_malt + from_hops)


def crossed(from_malt, from_hops):
    return from_malt + from_hops + from_malt * from_hops


SOURCES = {"malt": (("from_malt", None),), "hops": (("from_hops", None),)}


def batch(formula):
    factors = {"malt": lognormal(1.0, 0.5), "hops": lognormal(3.0, 0.01)}
    if formula is linear:
        factors["kept"] = lognormal(0.5, 0.3)
    return Batch("G1", Problem.of([from_malt, from_hops, formula], factors, outcomes=[]))


def split(formula):
    one = batch(formula)
    return origin(by_hand(one.problem, (one,)), one, formula.__name__, SOURCES)


def test_parts_of_a_linear_outcome_add_up_exactly():
    """Share of hops 3 / (3 + m), m lognormal with median 1: 0.75 at the median."""
    found = split(linear)

    assert found.gap < 1e-12
    assert [s.label for s in found.sources] == ["hops", "malt"]
    assert found.sources[0].middle == pytest.approx(0.75, abs=0.005)
    assert sum(s.mean for s in found.sources) == pytest.approx(1.0, abs=1e-12)
    # the malt is larger where ln m > ln 3, Phi(-2.197)
    assert found.sources[1].largest[0] == pytest.approx(0.0140, abs=0.003)


def halting(from_malt, from_hops, kept):
    """Return the sum, without a value in every draw that keeps less than the median."""
    return np.where(kept < 0.5, np.nan, from_malt + from_hops)


def test_draws_without_a_value_have_no_shares():
    """Half of the draws have none; the others are those of the linear case."""
    one = Batch(
        "G1",
        Problem.of(
            [from_malt, from_hops, halting],
            {
                "malt": lognormal(1.0, 0.5),
                "hops": lognormal(3.0, 0.01),
                "kept": lognormal(0.5, 0.3),
            },
            outcomes=[],
        ),
    )
    found = origin(by_hand(one.problem, (one,)), one, "halting", SOURCES)

    assert found.gap < 1e-12
    assert found.sources[0].middle == pytest.approx(0.75, abs=0.01)
    assert sum(s.mean for s in found.sources) == pytest.approx(1.0, abs=1e-12)


def test_where_sources_act_together_each_gets_half_of_it():
    """m + h + m h: the Shapley value of malt is m + m h / 2; at m = 1, h = 3 2.5 of 7."""
    found = split(crossed)

    assert found.gap < 1e-12
    assert found.sources[1].middle == pytest.approx(2.5 / 7, abs=0.005)


def test_shapley_values_of_a_known_game():
    """A glove game: one left, two right; the left glove's owner gets 2/3."""

    def worth(present):
        return np.array([float("L" in present and len(present) > 1)])

    values = shapley(worth, ("L", "R1", "R2"))

    assert values["L"] == pytest.approx(2 / 3)
    assert values["R1"] == values["R2"] == pytest.approx(1 / 6)


def test_an_outcome_without_sources_is_refused():
    one = batch(linear)
    with pytest.raises(StudyError, match="could come from"):
        origin(by_hand(one.problem, (one,)), one, "linear", {})


def test_the_thiols_of_a_beer_come_from_its_lines_and_nothing_else():
    problem = pose(write())
    one = Batch("G1", problem)
    sources = thiol_sources(problem)

    found = origin(by_hand(problem, (one,)), one, "thiol_activity", sources, rows=128)

    assert {"malt", "grape-derived powder"} < set(sources)
    assert found.gap < 1e-9
    assert sum(s.mean for s in found.sources) == pytest.approx(1.0, abs=1e-9)
    assert all(s.low <= s.middle <= s.high for s in found.sources)
