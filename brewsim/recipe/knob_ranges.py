"""Knobs as a recipe states them: which line of it may be turned, and how far."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

ROWS = {"malt": "name", "sugar": "name", "hop": "variety", "precursor": "name"}
"""Kinds of rows, and the field that names a row."""


@dataclass(frozen=True, slots=True)
class KnobRange:
    """A knob: `kind`, `row` (from 0, None outside a list) and `field` of the recipe.

    low, high and step (0: free) are in `model_unit`; `unit` is the one the person used and
    `per_shown` is model units per shown unit, `zero` what is shown as 0. `choices` is set instead
    for a knob that picks words.
    """

    id: str
    kind: str
    row: int | None
    field: str
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""
    model_unit: str = ""
    per_shown: float = 1.0
    zero: float = 0.0
    choices: tuple[str, ...] = ()
    text: str = dataclasses.field(default="", compare=False)
    line: int = dataclasses.field(default=0, compare=False)


def place_of(kind: str, which: str, names: Sequence[str]) -> int:
    """Return the place of the row with that number or name; raises ValueError in words."""
    if which.isdecimal() and 1 <= int(which) <= len(names):
        return int(which) - 1
    same = [n for n, name in enumerate(names) if name.lower() == which.lower()]
    if len(same) == 1:
        return same[0]
    if len(same) > 1:
        raise ValueError(f"there are {len(same)} {kind} lines called {which}; write its number")
    count = f"the recipe has {len(names)} {kind} line{'' if len(names) == 1 else 's'}"
    raise ValueError(f"there is no {kind} {which or 'without a number'}; {count}")
