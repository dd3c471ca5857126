"""Readers of single fields: each takes what was written and returns what it means, or a fault."""

import math
from collections.abc import Callable, Mapping, Sequence

from brewsim.errors import did_you_mean
from brewsim.quantities.catalogue import OUTCOMES
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.format import shown
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Phrase, Stated

MAX_NAME = 200
MAX_NOTES = 20_000


def value_reader(
    model_unit: str, low: float, high: float, *, above: bool = False, hint: str = ""
) -> Callable[[object], Stated]:
    """Return a reader of one value that refuses what lies outside low to high (model units).

    With `above`, low itself is refused too. `hint` says what to do about a value outside.
    """

    def read(written: object) -> Stated:
        stated = read_phrase(written, model_unit)
        refuse_one_sided(stated)
        check_limits(stated, low, high, above=above, hint=hint)
        return stated

    return read


def refuse_one_sided(stated: Stated) -> None:
    """Raise ValueError where a limit is stated in place of a value."""
    if stated.phrase.kind in ("at_most", "at_least"):
        raise ValueError("“at most” and “at least” are for targets; write a value or a range")


def check_limits(
    stated: Stated, low: float, high: float, *, above: bool = False, hint: str = ""
) -> None:
    """Raise ValueError where any number of the phrase lies outside low to high."""
    for value in numbers_of(stated.phrase):
        if low < value <= high or (value == low and not above):
            continue
        unit = stated.unit
        told = shown(value, stated.model_unit, unit, twin=False)
        if value == low:
            raise ValueError(f"{told} is not above 0. {hint}".strip())
        ends = [shown(end, stated.model_unit, unit, twin=False) for end in (low, high)]
        meant = ""
        if stated.model_unit == "fraction" and value > 0 and low <= value * 100 <= high:
            meant = f" Did you mean {shown(value * 100, 'fraction', twin=False)}?"
        raise ValueError(f"{told} is outside {ends[0]} to {ends[1]}.{meant} {hint}".strip())


def numbers_of(phrase: Phrase) -> list[float]:
    """Return every number a phrase states outright (a factor's ends are only implied)."""
    numbers = [phrase.middle, *phrase.values]
    if phrase.kind in ("range90", "uniform", "triangular"):
        numbers += [end for end in (phrase.low, phrase.high) if end is not None]
    return [number for number in numbers if math.isfinite(number)]


def word_reader(allowed: Sequence[str], also: Mapping[str, str]) -> Callable[[object], str]:
    """Return a reader of one of a few words, in any case, with other spellings."""
    table = {word.lower(): word for word in allowed} | {
        key.replace("_", " "): word for key, word in also.items()
    }

    def read(written: object) -> str:
        text = str(written).strip().lower()
        if isinstance(written, list | dict) or text not in table:
            words = ", ".join(allowed[:-1]) + f" or {allowed[-1]}"
            raise ValueError(f"is not a choice here; write {words}.{did_you_mean(text, table)}")
        return table[text]

    return read


def read_name(written: object) -> str:
    """Read a short text on one line."""
    if isinstance(written, list | dict):
        raise ValueError('write it as one text in quotes: "..."')  # noqa: TRY004 - a fault, not a bug
    text = " ".join(str(written).split())
    if not text:
        raise ValueError("is empty; write a name")
    if len(text) > MAX_NAME:
        raise ValueError(f"is {len(text)} characters long; keep it within {MAX_NAME}")
    if not text.isprintable():
        raise ValueError("holds characters that cannot be printed; leave them out")
    return text


def read_notes(written: object) -> str:
    """Read free text."""
    if isinstance(written, list | dict):
        raise ValueError('write it as one text in quotes: "..."')  # noqa: TRY004 - a fault, not a bug
    if len(str(written)) > MAX_NOTES:
        raise ValueError(f"is longer than {MAX_NOTES} characters")
    return str(written)


def quantity_reader(name: str) -> Callable[[object], Stated]:
    """Return a reader of any quantity of the model, its unit told by the ending of its name.

    Raises ValueError at once where the name ends in no known unit.
    """
    unit = model_unit_of(name)
    if unit is None:
        unit = " It does not end in a unit (_l, _kg, _fraction ...)."
        near = did_you_mean(name, OUTCOMES) or unit
        raise ValueError(f"there is no quantity called {name}.{near}")
    low, high = (0.0, 1.0) if unit == "fraction" else (-1e12, 1e12)
    if unit == "fraction" and ("error" in name or "slope" in name):
        low = -1.0
    return value_reader(unit, low, high)
