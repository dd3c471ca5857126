"""A log as a document: its parts read, and told in the order of lines."""

import datetime as dt

import pytest

from brewsim.errors import InputError
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.log import Log, fault_texts, read_log, refuse_faults
from brewsim.logbook.sections import (
    Calibration,
    calibrations_of,
    instruments_of,
    key_of,
    other_tables,
    recipes_of,
)
from brewsim.quantities.statement import Written
from tests.logbook.words import words

TODAY = dt.date(2026, 6, 1)


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
