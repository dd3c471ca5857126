"""Fits on one score at a time, ratios and ties: exact small cases and what chance adds."""

import numpy as np
import pytest
from scipy.special import ndtri

from brewsim.study.sensitivity.given_data import DEGREE, ScoreFits, rank_of
from brewsim.study.sensitivity.permutation_paths import _half_of_orders
from brewsim.study.sensitivity.sobol import _ratio, _ties

NOTHING = np.empty((0, 128))


def test_a_rank_is_the_middle_of_its_place_and_ties_share_theirs():
    found = rank_of(np.array([[3.0, 1.0, 2.0, 9.0], [5.0, 5.0, 1.0, 9.0]]))

    assert found.tolist() == [[0.625, 0.125, 0.375, 0.875], [0.5, 0.5, 0.125, 0.875]]


@pytest.mark.parametrize("degree", range(1, DEGREE + 1))
def test_a_polynomial_of_the_rank_up_to_the_sixth_is_explained_whole(degree):
    """Of the score itself in any order: only its rank counts, so a cube of it fits as well."""
    ranks = np.random.default_rng(2).permutation((np.arange(128) + 0.5) / 128)

    ((found,),), _ = ScoreFits([ranks**degree], NOTHING, 0.9, 1).of(ndtri(ranks)[None] ** 3)

    assert found == pytest.approx((1.0, 0.0), abs=1e-6)


def test_what_a_fit_explains_by_chance_is_taken_off():
    """Half of y is in each score: six powers fitted to 128 draws would seem to add 0.023."""
    rng = np.random.default_rng(3)
    y = rng.standard_normal(128)
    scores = y / y.std() + rng.standard_normal((400, 128))

    kept, _ = ScoreFits([y], NOTHING, 0.9, 1).of(scores)

    assert np.mean([own[0][0] for own in kept]) == pytest.approx(0.5, abs=0.012)


def test_the_interval_now_is_that_of_the_draws_that_have_a_value():
    """0 to 100 and as many draws without one: 80 % is 10 to 90; a constant has none."""
    some = np.concatenate([np.arange(101.0), np.full(27, np.nan)])
    fits = ScoreFits([some, np.full(128, 3.0), np.full(128, np.nan)], NOTHING, 0.8, 1)

    kept, gains = fits.of(np.random.default_rng(1).standard_normal((1, 128)))

    assert fits.now == [40.0, 0.0, 0.0]
    assert kept[0][1:] == [(0.0, 0.0), (0.0, 0.0)]
    assert gains == [0.0]


def test_a_score_never_leaves_more_than_there_is_now():
    y = np.random.default_rng(4).standard_normal(128)
    fits = ScoreFits([y], NOTHING, 0.9, 1)

    kept, _ = fits.of(np.random.default_rng(5).standard_normal((64, 128)))

    assert max(own[0][1] for own in kept) <= fits.now[0]
    assert min(own[0][0] for own in kept) == 0.0


def test_perfect_knowledge_gains_what_the_better_option_adds():
    """Worth u and -u with u evenly from -1 to 1: nothing each alone, the mean of |u| knowing u."""
    worth = 2 * (np.arange(4096) + 0.5) / 4096 - 1
    scores = np.stack([ndtri((worth + 1) / 2), np.random.default_rng(1).standard_normal(4096)])

    _, (gain, none) = ScoreFits([], np.array([worth, -worth]), 0.9, 1).of(scores)

    assert gain == pytest.approx(0.5, abs=0.03)
    assert none == pytest.approx(0.0, abs=0.02)


def test_scores_are_fitted_alike_however_many_stand_beside_them():
    y = np.random.default_rng(6).standard_normal(128)
    scores = y + np.random.default_rng(7).standard_normal((70, 128))
    fits = ScoreFits([y], NOTHING, 0.9, 1)

    together, _ = fits.of(scores)

    for place in (0, 31, 32, 69):
        alone, _ = fits.of(scores[place : place + 1])
        assert together[place][0] == pytest.approx(alone[0][0])
    assert len(together) == 70


def test_a_part_of_nothing_is_nothing_and_of_no_whole_unknown():
    found = _ratio(np.array([0.0, 1.0, 1.0, 2.0, 0.0]), np.array([0.0, 4.0, 0.0, -1.0, 2.0]))

    np.testing.assert_array_equal(found, [0.0, 0.25, np.nan, np.nan, 0.0])


def test_a_unit_is_tied_where_its_lead_over_the_next_is_within_its_error():
    """Leads of 0.1 +- 0.2 and of 2 +- 0.1 over four replicates; nobody stands below the last."""
    wobble = np.array([-1.0, 1.0, -1.0, 1.0])
    total = np.stack([np.full(4, 1.0), 3.1 + 0.2 * wobble, 3.0 - 0.05 * wobble], axis=1)

    assert _ties(total[:, :, None]).tolist() == [[False, True, False]]
    assert _ties(total[:, ::-1, None]).tolist() == [[False, True, False]]


def test_half_of_the_orders_and_their_reverses_are_all_of_them():
    half = _half_of_orders((3, 5, 8))

    both = {*half, *(order[::-1] for order in half)}
    assert (len(half), len(both)) == (3, 6)
    assert _half_of_orders((7,)) == [(7,)]
