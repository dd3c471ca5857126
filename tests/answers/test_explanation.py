"""Explanations of a log: each reading by its own, and nothing said that is not known."""

import re

import pytest

from brewsim.answers.explanation import explained
from brewsim.cli.explain import _content
from brewsim.logbook.brew import parse_batches
from brewsim.priors.library import load_priors
from brewsim.quantities.english import counted
from brewsim.quantities.format import written_in
from brewsim.study.inference.experimental_design import Spread
from brewsim.study.inference.update import update
from brewsim.wording.explanation import count_sentences, sentences, spread_sentence
from tests.texts import beer, hop

pytestmark = pytest.mark.slow

LOG = """
[[batch]]
id = "A"
date = 2024-09-14
[batch.readings]
OG = ["1.044", "1.080 ± 0.001"]
alcohol = "44 %"
tasters = "7 of 9"
"""


@pytest.fixture(scope="module")
def told():
    log = parse_batches(LOG, beer(hop()), "log.toml")
    problem = log.batches[0].problem
    learned = update(
        problem, log.batches, burn=1, keep=2, time_limit_s=0, written_as=written_in({"x": "L"})
    )
    return explained(learned, log, load_priors())


def test_two_readings_of_one_quantity_are_each_told_with_their_own_causes(told):
    one, other, _ = told.readings

    assert (one.house.reached, one.seen.surprise.value) == (1.044, 1.044)
    assert (other.house.reached, other.seen.surprise.value) == (1.08, 1.08)
    assert "instrument" in {share.kind for share in one.house.shares}
    assert "instrument" not in {share.kind for share in other.house.shares}
    content = _content(told)["readings"]
    assert [row["measured"] for row in content] == [1.044, 1.08, 0.44]
    for row in content:
        step = row["measured"] - row["promised"]
        assert sum(row["by_kind"].values()) == pytest.approx(step, rel=1e-9, abs=1e-12)


def test_a_count_of_tasters_is_told_beside_what_was_expected(told):
    (sentence,) = count_sentences(told)

    assert sentence.startswith("A, tasters who noticed: 7 of 9, expected ")
    assert re.search(r"expected|unusual|Rare|Hardly", sentence)
    assert sentence in _content(told)["sentences"]
    low, high = map(int, re.search(r"expected (\d+) to (\d+)\.", sentence).groups())
    assert 0 <= low <= high <= 9


def test_how_odd_a_batch_is_in_its_house_is_not_told_of_fewer_than_three(told):
    other = told.readings[1]
    text = "\n".join(sentences(other))

    assert other.seen.in_house is None
    assert _content(told)["readings"][1]["chance_in_house"] is None
    assert "Hardly possible" in text
    assert "as expected" not in text


def test_remarks_are_in_the_units_a_brewer_reads(told):
    assert any("strength read 44.0 % ABV, expected" in remark for remark in told.remarks)


def test_one_batch_is_no_batches():
    assert (counted(1, "batch"), counted(2, "batch")) == ("1 batch", "2 batches")


def spread(observed, chance):
    return Spread("beer_color_ebc", 7, observed, 0.5, 0.9, 0.1, chance)


def test_a_scatter_that_is_too_small_blames_the_assumed_spread_and_no_reading():
    small, large = spread_sentence(spread(0.2, 2e-4)), spread_sentence(spread(3.0, 0.012))

    assert "less than expected: fewer than 1 in 1,000 such logs" in small
    assert "too wide" in small
    assert "Check" not in small
    assert "more than expected: about 12 in 1,000 such logs" in large
    assert "Check the readings" in large
    assert "That is as expected." in spread_sentence(spread(0.9, 0.5))
