"""Chances in words: counts are a promise of this house."""

import pytest

from brewsim.quantities.chances import (
    about_fifty,
    in_draws,
    in_fifty,
    in_thousand,
    odds,
    percent,
    sought_thousand,
)


@pytest.mark.parametrize(
    ("chance", "error", "said"),
    [
        (0.0004, 0.0002, "fewer than 1 of 50"),
        (0.013, 0.001, "about 1 of 50"),
        (0.437, 0.004, "about 22 of 50"),
        (0.437, 0.031, "about 22 of 50, give or take 2"),
        (0.987, 0.001, "about 49 of 50"),
        (0.9996, 0.0, "more than 49 of 50"),
    ],
)
def test_chances_are_said_as_counts_of_fifty(chance, error, said):
    assert about_fifty(chance, error) == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.7951, "just under 40 of 50"),
        (0.784, "about 39 of 50"),
        (0.8, "about 40 of 50"),
    ],
)
def test_a_chance_that_misses_by_the_rounding_is_said_to_miss(chance, said):
    assert about_fifty(chance, 0.001, 0.8) == said


@pytest.mark.parametrize(
    ("chance", "error", "said"),
    [
        (0.0, 0.0, "fewer than 1 in 1,000"),
        (0.0004, 0.002, "fewer than 3 in 1,000"),
        (0.0234, 0.001, "23 in 1,000"),
    ],
)
def test_a_danger_is_counted_in_a_thousand_and_bounded_where_draws_are_few(chance, error, said):
    assert in_thousand(chance, error) == said


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.001, "in fewer than 1 of 50 draws"),
        (0.05, "in about 2 of 50 draws"),
        (0.999, "in nearly every draw"),
    ],
)
def test_a_share_of_draws_is_counted_in_fifty(share, said):
    assert in_draws(share) == said


def test_a_share_is_never_below_zero_and_nothing_is_a_dash():
    assert [percent(share) for share in (0.146, -0.01, float("nan"))] == ["15 %", "0 %", "–"]
    assert [in_fifty(share) for share in (0.146, float("nan"))] == ["7 of 50", "–"]


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.5, "That is as expected."),
        (0.25, "Slightly unusual: 12 of 50 batches deviate more."),
        (0.012, "Unusual: 1 of 50 batches deviates more."),
        (0.05, "Unusual: 2 of 50 batches deviate more."),
        (0.004, "Rare: 4 in 1,000 deviate more."),
        (0.0004, "Hardly possible: fewer than 1 in 1,000 deviate more. Check the reading first."),
    ],
)
def test_odds_count_batches(chance, said):
    assert odds(chance) == said


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (5.6e-6, "about 0.006 in 1,000"),
        (9.6e-5, "about 0.1 in 1,000"),
        (4e-4, "about 0.4 in 1,000"),
        (1.05e-3, "about 1 in 1,000"),
        (1e-6, "about 0.001 in 1,000"),
        (9e-7, "fewer than 0.001 in 1,000"),
        (0.0, "fewer than 0.001 in 1,000"),
    ],
)
def test_a_small_chance_that_was_sought_is_in_a_thousand_too(chance, words):
    assert sought_thousand(chance) == words
