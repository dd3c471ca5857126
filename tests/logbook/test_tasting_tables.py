"""The tables of tastings in a log: what is kept of them, and what is said of a wrong one."""

import datetime as dt

import pytest

from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.entries import read_date
from brewsim.logbook.tasting_entries import Sitting, Tasted, sittings_of, tasted_of, tasters_of
from brewsim.quantities.statement import Written

PEOPLE = ("Ada", "Ben", "Cora")


def words(text, line=4):
    return Written(text, line)


def tables(*rows):
    return [{LINE_KEY: 20 + n} | row for n, row in enumerate(rows)]


def heard(read, *asked):
    faults = []
    return read(*asked, lambda line, told: faults.append((line, told))), faults


def test_tasters_keep_their_order_and_each_wrong_name_is_told():
    assert heard(tasters_of, None) == ((), [])
    assert heard(tasters_of, [words("Ben"), words(" Ada  B ")]) == (("Ben", "Ada B"), [])
    assert heard(tasters_of, [words("A", 3), words(" ", 3), words("B", 3), words("A", 3)]) == (
        ("A", "B"),
        [(3, "a taster has no name"), (3, "taster A is there twice; keep one")],
    )
    told = 'write tasters = ["Ada", "Ben", "Cora"]'
    assert heard(tasters_of, words("Ada", 5)) == ((), [(5, told)])
    assert heard(tasters_of, [words("Ada", 5), 3]) == ((), [(0, told)])


def test_what_was_said_of_a_batch_is_kept_as_it_was_written():
    said = {LINE_KEY: 8, "thiols": words("too much"), "body": words("thin"), "in_front": words("-")}
    found, faults = heard(tasted_of, said, PEOPLE, 8)

    assert faults == []
    assert found == Tasted({k: v for k, v in said.items() if k != LINE_KEY}, PEOPLE)
    assert heard(tasted_of, None, PEOPLE, 8) == (Tasted(), [])
    own = {"tasters": [words("Dora")], "thiols": words("too much")}
    assert heard(tasted_of, own, PEOPLE, 8)[0] == Tasted({"thiols": own["thiols"]}, ("Dora",))


def test_each_thing_wrong_with_what_was_said_is_told_on_its_line():
    text = 'tasted: write [batch.tasted] and thiols = "too much" below it'
    assert heard(tasted_of, words("good", 0), PEOPLE, 8) == (Tasted(), [(8, text)])
    assert heard(tasted_of, words("good", 9), PEOPLE, 8) == (Tasted(), [(9, text)])

    said = {"thiol": words("x", 10), "smoke": [], "hops": ["x"], "bitterness": words("just right")}
    found, faults = heard(tasted_of, said, (), 8)
    assert found == Tasted({"bitterness": said["bitterness"]}, ())
    keys = "thiols, hops, bitterness, in_front, malt, body, sweetness"
    assert faults == [
        (10, "tasted thiol: nobody can be asked about it. Did you mean thiols?"),
        (8, f"tasted smoke: nobody can be asked about it. There is: {keys}."),
        (8, 'tasted hops: write one text in quotes, such as "too much, just right"'),
    ]


def test_words_of_tasters_that_are_wrongly_named_are_nobodys():
    said = {"tasters": [words("A", 9), words("A", 9)], "thiols": words("too much, too much")}
    found, faults = heard(tasted_of, said, PEOPLE, 8)

    assert found == Tasted({}, ("A",))
    assert faults == [(9, "tasted: taster A is there twice; keep one")]
    assert heard(tasted_of, {"tasters": 3}, (), 8)[1][0][0] == 8


def sat(rows, tasters=PEOPLE):
    def day(written, line, say):
        date, wrong = read_date(written, line, dt.date(2026, 6, 1))
        for at, what in wrong:
            say(at, what)
        return date

    faults = []
    return sittings_of(rows, tasters, day, faults), faults


def test_a_sitting_is_kept_with_its_day_people_and_line():
    pair, order = words("G1 > G2: 1 of 1"), [words("G1 > G2")]
    whole = {
        "beer": words("G1"),
        "with": words("plain"),
        "tried": words("1"),
        "just_right": words("1"),
    }
    rows = tables(
        {"pairs": pair, "date": words("2026-03-01")},
        {"order": order, "of": words("hops"), "tasters": [words("Ada")]},
        {"blend": whole},
        {"blend": [whole | {LINE_KEY: 23}, whole]},
    )

    assert sat(None) == ((), [])
    assert sat(rows) == (
        (
            Sitting({"pairs": (pair,)}, (), "thiols", "2026-03-01", PEOPLE, 20),
            Sitting({"order": tuple(order)}, (), "hops", "", ("Ada",), 21),
            Sitting({}, (whole,), "thiols", "", PEOPLE, 22),
            Sitting({}, (whole, whole), "thiols", "", PEOPLE, 23),
        ),
        [],
    )


KEYS = "date, of, tasters, pairs, order, odd_one_out, two_and_two, blend"
NOTHING = "nothing was compared; write pairs, order, odd_one_out, two_and_two or blend"
LIST = 'write a list of texts in quotes, such as ["G1 > G2: 3 of 3"]'
BLEND = 'blend: write { beer = "G1", with = "plain lager", ... }'
PARTS = ("beer", "with", "tried", "just_right")
LACKING = "blend: with, tried, just_right missing: what was not tried cannot be chosen"


@pytest.mark.parametrize(
    ("row", "line", "told"),
    [
        ({}, 20, NOTHING),
        ({"pairs": [], "blend": []}, 20, NOTHING),
        ({"pair": words("x", 21)}, 21, "pair is no key of it. Did you mean pairs?"),
        ({"zzz": 3}, 20, f"zzz is no key of it. There is: {KEYS}."),
        ({"of": words("hop", 22)}, 22, "of = “hop”: nothing here computes it. Did you mean hops?"),
        ({"of": words("salt", 0)}, 20, "of = “salt”: nothing here computes it. There is: thiols,"),
        ({"pairs": 3}, 20, f"pairs: {LIST}"),
        ({"order": [words("A > B"), 3]}, 20, f"order: {LIST}"),
        ({"blend": words("half", 24)}, 24, BLEND),
        ({"blend": [3]}, 20, BLEND),
        ({"blend": {"bear": words("G1")}}, 20, "blend: bear is no key of it. Did you mean beer?"),
        ({"blend": {"x": words("G1")}}, 20, "blend: x is no key of it. There is: beer, with, tri"),
        ({"blend": dict.fromkeys(PARTS[:3], words("1"))}, 20, "blend: just_right missing"),
        ({"blend": {"beer": words("G1")}}, 20, LACKING),
        ({"blend": dict.fromkeys(PARTS, 3)}, 20, "blend: write each of its parts as one text in"),
    ],
)
def test_a_sitting_with_something_wrong_is_left_out_and_told_once(row, line, told):
    found, (fault,) = sat(tables(row))

    assert found == ()
    assert fault[0] == line
    assert fault[1].startswith(f"line {line}, tasting: {told}")


def test_what_is_no_table_of_a_sitting_is_told_where_it_stands():
    what = "tasting: write [[tasting]] and its lines below it"

    assert sat(words("x", 6)) == ((), [(6, f"line 6, {what}")])
    assert sat([words("x", 7)]) == ((), [(7, f"line 7, {what}")])


def test_a_sitting_of_a_wrong_key_keeps_what_was_compared():
    pair = words("G1 > G2: 1 of 1")
    found, faults = sat(tables({"zzz": words("3", 21), "pairs": [pair]}))

    assert [one.lists for one in found] == [{"pairs": (pair,)}]
    assert len(faults) == 1
