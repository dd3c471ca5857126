"""What a study takes and what it returns cannot be changed by accident afterwards."""

import dataclasses
from importlib import import_module

import pytest

ROOMS = (
    "attribution",
    "budget",
    "capability",
    "conformity",
    "exchange",
    "knobs",
    "landscape",
    "latents",
    "measured",
    "next_reading",
    "observed",
    "obstacles",
    "pickfreeze",
    "problem",
    "sampling",
    "simulate",
    "specification",
    "steering",
    "summary",
    "surprise",
    "tightening",
    "tolerance",
    "walks",
    "worth",
)
ADDED_UP = {"Sums"}
"""Sums grow block by block."""


def records(room):
    """Return the dataclasses a module of the study defines."""
    module = import_module(f"brewsim.study.{room}")
    return [
        thing
        for thing in vars(module).values()
        if dataclasses.is_dataclass(thing) and thing.__module__ == module.__name__
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_records_refuse_to_be_changed(room):
    found = [record for record in records(room) if record.__name__ not in ADDED_UP]

    assert found
    for record in found:
        blank = object.__new__(record)
        for field in dataclasses.fields(record):
            with pytest.raises(dataclasses.FrozenInstanceError):
                setattr(blank, field.name, None)
