"""Sentences and rounding: users.md of the design is the promise, not a published source."""

import re
from dataclasses import replace

import pytest

from brewsim.quantities.catalogue import outcome_of
from brewsim.wording import sentences as words
from brewsim.wording.content import Bar, Outcome
from brewsim.wording.parts import Limits

ALCOHOL = Outcome(
    name="alcohol_by_volume_fraction",
    look=outcome_of("alcohol_by_volume_fraction"),
    scale="linear",
    dots=tuple(4.51 + 0.02 * i for i in range(50)),
    low=4.71,
    middle=5.02,
    high=5.34,
    target=Limits(4.8, 5.4),
)


def bar(label, alone, half=0.01, together=None):
    together = alone if together is None else together
    ends = (alone - half, alone + half, together, together - half, together + half)
    return Bar(label, alone, *ends)


def test_the_expectation_is_for_the_next_batch_with_its_middle():
    said = words.expectation(ALCOHOL)

    assert said == (
        "Expect the next batch to reach between 4.7 and 5.3 % ABV, nine chances in ten; median 5.0."
    )


def test_the_dots_in_the_target_are_counted():
    inside = sum(4.8 <= dot <= 5.4 for dot in ALCOHOL.dots)

    assert words.landing(ALCOHOL) == f"{inside} of the 50 dots land inside your 4.8 to 5.4."


@pytest.mark.parametrize(
    ("target", "said"),
    [
        (Limits(9.0, None), "None of the 50 dots meet your target of at least 9.0."),
        (Limits(None, 9.0), "All of the 50 dots meet your target of at most 9.0."),
    ],
)
def test_one_sided_targets_have_words(target, said):
    assert words.landing(replace(ALCOHOL, target=target)) == said


def test_one_dot_lands_and_two_targets_are_both():
    lowest = min(ALCOHOL.dots)
    alone = replace(ALCOHOL, target=Limits(None, lowest))

    assert words.landing(alone) == f"1 of the 50 dots meets your target of at most {lowest:.1f}."
    assert words.joint(0.5, 0.001, 2).startswith("Both targets in the same batch")
    assert words.joint(0.5, 0.001, 3).startswith("All 3 targets in the same batch")


def test_an_outcome_without_target_says_nothing_of_landing():
    assert words.landing(replace(ALCOHOL, target=None)) == ""


def test_a_certain_outcome_has_no_interval():
    certain = replace(ALCOHOL, low=5.0, middle=5.0, high=5.0)

    assert words.expectation(certain) == (
        "Expect the next batch to reach 5.0 % ABV, as good as certain."
    )


def test_a_driver_is_said_with_its_sampling_range():
    said = words.ranking([bar("Powder content", 0.4, 0.05), bar("the mash", 0.2)])

    assert said[0] == "Powder content decides about 40 % of the spread (35 to 45)."
    assert said[1] == "Then the mash 20 %."


def test_bars_that_the_draws_cannot_tell_apart_are_a_tie():
    said = " ".join(words.ranking([bar("One", 0.40, 0.03), bar("Two", 0.42, 0.03)]))

    assert "The first 2 are a tie: the draws cannot tell which is the largest." in said


def test_clear_leaders_are_no_tie():
    assert "tie" not in " ".join(words.ranking([bar("One", 0.30), bar("Two", 0.60)]))


def test_effects_within_the_sampling_error_are_not_distinguishable_from_nothing():
    said = words.ranking([bar("Big", 0.98), bar("Small", 0.004)])

    assert said[-1] == "1 input is not distinguishable from nothing."


def test_interplay_is_named_when_it_is_a_tenth():
    said = " ".join(words.ranking([bar("One", 0.4, together=0.7), bar("Two", 0.3, together=0.6)]))

    assert "About 30 % comes only from inputs acting on one another." in said


def test_no_sentence_uses_a_word_that_is_kept_off_the_page():
    said = " ".join([words.expectation(ALCOHOL), *words.ranking([bar("One", 0.5)])])

    assert not re.search(r"\b(will|posterior|p-value|confidence)\b", said)


def test_an_input_that_scatters_from_brew_to_brew_reaches_less_than_it_decides():
    bar = Bar("mash efficiency", 0.22, 0.21, 0.23, 0.23, 0.22, 0.24, "measure", 0.13)

    assert bar.within_reach == 0.13
    assert words.share_words(bar).endswith("; measuring it can take away 13 %")
    assert words.reach_words(bar) == "you can measure it: takes away 13 %"


def test_what_can_be_turned_or_is_measured_whole_reaches_all_it_decides():
    turned = Bar("dose", 0.22, 0.21, 0.23, 0.23, 0.22, 0.24, "turn", 0.13)
    whole = Bar("alpha", 0.22, 0.21, 0.23, 0.23, 0.22, 0.24, "measure", 0.23)

    assert turned.within_reach == whole.within_reach == 0.22
    assert "measuring" not in words.share_words(whole)
