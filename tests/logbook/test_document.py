"""A log as a document: its parts read, told in the order of lines, and merged with another."""

import datetime as dt
from dataclasses import replace

import pytest

from brewsim.errors import InputError
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.entries import Entry
from brewsim.logbook.log import Log, fault_texts, merge, read_log, refuse_faults, same_batch
from brewsim.logbook.sections import (
    Calibration,
    calibrations_of,
    instruments_of,
    key_of,
    other_tables,
    recipes_of,
)
from brewsim.logbook.tasting_entries import Sitting, Tasted
from brewsim.quantities.statement import Written

TODAY = dt.date(2026, 6, 1)


def words(text, line=5):
    return Written(text, line)


def test_recipes_go_by_a_key_of_their_own_or_one_made_of_their_text():
    rows = [{"text": words("a")}, {"key": words("k"), "text": words("b")}]

    assert recipes_of(rows, None) == ({key_of("a"): "a", "k": "b"}, [])
    assert recipes_of(rows, "c") == ({key_of("c"): "c", key_of("a"): "a", "k": "b"}, [])
    assert recipes_of(None, "c") == ({key_of("c"): "c"}, [])
    assert recipes_of(None, None) == ({}, [])
    assert key_of("a") == "ca978112ca"  # SHA-256 of "a" [FIPS 180-4], its first ten digits


@pytest.mark.parametrize(
    ("row", "line", "what"),
    [
        (3, 0, "recipe: write [[recipe]] with a key and a text"),
        ({"key": words("k")}, 0, "recipe: write [[recipe]] with a key and a text"),
        ({"text": {}, LINE_KEY: 8}, 8, "line 8, recipe: write text as one text in quotes, the"),
        ({"text": words("a"), "keey": words("k", 9)}, 9, "line 9, recipe: keey is no key of"),
        (
            {"text": words("a"), "zz": 3, LINE_KEY: 8},
            8,
            "line 8, recipe: zz is no key of it. There",
        ),
        ({"text": words("b"), "key": "k", LINE_KEY: 8}, 8, "line 8, recipe: key “k” is there"),
    ],
)
def test_a_wrong_recipe_is_told_and_the_others_stay(row, line, what):
    found, (fault,) = recipes_of([{"key": words("k"), "text": words("a")}, row], None)

    assert found["k"] == "a"
    assert fault[0] == line
    assert fault[1].startswith(what)


def test_instruments_have_a_kind_each():
    table = {LINE_KEY: 3, "mine": {"kind": words("consumer hydrometer", 4), LINE_KEY: 3}}
    found, faults = instruments_of(table)

    assert (found, faults) == ({"mine": "consumer hydrometer"}, [])
    assert found["mine"].line == 4
    assert instruments_of(None) == ({}, [])


def test_one_instrument_in_two_cases_is_one_and_of_one_kind():
    same = {"Mine": {"kind": words("Volume mark")}, "mine": {"kind": words("volume mark")}}
    other = {"Mine": {"kind": words("volume mark")}, "mine": {"kind": words("thermometer", 7)}}

    assert instruments_of(same) == ({"Mine": "Volume mark"}, [])
    told = "is the same as Mine, whatever the case, and of another kind; keep one"
    assert instruments_of(other) == (
        {"Mine": "volume mark"},
        [(7, f"line 7, instrument mine: {told}")],
    )


@pytest.mark.parametrize(
    ("table", "line", "what"),
    [
        (words("x", 6), 6, 'instrument: write [instrument."my hydrometer"] and its kind'),
        ({"a": words("x")}, 0, 'instrument a: write kind = "consumer hydrometer"'),
        ({"a": {LINE_KEY: 7}}, 0, 'instrument a: write kind = "consumer hydrometer"'),
        ({"a": {"kind": {}}}, 0, 'instrument a: write kind = "consumer hydrometer"'),
        (
            {"a\u202e": {LINE_KEY: 7, "kind": words("x")}},
            7,
            "line 7, instrument a\\u202e: the name",
        ),
        (
            {"a\u202e": words("x")},
            0,
            "instrument a\\u202e: the name holds characters that cannot be",
        ),
        (
            {"a": {LINE_KEY: 7, "kind": words("x"), "knd": words("y", 0)}},
            7,
            "line 7, instrument a: knd is no key of it. Did you mean kind?",
        ),
    ],
)
def test_a_wrong_instrument_is_told_in_its_line(table, line, what):
    _, (fault,) = instruments_of(table)

    assert fault[0] == line
    assert fault[1].startswith(what)


def check(**more):
    return {
        LINE_KEY: 6,
        "instrument": words("m"),
        "read": words("1.002"),
        "known": words("1"),
        **more,
    }


