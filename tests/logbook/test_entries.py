"""One batch of a log as it was entered: what is kept of it, and what is said of a wrong one."""

import datetime as dt

import pytest

from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.entries import Entry, Source, alike, entries_of, read_date
from brewsim.logbook.tables import MOST_BATCHES
from brewsim.logbook.tasting_entries import Tasted
from brewsim.quantities.statement import Written

TODAY = dt.date(2026, 6, 1)
SOURCE = Source("log.toml", {"lager": "text"}, "lager", ("mine",), TODAY, ("Ada",))


def words(text, line=5):
    return Written(text, line)


def row_of(name="B1", line=4, **more):
    return {LINE_KEY: line, "id": words(name), "date": words("2026-03-14"), **more}


def read(*rows, source=SOURCE):
    return entries_of(list(rows), source)


def fault_of(row):
    _, (fault,) = read(row)
    return fault


def test_everything_of_a_batch_is_kept():
    row = row_of(
        " B  1 ",
        recipe=words("lager"),
        changed={LINE_KEY: 6, "mash": words("66 °C")},
        readings={LINE_KEY: 7, "OG": words("1.045"), "FG": [words("1.01"), words("1.011")]},
        tasted={LINE_KEY: 8, "hops": words("too much")},
        notes=words("windy"),
        split_of=words("A"),
        tank=words("T2"),
        tags={LINE_KEY: 9, "store": words(" the  loft")},
    )

    assert read(row) == (
        (
            Entry(
                id="B 1",
                date="2026-03-14",
                recipe="lager",
                changed={"mash": "66 °C"},
                readings={"OG": ("1.045",), "FG": ("1.01", "1.011")},
                notes="windy",
                tags={"tank": "T2", "store": "the loft"},
                implied=False,
                usual=("mine",),
                where="log.toml",
                line=4,
                tasted=Tasted({"hops": "too much"}, ("Ada",)),
                split_of="A",
            ),
        ),
        [],
    )


def test_a_batch_of_its_name_and_day_alone_follows_the_recipe_of_the_log():
    ((entry,), faults) = read(row_of())

    assert faults == []
    assert entry == Entry(
        "B1", "2026-03-14", "lager", implied=True, usual=("mine",), where="log.toml", line=4
    )


def test_batches_stand_by_day_and_then_by_name():
    days = {"C": "2026-01-01", "B": "2026-01-02", "A": "2026-01-02"}
    rows = [
        row_of(name, line) | {"date": words(day)} for line, (name, day) in enumerate(days.items())
    ]

    assert [entry.id for entry in read(*rows)[0]] == ["C", "A", "B"]


def test_a_name_that_is_there_twice_keeps_the_first():
    entries, faults = read(row_of(notes=words("one")), row_of(line=9, notes=words("two")))

    assert [entry.notes for entry in entries] == ["one"]
    assert faults == [(9, "line 9, batch B1: is there twice, first in line 4; keep one")]


@pytest.mark.parametrize("rows", [None, [], "B1"])
def test_a_log_without_a_batch_is_told_how_one_is_written(rows):
    told = "there is no batch; write [[batch]] and its lines below it"

    assert entries_of(rows, SOURCE) == ((), [(0, told)])


def test_as_many_batches_as_can_be_are_read_and_no_more():
    rows = [row_of(f"B{number}") for number in range(MOST_BATCHES + 1)]

    assert len(entries_of(rows[:-1], SOURCE)[0]) == 10_000
    assert entries_of(rows[:-1], SOURCE)[1] == []
    entries, faults = entries_of(rows, SOURCE)
    assert len(entries) == 10_000
    assert faults == [(0, "10001 batches; 10000 are the most")]


def test_names_that_look_alike_are_remarked_on_once_each():
    names = ("é1", "e\u03011", "É1", "B", "B")
    entries = [Entry(name, "", "") for name in names]

    told = "differ only in case or in how a letter is stored; they are taken for two"
    assert list(alike(entries)) == [
        f"batches “é1” and “e\u03011” {told}",
        f"batches “é1” and “É1” {told}",
    ]


ONE = "write one text in quotes"


