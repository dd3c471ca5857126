"""A house as text: what is written of a log, to the letter."""

import pytest

from brewsim.logbook.brew import Batches
from brewsim.logbook.entries import Entry
from brewsim.logbook.house_file import (
    _HEAD,
    _end_of_batch,
    _long,
    _name_instruments,
    _quoted,
    _raise_version,
    house_text,
)
from brewsim.logbook.sections import Calibration
from brewsim.logbook.tasting_entries import Sitting, Tasted
from brewsim.quantities.statement import Written


def words(text, line=0):
    return Written(text, line)


FULL = Batches(
    entries=(
        Entry(
            'B "1"',
            "2026-03-14",
            "k",
            changed={"hop 1 mass": words("38 g")},
            readings={"OG": (words("1.045"), words("1.046 by mine")), "FG": (words("1.01"),)},
            notes="windy\nday",
            tags={"store": "loft", "tank": "T2", "brewer": "Ada"},
            tasted=Tasted({"thiols": words("too much, -")}, ("Ada", "Ben")),
            split_of="A",
        ),
        Entry("B2", "2026-03-15", "k", tasted=Tasted({}, ("Ada",))),
    ),
    recipes={"k": "name = 'x'\n", "unused": "y"},
    instruments={"mine": words("volume mark")},
    calibrations=(Calibration("mine", "1", "2", "final_gravity"), Calibration("mine", "3", "4")),
    sittings=(
        Sitting(
            {"pairs": (words("A > B: 1 of 1"), words("x"))}, (), "hops", "2026-04-01", ("Ada",)
        ),
        Sitting({}, ({"beer": words("A"), "with": words("plain")}, {"beer": words("B")})),
    ),
    taken={('B "1"', "OG", "1.045"): "consumer hydrometer", ("B2", "OG", "1.045"): "x"},
)


WRITTEN = r'''version = 2

[instrument."mine"]
kind = "volume mark"

[[calibration]]
instrument = "mine"
quantity = "final_gravity"
read = "1"
known = "2"

[[calibration]]
instrument = "mine"
read = "3"
known = "4"

[[batch]]
id = "B \"1\""
date = 2026-03-14
recipe = "k"
tank = "T2"
brewer = "Ada"
notes = "windy\nday"
split_of = "A"
[batch.tags]
"store" = "loft"
[batch.changed]
"hop 1 mass" = "38 g"
[batch.readings]
"OG" = ["1.045 by consumer hydrometer", "1.046 by mine"]
"FG" = "1.01"
[batch.tasted]
tasters = ["Ada", "Ben"]
thiols = "too much, -"

[[batch]]
id = "B2"
date = 2026-03-15
recipe = "k"

[[tasting]]
date = 2026-04-01
of = "hops"
tasters = ["Ada"]
pairs = ["A > B: 1 of 1", "x"]

[[tasting]]
of = "thiols"
blend = [{ beer = "A", with = "plain" }, { beer = "B" }]

[[recipe]]
key = "k"
text = """name = 'x'
"""
'''


def test_a_house_is_written_to_the_letter():
    text = house_text(FULL)
    recipe = "[[recipe]]\nkey = \"k\"\ntext = '''\nname = 'x'\n'''\n"

    assert text == _HEAD + "\n".join([*WRITTEN.split("\n[[recipe]]")[:1], recipe])


@pytest.mark.parametrize(
    ("text", "quoted"),
    [
        ("é °C", '"é °C"'),
        ('a\\b"c', '"a\\\\b\\"c"'),
        ("a\tb\rc\nd", '"a\\tb\\rc\\nd"'),
        ("\x1f \x7f\u0085\u2028\u2029", '"\\u001f \\u007f\\u0085\\u2028\\u2029"'),
    ],
)
def test_a_text_is_quoted_so_that_every_reader_has_it_back(text, quoted):
    assert _quoted(text) == quoted


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("a\n\tb\n", True),
        ("a\r\nb", False),
        ("a'''b", False),
        ("a'", False),
        ("a'\n", True),
        ("a\u2028b", False),
    ],
)
def test_a_long_text_stands_as_it_is_where_that_is_allowed(text, plain):
    assert _long(text) == (f"'''\n{text}'''" if plain else _quoted(text))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (["# x", "version = 1 # old", "[a]"], ["# x", "version = 2 # old", "[a]"]),
        (["[a]", "version = 1"], ["[a]", "version = 1"]),
        ([" version=1", "version = 1"], ["version = 2", "version = 1"]),
        (["name = 'x'"], ["name = 'x'"]),
        ([], []),
    ],
)
def test_the_version_above_the_first_table_is_raised(before, after):
    _raise_version(before)

    assert before == after


HOUSE = '''[[batch]]
id = "A"
notes = """
[not a header]
"""
[batch.readings]
OG = "1.045"
# of A
 [ "batch" . tags ]
x = "y"

# of the next
[[batch]]
id = "B"

'''


@pytest.mark.parametrize(("start", "end"), [(0, 10), (12, 14)])
def test_a_batch_ends_with_its_last_line_that_says_something(start, end):
    assert _end_of_batch(HOUSE.split("\n"), start) == end


def test_instruments_are_written_to_readings_that_have_none_where_they_stand():
    lines = ['OG = "1.045"', "FG = ['1.01', '1.01 by x']", 'ABV = "5 %"']
    entry = Entry(
        "A",
        "2026-01-01",
        "k",
        readings={
            "OG": (words("1.045", 1),),
            "FG": (words("1.01", 2),),
            "ABV": (words("5 %", 3),),
            "gone": (words("7", 9),),
            "nowhere": (words("8", 0),),
        },
    )
    taken = {
        ("A", n, t): "mine"
        for n, t in (("OG", "1.045"), ("FG", "1.01"), ("gone", "7"), ("nowhere", "8"))
    }
    _name_instruments(lines, [entry], taken)

    assert lines == ['OG = "1.045 by mine"', "FG = ['1.01 by mine', '1.01 by x']", 'ABV = "5 %"']
