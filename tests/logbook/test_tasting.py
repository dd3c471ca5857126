"""What tasters said in a log: read, tied to batches, kept in a house file; worts that are split."""

import datetime as dt
from pathlib import Path

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from brewsim.logbook.house_file import house_text
from brewsim.logbook.split_wort import may_differ
from brewsim.recipe.read import parse_recipe
from brewsim.study.inference.sensory_answers import Difference, InFront, Ladder, Pair, Ranking, Word
from brewsim.study.model.batch import latent_names
from tests.small_recipe import TEXT

TASTED = """
tasters = ["Ada", "Ben"]

[[batch]]
id = "G1"
date = 2026-01-10
[batch.tasted]
thiols = "far too much, just right"
hops = "-, too little"
in_front = "thiols, malt"
body = "just right, -"

[[batch]]
id = "G2"
date = 2026-02-10
changed = { "precursor 1 dose" = "1 g/L" }

[[batch]]
id = "G2b"
date = 2026-02-10
split_of = "G2"
changed = { "precursor 1 dose" = "0 g/L" }

[[tasting]]
date = 2026-03-01
pairs = ["G1 > G2: 2 of 2"]
order = ["G1 > G2b = G2", "-"]
odd_one_out = ["G2, G2b: 3 of 6"]
two_and_two = ["G2, G2b: 4 of 6"]
blend = [{ beer = "G1", with = "plain lager", tried = "25 %, 1/2, 1", just_right = "1/2, -" }]
"""


def log_of(text=TASTED, recipe=TEXT, where="log"):
    return parse_batches(text, recipe, where, today=dt.date(2026, 6, 1))


def test_words_become_answers_of_those_who_said_them():
    first, second, part = log_of().batches
    words = [a for a in first.answers if isinstance(a, Word)]

    told = [(w.attribute, w.taster, w.place) for w in words]
    assert told == [("thiols", "Ada", 4), ("thiols", "Ben", 2), ("hops", "Ben", 1)]
    assert words[2].cups[1] == ("G1", "hop_hiding_doubling")
    front = [a for a in first.answers if isinstance(a, InFront)]
    assert [(f.taster, f.chosen) for f in front] == [("Ada", 0)]
    assert [type(a) for a in second.answers] == [Pair]
    assert [type(a) for a in part.answers] == [Ranking, Difference, Difference]


def test_a_sitting_is_read_as_it_is_written():
    first, second, part = log_of().batches
    pair, ranking, triangle, tetrad = (*second.answers, *part.answers)
    ladder = next(a for a in first.answers if isinstance(a, Ladder))

    assert (pair.count, pair.asked, [c[0] for c in pair.cups]) == (2, 2, ["G1", "G2"])
    assert (ranking.taster, ranking.places) == ("Ada", ((0,), (1, 2)))
    assert (triangle.method, triangle.count) == ("triangle", 3)
    assert (tetrad.method, tetrad.count) == ("tetrad", 4)
    assert (ladder.taster, ladder.place, ladder.shares) == ("Ada", 1, (0.25, 0.5, 1.0))
    assert len(ladder.cups) == 1


def test_what_nothing_computes_is_kept_and_told():
    log = log_of()

    assert any("body is kept; nothing here computes it" in told for told in log.remarks)
    assert any("thins bitterness" in told for told in log.remarks)
    assert not any("no tasters are named" in told for told in log.remarks)


def test_words_of_nobody_named_are_somebody_elses_each():
    log = log_of(TASTED.replace('tasters = ["Ada", "Ben"]', ""))
    words = [a for a in log.batches[0].answers if isinstance(a, Word)]

    assert {word.taster for word in words} == {""}
    assert any("no tasters are named" in told for told in log.remarks)


def test_a_house_file_keeps_every_word_with_who_said_it():
    log = log_of()

    again = parse_batches(house_text(log), None, "house", today=dt.date(2026, 6, 1))

    assert [b.answers for b in again.batches] == [b.answers for b in log.batches]
    assert [b.split_of for b in again.batches] == ["", "", "G2"]
    assert house_text(again) == house_text(log)


def test_a_part_has_its_own_fermentation_and_shares_its_wort():
    batch = log_of().batches[2]
    factors = {f.quantity: f for f in batch.problem.factors}

    def brew(quantity):
        return latent_names(factors[quantity], batch)["batch"].rpartition(" ")[2]

    assert brew("batch_attenuation_fraction") == "G2b"
    assert brew("mash_temperature_error_c") == "G2"
    assert "release_batch_factor" not in batch.apart


def test_another_temperature_gives_a_part_a_release_of_its_own():
    text = TASTED.replace(
        'changed = { "precursor 1 dose" = "0 g/L" }',
        'changed = { "precursor 1 dose" = "1 g/L", "yeast temperature" = "14 °C" }',
    )

    assert "release_batch_factor" in log_of(text).batches[2].apart


def test_a_csv_log_takes_the_words_of_one_batch():
    text = (
        "batch,date,OG,tasted thiols,tasted hops,in front\n"
        'G1,2026-01-10,1.050,"far too much, too much","too little, -","thiols, hops"\n'
    )
    answers = log_of(text, where="log.csv").batches[0].answers

    assert [type(a) for a in answers] == [Word, Word, Word, InFront, InFront]


@pytest.mark.parametrize("text", ["tasters = ['A']\n", ""])
def test_words_alone_need_no_reading(text):
    tasted = "[[batch]]\nid = 'G1'\ndate = 2026-01-10\n[batch.tasted]\nthiols = 'too much'\n"
    batch = log_of(text + tasted).batches[0]

    assert len(batch.answers) == 1
    assert batch.readings == ()


def test_a_key_of_a_sitting_that_is_none_is_told_with_its_own_line():
    line = 'glasses = "3"'
    text = TASTED.replace('pairs = ["G1', f'{line}\npairs = ["G1', 1)
    at = text.splitlines().index(line) + 1
    with pytest.raises(InputError) as caught:
        log_of(text)

    (fault,) = caught.value.faults
    assert "glasses is no key" in fault
    assert f"line {at}" in fault


def test_the_folder_of_wrong_tastings_holds_more_than_forty():
    cases = (Path(__file__).parents[1] / "bad" / "tastings.toml").read_text(encoding="utf-8")

    assert cases.count("expected =") > 40


@pytest.mark.parametrize(
    ("where", "free"),
    [
        ("yeast name", True),
        ("package carbonation", True),
        ("hop 1 mass", False),
        ("hop 2 mass", True),
        ("hop Fuggle mass", True),
        ("hop Northern Brewer mass", False),
        ("hop Galena mass", False),
        ("hop 3 mass", False),
        ("precursor 1 dose", True),
        ("mash", False),
    ],
)
def test_parts_of_one_wort_differ_only_in_what_goes_in_after_the_boil(where, free):
    assert may_differ(where, parse_recipe(TEXT)) is free