@pytest.mark.parametrize(
    ("row", "line", "told"),
    [
        (row_of(idd=words("x", 6)), 6, "batch B1: idd is no key of a batch. Did you mean id?"),
        (row_of(zzz=3), 4, "batch B1: zzz is no key of a batch."),
        (row_of(recipe=words("ale")), 4, "batch B1: there is no recipe ale"),
        (row_of(changed=words("mash", 6)), 6, 'batch B1: changed: write changed = { "hop 1 mass"'),
        (row_of(changed=3), 4, 'batch B1: changed: write changed = { "hop 1 mass" = "38 g" }'),
        (row_of(changed={"mash": ["66 °C"]}), 4, f"batch B1: changed mash: {ONE}"),
        (row_of(tags=words("x", 7)), 7, 'batch B1: tags: write tags = { "malt store" = "loft" }'),
        (row_of(tank=["2"]), 4, f'batch B1: tank: {ONE}, such as tank = "2"'),
        (row_of(tank=words("a\nb c\u202e")), 4, "batch B1: tank holds characters that cannot be"),
        (row_of(tags={"a\u202e": words("b")}), 4, "batch B1: a\u202e holds characters that cannot"),
        (
            row_of(readings=words("x")),
            4,
            "batch B1: readings: write [batch.readings] and lines such",
        ),
        (row_of(readings={"OG": 3}), 4, f"batch B1: OG: {ONE}, or a list of them"),
        (row_of(readings={"OG": [words("1.04"), 3]}), 4, f"batch B1: OG: {ONE}, or a list of them"),
        (
            row_of(readings={"OG": [words("1", 7), words("2", 8), words("1", 9)]}),
            9,
            "batch B1: OG: “1” stands there twice; keep one",
        ),
        (
            row_of(readings={"OG": [words("1", 0), words("1", 0)]}),
            4,
            "batch B1: OG: “1” stands there twice; keep one",
        ),
        (row_of(tasted=words("good", 8)), 8, "batch B1: tasted: write [batch.tasted] and thiols"),
        (row_of("a\u202e"), 4, "batch a\\u202e: id holds characters that cannot be printed; leave"),
        (row_of(""), 4, 'batch: id is missing; write id = "B7", the name you know it by'),
        (row_of(id={}), 4, 'batch: id: write one value, such as id = "B7"'),
        (row_of(recipe={"a": words("b")}), 4, "batch: recipe: write one value, such as recipe ="),
        (row_of(date=[words("x")]), 4, "batch: date: write one value, such as date = 2026-03-14"),
        (row_of(split_of=[]), 4, 'batch: split_of: write one value, such as split_of = "B7"'),
        (row_of(notes={}), 4, 'batch: notes: write one value, such as notes = "new kettle"'),
        (words("B1", 3), 3, "batch “B1”: is no table; write [[batch]] and its lines below it"),
    ],
)
def test_what_is_wrong_with_a_batch_is_told_in_its_line(row, line, told):
    at, what = fault_of(row)

    assert at == line
    assert what.startswith(f"line {line}, {told}")


def test_a_place_among_the_tags_too_is_there_twice_and_the_tag_tells_its_line():
    row = row_of(tank=words("1"), tags={"tank": words("2", 8), "store": words("x", 9)})

    assert fault_of(row) == (8, "line 8, batch B1: tank stands there twice; keep one")


def test_without_a_recipe_anywhere_the_fault_says_so():
    lone = Source("log.toml", {}, "", (), TODAY)

    assert read(row_of(), source=lone) == (
        (),
        [(4, "line 4, batch B1: no recipe was given with the log")],
    )


def test_a_batch_with_a_fault_in_a_part_of_it_is_still_a_batch():
    (entry,), faults = read(row_of(readings={"OG": 3, "FG": words("1.01")}, tasted=words("x")))

    assert entry.readings == {"FG": ("1.01",)}
    assert len(faults) == 2


def test_of_a_batch_without_a_name_only_that_is_told():
    row = row_of("", readings=words("x"), changed=3) | {"date": words("soon")}

    assert len(read(row)[1]) == 1


@pytest.mark.parametrize("count", [60, 61])
def test_sixty_readings_over_all_quantities_are_the_most(count):
    texts = [words(f"1.0{n}") for n in range(count - 1)]
    _, faults = read(row_of(readings={"OG": texts, "FG": words("1.01")}))

    told = "line 4, batch B1: 61 readings; 60 are the most of one batch; write those of one value"
    assert [(at, what.startswith(told)) for at, what in faults] == (
        [] if count == 60 else [(4, True)]
    )


def day_of(text, line=0):
    date, faults = read_date(text if text is None else words(text, line), 4, TODAY)
    return date, faults


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("2026-03-14", "2026-03-14"),
        ("2026-03-14 10:30:00", "2026-03-14"),
        ("2026-06-01", "2026-06-01"),
    ],
)
def test_a_day_until_today_is_read(text, date):
    assert day_of(text) == (date, [])


@pytest.mark.parametrize(
    ("text", "line", "at", "told"),
    [
        (None, 0, 4, "date is missing; write date = 2026-03-14"),
        ("no column", 0, 4, "has no date; head a column date, with days such as"),
        ("2026-06-02", 6, 6, "date 2026-06-02 lies in the future; a batch is logged after it was"),
        ("31.12.1900", 6, 6, "date “31.12.1900” is not read; write date = 1900-12-31"),
        ("31.12.1899", 0, 4, "date “31.12.1899” is not read; write year-month-day, such as"),
        ("1900-13-02", 0, 4, "date “1900-13-02” is not read; write year-month-day, such as"),
        ("2024-14-3", 0, 4, "date “2024-14-3” is not read; write year-month-day, such as"),
        ("3-2024-14", 0, 4, "date “3-2024-14” is not read; write year-month-day, such as"),
    ],
)  # fmt: skip
def test_a_day_that_is_none_is_told_how_it_is_written(text, line, at, told):
    date, ((place, what),) = day_of(text, line)

    assert (date, place) == ("", at)
    assert what.startswith(told)
