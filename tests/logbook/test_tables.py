"""A log in columns, and dates as people write them."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from brewsim.logbook.tables import tables_of
from tests.texts import beer


def readings_of(head, cell):
    tables, faults = tables_of(f"batch\t{head}\n1\t{cell}\n", "log.tsv")

    assert faults == []
    ((name, texts),) = [
        pair for pair in tables["batch"][0]["readings"].items() if pair[0] != "__line__"
    ]
    return name, [str(text) for text in texts]


@pytest.mark.parametrize(
    ("head", "cell", "name", "text"),
    [
        ("ABV (%)", "4.4 ± 0.3", "ABV", "4.4 ± 0.3 %"),
        ("ABV (%)", "4,4 +/- 0,3", "ABV", "4,4 +/- 0,3 %"),
        ("ABV (%)", "4.4 sd 0.3", "ABV", "4.4 sd 0.3 %"),
        ("ABV (%)", "4.4 ± 0.3 %", "ABV", "4.4 ± 0.3 %"),
        ("ABV (%)", "4.4 by bench alcohol meter", "ABV", "4.4 % by bench alcohol meter"),
        ("FG (°Bx) by refractometer", "5.6", "FG", "5.6 °Bx by refractometer"),
        ("FG by refractometer (°Bx)", "5.6", "FG", "5.6 °Bx by refractometer"),
        ("FG [°Bx]", "5.6 by my glass", "FG", "5.6 °Bx by my glass"),
        ("tasters", "7 of 10", "tasters", "7 of 10"),
    ],
)
def test_a_headings_unit_is_that_of_its_cells_without_one(head, cell, name, text):
    assert readings_of(head, cell) == (name, [text])


def faults_of(date):
    with pytest.raises(InputError) as caught:
        parse_batches(f'[[batch]]\nid = "A"\ndate = {date}\n', beer(), "log.toml")
    return caught.value.faults


@pytest.mark.parametrize("quote", ["", '"'])
@pytest.mark.parametrize(
    ("date", "told"),
    [
        ("14/09/2024", "write date = 2024-09-14"),
        ("14.9.2024", "write date = 2024-09-14"),
        ("09/14/2024", "write date = 2024-09-14"),
        ("2024/9/14", "write date = 2024-09-14"),
        ("03/04/2024", "write year-month-day, such as 2026-03-14"),
        ("7/7/2024", "write date = 2024-07-07"),
        ("spring", "write year-month-day, such as 2026-03-14"),
    ],
)
def test_a_date_is_told_how_to_be_written_and_once(date, told, quote):
    assert faults_of(f"{quote}{date}{quote}") == (
        f"line 3, batch A: date “{date}” is not read; {told}",
    )


def csv_faults(text):
    with pytest.raises(InputError) as caught:
        parse_batches(text, beer(), "log.csv")
    return caught.value.faults


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "the log is empty; head its columns batch, date"),
        ("batch;date;OG\n", "there is no line of values under the headings; head its columns"),
        ("batch;date\nB1;2024-01-02;1.045\n", "line 2: has 3 cells under 2 headings"),
        ("brew day;date\n1;2024-01-02\n", "line 1: no column is headed batch; head the one"),
        ("batch;date;OG\n;2024-01-02;1.045\n", "line 2: the cell under batch is empty; name the"),
        ("batch;date;OG\nB1;;1.045\n", "line 2, batch B1: date “” is not read; write year"),
        ("batch;OG\nB1;1.045\n", "line 2, batch B1: has no date; head a column date"),
    ],
)
def test_a_log_in_columns_is_told_of_its_columns_and_not_of_tables(text, told):
    faults = csv_faults(text)

    assert faults[0].startswith(told)
    assert not any("[[" in fault or "id is missing" in fault for fault in faults)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("batch;date;__line__\nB1;2024-01-02;3\n", "line 1: no column can be headed __line__"),
        (f"batch;date;OG\nB1;2024-01-02;{'9' * 131_073}\n", "line 2: is no line of cells (field"),
    ],
    ids=["a heading of brewsim's own", "a cell without end"],
)
def test_a_column_log_that_cannot_be_read_is_refused_in_words(text, told):
    assert csv_faults(text)[0].startswith(told)


def test_a_remark_above_the_columns_does_not_say_what_parts_them():
    text = "# ours, all of it, from May on\n\nbatch;OG\nB1;1,050\n"
    tables, faults = tables_of(text, "log.csv")

    assert faults == []
    (batch,) = tables["batch"]
    assert [str(text) for text in batch["readings"]["OG"]] == ["1,050"]


def test_only_a_line_feed_ends_a_line_of_columns():
    tables, _ = tables_of("batch,notes\n1,a\u2028b\n2,c\n", "log.csv")

    assert [(b["id"], b["notes"]) for b in tables["batch"]] == [("1", "a\u2028b"), ("2", "c")]


def test_a_column_headed_changed_alone_is_told_how_to_be_headed():
    (fault,) = csv_faults("batch;date;changed\nB1;2024-01-02;N26\n")

    assert "head the column changed hop 1 lot" in fault


@pytest.mark.parametrize("head", ["Batch No", "Batch no.", "Brew number", "batch", "BREW"])
@pytest.mark.parametrize("day", ["Brewed on", "date"])
def test_headings_are_what_people_call_them(head, day):
    log = parse_batches(f"{head};{day};OG\nB1;2024-01-02;1.045\n", beer(), "log.csv")

    assert [(entry.id, entry.date) for entry in log.entries] == [("B1", "2024-01-02")]


CSV = "batch,date,OG,Weather,Wind,tank,tag malt store,changed mash\n"


def test_columns_that_are_no_quantity_are_left_out_with_one_remark():
    log = parse_batches(f"{CSV}B1,2024-01-02,1.045,sunny,3,T1,loft,66 °C\n", beer(), "log.csv")

    (told,) = [remark for remark in log.remarks if "left out" in remark]
    assert told == "columns that are no quantity, left out of the log: Weather, Wind"
    assert [r.quantity for r in log.batches[0].readings] == ["original_gravity_sg"]


def test_where_a_batch_was_brewed_goes_with_it_to_the_studies():
    log = parse_batches(f"{CSV}B1,2024-01-02,1.045,,,T1,loft,\n", beer(), "log.csv")

    assert log.entries[0].tags == {"tank": "T1", "malt store": "loft"}
    assert log.batches[0].notes == {"date": "2024-01-02", "tank": "T1", "malt store": "loft"}


def test_a_slip_of_a_quantitys_name_is_refused_and_not_left_out():
    (fault,) = csv_faults("batch,date,bitternes (IBU)\nB1,2024-01-02,22\n")

    assert "Did you mean bitterness" in fault
