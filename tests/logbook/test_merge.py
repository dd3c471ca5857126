"""Two logs as documents: what the second adds to the first, replaces or may not say."""

from dataclasses import replace

import pytest

from brewsim.errors import InputError
from brewsim.logbook.entries import Entry
from brewsim.logbook.log import Log, merge, same_batch
from brewsim.logbook.sections import (
    Calibration,
)
from brewsim.logbook.tasting_entries import Sitting, Tasted
from tests.logbook.words import words

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
