"""The tables of a log beside its batches: recipes, instruments of its own, calibrations."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words

VERSION = 2
"""Of the files that are written; version 1 had no tastings, no tanks, brewers, waters and tags."""
_BESIDES = ("tasters", "tasting", "version", "outliers", "name", "notes")
_TABLES = ("batch", "instrument", "calibration", "recipe", *_BESIDES)
_RECIPE_KEYS, _INSTRUMENT_KEYS = ("key", "text"), ("kind",)
_CALIBRATION_KEYS = ("instrument", "read", "known", "quantity")


@dataclass(frozen=True)
class Calibration:
    """What an instrument read where the truth was known, as entered; of what, if it matters."""

    instrument: str
    read: Written
    known: Written
    quantity: str = ""


def key_of(text: str) -> str:
    """Return the short name a recipe's text goes by in a log."""
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def other_tables(tables: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield a fault for each table that is no part of a log, and for a version not known."""
    for key, value in tables.items():
        if key not in _TABLES and key != LINE_KEY:
            near = did_you_mean(key, _TABLES)
            yield line_of(value), in_words(line_of(value), key, f"is no part of a log.{near}")
    allowed = tables.get("outliers")
    if allowed is not None and not isinstance(getattr(allowed, "native", None), bool):
        told = "write outliers = true where single wrong readings are allowed for, or leave it out"
        yield line_of(allowed), in_words(line_of(allowed), "outliers", told)
    version = tables.get("version", Written(str(VERSION), 0, VERSION))
    if isinstance(version, dict | list):
        yield 0, f"version: write version = {VERSION}"
        return
    number = getattr(version, "native", None)
    line = line_of(version)
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        told = f"“{version}” is no version; brewsim writes version = {VERSION}"
        yield line, in_words(line, "version", told)
    elif number > VERSION:
        told = (
            f"the file is of version {number}, written by a newer brewsim; this one reads up to "
            f"version {VERSION}. Nothing is read from it, so that nothing of it is lost"
        )
        yield line, in_words(line, "version", told)


def recipes_of(rows: object, recipe: str | None) -> tuple[dict[str, str], list[Fault]]:
    """Return the recipes by key, the one given with the log and those in it, and faults."""
    found: dict[str, str] = {}
    faults: list[Fault] = []
    for row in rows if isinstance(rows, list) else []:
        if not isinstance(row, dict) or "text" not in row:
            faults.append((0, "recipe: write [[recipe]] with a key and a text"))
            continue
        faults += _other_keys(row, "recipe", _RECIPE_KEYS)
        if isinstance(row["text"], dict | list):
            line = int(row.get(LINE_KEY, 0))
            told = "write text as one text in quotes, the whole recipe"
            faults.append((line, in_words(line, "recipe", told)))
            continue
        text = str(row["text"])
        key = str(row.get("key", key_of(text)))
        if key in found:
            line = int(row.get(LINE_KEY, 0))
            what = f"key “{key}” is there twice; give each recipe a key of its own"
            faults.append((line, in_words(line, "recipe", what)))
        found.setdefault(key, text)
    return (found if recipe is None else {key_of(recipe): recipe} | found), faults


def instruments_of(table: object) -> tuple[dict[str, Written], list[Fault]]:
    """Return the kind of each instrument that the log names, and faults."""
    found: dict[str, Written] = {}
    faults: list[Fault] = []
    if table is not None and not isinstance(table, dict):
        told = 'instrument: write [instrument."my hydrometer"] and its kind'
        faults.append((line_of(table), told))
    for name, content in table.items() if isinstance(table, dict) else ():
        if name == LINE_KEY:
            continue
        where = f"instrument {name}"
        if not name.isprintable():
            line = int(content.get(LINE_KEY, 0)) if isinstance(content, dict) else 0
            shown = f"instrument {name.encode('unicode_escape').decode()}"
            what = "the name holds characters that cannot be printed; leave them out"
            faults.append((line, in_words(line, shown, what)))
            continue
        if not isinstance(content, dict) or not isinstance(content.get("kind"), Written):
            faults.append((0, f'{where}: write kind = "consumer hydrometer"'))
            continue
        faults += _other_keys(content, where, _INSTRUMENT_KEYS)
        kind = content["kind"]
        line = line_of(kind)
        twin = next((other for other in found if other.lower() == name.lower()), name)
        if found.setdefault(twin, kind).lower() != kind.lower():
            what = f"is the same as {twin}, whatever the case, and of another kind; keep one"
            faults.append((line, in_words(line, where, what)))
    return found, faults


def calibrations_of(rows: object) -> tuple[tuple[Calibration, ...], list[Fault]]:
    """Return the calibrations as entered, and faults."""
    told = "calibration: write [[calibration]] and its lines below it"
    if rows is not None and not isinstance(rows, list):
        return (), [(line_of(rows), told)]
    found: list[Calibration] = []
    faults: list[Fault] = []
    for row in rows or ():
        if not isinstance(row, dict):
            faults.append((line_of(row), told))
            continue
        faults += _other_keys(row, "calibration", _CALIBRATION_KEYS)
        missing = [key for key in ("instrument", "read", "known") if key not in row]
        if missing:
            line = int(row.get(LINE_KEY, 0))
            faults.append((line, in_words(line, "calibration", f"{', '.join(missing)} missing")))
            continue
        if not all(isinstance(row.get(key, told), str) for key in _CALIBRATION_KEYS):
            line = int(row.get(LINE_KEY, 0))
            what = "write each of its values as one text in quotes"
            faults.append((line, in_words(line, "calibration", what)))
            continue
        quantity = str(row.get("quantity", ""))
        found.append(Calibration(str(row["instrument"]), row["read"], row["known"], quantity))
    return tuple(found), faults


def _other_keys(row: Mapping[str, Any], where: str, known: Sequence[str]) -> Iterator[Fault]:
    for key, value in row.items():
        if key in known or key == LINE_KEY:
            continue
        line = line_of(value) or int(row.get(LINE_KEY, 0))
        near = did_you_mean(key, known) or f" There is: {', '.join(known)}."
        yield line, in_words(line, where, f"{key} is no key of it.{near}")
