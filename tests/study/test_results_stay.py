"""What a study takes and what it returns cannot be changed by accident afterwards."""

import dataclasses
import inspect
from importlib import import_module
from pkgutil import walk_packages

import pytest

import brewsim.study as studies

ADDED_UP = {"Sums", "Histogram", "_Run", "_Replicate", "_Tally", "Work"}
"""These grow block by block, or sweep by sweep; of an abstract one there is no instance."""


def records():
    """Return the dataclasses that the modules of the studies define."""
    found = {}
    for entry in walk_packages(studies.__path__, "brewsim.study."):
        module = import_module(entry.name)
        found |= {
            f"{entry.name}.{name}": thing
            for name, thing in vars(module).items()
            if isinstance(thing, type)
            and dataclasses.is_dataclass(thing)
            and thing.__module__ == entry.name
        }
    return found


RECORDS = {
    name: thing
    for name, thing in records().items()
    if thing.__name__ not in ADDED_UP and not inspect.isabstract(thing)
}


def test_the_records_of_every_room_are_found():
    rooms = {name.split(".")[2] for name in RECORDS}

    assert rooms == {"model", "propagation", "sensitivity", "inference", "steering", "tolerance"}


@pytest.mark.parametrize("name", sorted(RECORDS))
def test_a_record_refuses_to_be_changed(name):
    blank = object.__new__(RECORDS[name])

    for field in dataclasses.fields(RECORDS[name]):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(blank, field.name, None)
