"""One batch against another: settings and brew add up exactly, and rare answers are told."""

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.study.model.batch import Batch
from brewsim.study.steering.second_batch import answers_beforehand, compare_batches
from tests.study import tasted_beers as t
from tests.study.posteriors import by_hand
from tests.study.steering.test_relative_steering import BREW_SD, beer, faint_beer


def compared(first=0.0, second=0.0, dose=-2.0):
    one, two = Batch("G1", beer()), Batch("G2", beer(dose=dose))
    known = {
        "base @knowledge": 0.0,
        "brew @batch G1": first,
        "brew @batch G2": second,
    }
    return compare_batches(by_hand(one.problem, (one, two), known), one, two, "amount")


def test_the_change_is_that_of_the_settings_times_that_of_the_brew():
    """Dose -2 is one doubling less; the brews lie 1.5 sd of 0.6 doublings apart."""
    found = compared(first=1.0, second=-0.5)

    assert np.log2(found.settings.middle) == pytest.approx(-1.0, abs=1e-9)
    assert np.log2(found.brew.middle) == pytest.approx(-1.5 * BREW_SD, abs=1e-9)
    assert np.log2(found.change.middle) == pytest.approx(-1.0 - 1.5 * BREW_SD, abs=1e-9)


def test_ordinary_scatter_is_that_of_two_brews():
    """Two brews differ by N(0, 2 x 0.6^2); a part of 3 sd of one: 2 Phi(-3 / sqrt 2)."""
    found = compared(first=2.0, second=-1.0)

    assert np.log2(found.ordinary.high) == pytest.approx(1.645 * np.sqrt(2) * BREW_SD, rel=0.02)
    assert found.chance == pytest.approx(2 * ndtr(-3 / np.sqrt(2)), abs=0.006)
    assert found.odd


def test_a_brew_like_the_first_needs_no_other_cause():
    assert not compared().odd
    assert compared().chance == 1.0


def test_answers_that_contradict_all_before_them_are_rare():
    """G2 has a knob that lowers thiols; nobody of nine finding G1 stronger is rarer than all."""
    words = tuple(t.word(4, taster) for taster in t.TASTERS)
    batches = t.two_batches((*words, t.pair(count=0, asked=9)))
    usual = t.two_batches((*words, t.pair(count=9, asked=9)))

    (odd,), (fine,) = (answers_beforehand(b, "G2", time_limit_s=2.0) for b in (batches, usual))

    assert odd.chance < fine.chance
    assert odd.expected.count > 4


def test_brews_without_a_value_are_no_ordinary_ones():
    """P(|z1 - z2| >= 2.5) of two brews above -1 each; those below have no amount."""
    problem = faint_beer()
    one, two = Batch("G1", problem), Batch("G2", problem)
    known = {"base @knowledge": 0.0, "brew @batch G1": 2.0, "brew @batch G2": -0.5}
    found = compare_batches(by_hand(problem, (one, two), known), one, two, "faint_amount")
    z = np.random.default_rng(1).standard_normal((2, 2**20))
    apart = np.abs(z[0] - z[1])[(z > -1).all(axis=0)]

    assert found.chance == pytest.approx(float(np.mean(apart >= 2.5)), abs=0.006)