def test_calibrations_are_kept_with_what_was_checked():
    rows = [check(), check(quantity=words("final_gravity"))]

    assert calibrations_of(None) == ((), [])
    assert calibrations_of(rows) == (
        (Calibration("m", "1.002", "1"), Calibration("m", "1.002", "1", "final_gravity")),
        [],
    )


@pytest.mark.parametrize(
    ("rows", "line", "what"),
    [
        (words("x", 6), 6, "calibration: write [[calibration]] and its lines below it"),
        ([words("x", 7)], 7, "calibration: write [[calibration]] and its lines below it"),
        ([{LINE_KEY: 6}], 6, "line 6, calibration: instrument, read, known missing"),
        ([{"instrument": words("m")}], 0, "calibration: read, known missing"),
        (
            [check(read={})],
            6,
            "line 6, calibration: write each of its values as one text in quotes",
        ),
        ([check(quantity=[])], 6, "line 6, calibration: write each of its values as one text in"),
        (
            [check(known=[words("1")])],
            6,
            "line 6, calibration: write each of its values as one text",
        ),
    ],
)
def test_a_wrong_calibration_is_told_and_left_out(rows, line, what):
    found, (fault,) = calibrations_of(rows)

    assert found == ()
    assert fault[0] == line
    assert fault[1].startswith(what)


def test_a_calibration_with_a_key_too_many_is_kept():
    found, faults = calibrations_of([check(reed=words("x", 8))])

    assert len(found) == 1
    assert faults == [(8, "line 8, calibration: reed is no key of it. Did you mean read?")]


@pytest.mark.parametrize(
    ("tables", "line", "what"),
    [
        (
            {"batches": words("x", 3)},
            3,
            "line 3, batches: is no part of a log. Did you mean batch?",
        ),
        ({"zzz": {}}, 0, "zzz: is no part of a log."),
        (
            {"version": Written("3", 1, 3)},
            1,
            "line 1, version: the file is of version 3, written by",
        ),
        ({"version": Written("0", 1, 0)}, 1, "line 1, version: “0” is no version; brewsim writes"),
        (
            {"version": Written("true", 1, True)},
            1,
            "line 1, version: “true” is no version; brewsim",
        ),
        ({"version": words("2", 1)}, 1, "line 1, version: “2” is no version; brewsim writes"),
        ({"version": {}}, 0, "version: write version = 2"),
        ({"version": []}, 0, "version: write version = 2"),
    ],
)
def test_what_is_no_part_of_a_log_is_told(tables, line, what):
    (fault,) = other_tables(tables)

    assert fault[0] == line
    assert fault[1].startswith(what)


def test_every_part_of_a_log_is_known():
    parts = ("batch", "instrument", "calibration", "recipe", "tasters", "tasting", "name", "notes")
    whole = {LINE_KEY: 1, "version": Written("1", 1, 1), **dict.fromkeys(parts, words("x"))}

    assert list(other_tables(whole)) == []


def test_faults_are_told_by_line_those_without_one_last_and_each_once():
    faults = [(0, "nowhere"), (12, "b"), (3, "a"), (12, "b"), (12, "c")]

    assert fault_texts(faults) == ["a", "b", "c", "nowhere"]
    refuse_faults(Log((), {}))
    with pytest.raises(InputError) as caught:
        refuse_faults(Log((), {}, faults=tuple(faults), where="h.toml"))
    assert (caught.value.where, caught.value.faults) == ("h.toml", ("a", "b", "c", "nowhere"))


def test_a_table_of_columns_leaves_out_what_is_no_quantity():
    log = read_log("batch,date,OG,Wind\nB1,2026-01-02,1.045,3\n", "r", "LOG.CSV", TODAY)

    assert [list(entry.readings) for entry in log.entries] == [["OG"]]
    assert log.remarks == ("columns that are no quantity, left out of the log: Wind",)
    clean = read_log("batch,date,OG\nB1,2026-01-02,1.045\n", "r", "log.tsv", TODAY)
    assert clean.remarks == ()
    toml = 'id = "B1"\ndate = 2026-01-02\n[batch.readings]\nWind = "3"\n'
    assert list(read_log(f"[[batch]]\n{toml}", "r", "l", TODAY).entries[0].readings) == ["Wind"]


ENTRY = Entry("B1", "2026-01-02", "k", {"mash": words("66 °C")}, {"OG": (words("1.045"),)})
HOUSE = Log(
    (ENTRY,), {"k": "one"}, {"Mine": words("volume mark")}, (Calibration("Mine", "1", "2"),)
)


