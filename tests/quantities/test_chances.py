"""Chances in words: counts are a promise of this house."""

import pytest

from brewsim.quantities.chances import in_fifty, in_hundred, odds, one_in, percent


@pytest.mark.parametrize(
    ("chance", "error", "said"),
    [
        (0.0004, 0.0002, "fewer than 1 chance in 1,000"),
        (0.013, 0.001, "about 13 in 1,000"),
        (0.437, 0.004, "about 44 chances in 100"),
        (0.437, 0.031, "about 44 chances in 100, give or take 4"),
        (0.987, 0.001, "about 987 in 1,000"),
        (0.9996, 0.0, "more than 999 chances in 1,000"),
    ],
)
def test_chances_are_said_as_counts(chance, error, said):
    assert in_hundred(chance, error) == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.7951, "just under 80 chances in 100"),
        (0.794, "about 79 chances in 100"),
        (0.8, "about 80 chances in 100"),
    ],
)
def test_a_chance_that_misses_by_the_rounding_is_said_to_miss(chance, said):
    assert in_hundred(chance, 0.001, 0.8) == said


def test_a_share_is_never_below_zero_and_nothing_is_a_dash():
    assert [percent(share) for share in (0.146, -0.01, float("nan"))] == ["15 %", "0 %", "–"]
    assert [in_fifty(share) for share in (0.146, float("nan"))] == ["7 of 50", "–"]


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.5, "That is as expected."),
        (0.25, "Slightly unusual: 1 batch in 4 deviates more."),
        (0.05, "Unusual: 1 batch in 20 deviates more."),
        (0.004, "Rare: 1 batch in 250."),
        (0.0004, "Hardly possible: fewer than 1 batch in 1,000. Check the reading first."),
    ],
)
def test_odds_count_batches(chance, said):
    assert odds(chance) == said


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (5.5e-6, "about 1 in 200,000"),
        (9.6e-5, "about 1 in 10,000"),
        (1.05e-3, "about 1 in 1,000"),
        (1e-6, "about 1 in 1,000,000"),
        (9e-7, "fewer than 1 in 1,000,000"),
        (0.0, "fewer than 1 in 1,000,000"),
    ],
)
def test_a_small_chance_is_one_in_so_many(chance, words):
    assert one_in(chance) == words