def test_what_a_house_has_already_stays_as_it_is():
    again = Log(
        (replace(ENTRY, recipe="z", line=9, where="x"),),
        {"z": "one"},
        {"mine": words("Volume mark")},
        (Calibration("mine", "1", "2"),),
    )
    whole = merge(HOUSE, again)

    assert whole.entries == (ENTRY,)
    assert whole.entries[0].recipe == "k"
    assert whole.recipes == {"k": "one"}
    assert whole.instruments == {"Mine": "volume mark"}
    assert whole.calibrations == HOUSE.calibrations


def test_a_batch_that_is_entered_otherwise_takes_the_place_of_the_old_one():
    """One without a recipe of its own keeps that of the house, another moves to its text's key."""
    other = replace(ENTRY, notes="windy", implied=True, recipe="z")
    recipes = {"z": "two"}
    implied = merge(HOUSE, Log((other,), recipes, remarks=("new",)))
    stated = merge(HOUSE, Log((replace(other, implied=False),), recipes))

    assert [(e.notes, e.recipe) for e in implied.entries] == [("windy", "k")]
    assert [(e.notes, e.recipe) for e in stated.entries] == [("windy", "z")]
    first, second = implied.remarks
    assert first == "new"
    assert second == (
        "batch B1 is entered otherwise than before and takes its place; the journal beside the "
        "house keeps what was there"
    )
    assert implied.recipes == {"k": "one", "z": "two"}


def test_new_batches_instruments_checks_and_sittings_are_added_once():
    sitting = Sitting({"pairs": (words("A > B: 1 of 1"),)}, line=3)
    new = Log(
        (replace(ENTRY, id="A", date="2026-01-03"), replace(ENTRY, id="C", date="2026-01-01")),
        {"k": "one", "m": "two"},
        {"mine": words("volume mark"), "yours": words("thermometer")},
        (Calibration("mine", "1", "3"), Calibration("MINE", "1", "2")),
        sittings=(replace(sitting, line=8), replace(sitting, of="hops")),
        where="new",
    )
    whole = merge(replace(HOUSE, sittings=(sitting,), remarks=("old",)), new)

    assert [entry.id for entry in whole.entries] == ["C", "B1", "A"]
    assert whole.instruments == {"Mine": "volume mark", "yours": "thermometer"}
    assert whole.calibrations == (*HOUSE.calibrations, Calibration("mine", "1", "3"))
    assert [(s.of, s.line) for s in whole.sittings] == [("thiols", 3), ("hops", 3)]
    assert (whole.recipes, whole.remarks, whole.where) == (
        {"k": "one", "m": "two"},
        ("old",),
        "new",
    )


@pytest.mark.parametrize(
    ("new", "what"),
    [
        (
            Log((replace(ENTRY, date="2026-01-03"),), {"k": "one"}),
            "batch B1 of 2026-01-02 is in the house, and this one is of 2026-01-03; give another",
        ),
        (
            Log((), {}, {"mine": words("thermometer")}),
            "instrument mine is of another kind in the house",
        ),
        (
            Log((), {"k": "two"}),
            "recipe “k” is another text in the house, which batches there were",
        ),
    ],
)
def test_what_two_logs_say_differently_is_refused_and_names_the_house(new, what):
    with pytest.raises(InputError) as caught:
        merge(replace(HOUSE, where="house.toml"), new)

    (fault,) = caught.value.faults
    assert fault.startswith(what)
    assert caught.value.where == "house.toml"


@pytest.mark.parametrize(
    ("changed", "same"),
    [
        ({}, True),
        ({"line": 9, "where": "x", "usual": ("a",)}, True),
        ({"readings": {"OG": (words("1.045 by mine"),)}}, False),
        ({"readings": {"OG": (words("1.045"), words("1.046"))}}, False),
        ({"readings": {"FG": (words("1.045"),)}}, False),
        ({"readings": {"OG": (words("1.0450"),)}}, False),
        ({"changed": {"mash": words("67 °C")}}, False),
        ({"changed": {}}, False),
        ({"date": "2026-01-03"}, False),
        ({"notes": "x"}, False),
        ({"tags": {"tank": "1"}}, False),
        ({"tasted": Tasted({"hops": words("too much")})}, False),
        ({"split_of": "A"}, False),
        ({"recipe": "z"}, False),
        ({"recipe": "z", "implied": True}, True),
    ],
)
def test_batches_are_the_same_that_say_the_same(changed, same):
    assert same_batch(ENTRY, replace(ENTRY, **changed)) is same


def test_the_older_batch_may_name_the_instrument_of_a_reading():
    old = replace(ENTRY, readings={"OG": (words("1.045 by mine"),)})

    assert same_batch(old, ENTRY)
    assert not same_batch(replace(ENTRY, readings={"OG": (words("1.0451"),)}), ENTRY)
