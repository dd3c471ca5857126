"""The batch log: what was brewed, what was done otherwise, and what was measured."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from brewsim.errors import InputError, did_you_mean
from brewsim.recipe.changes import editing
from brewsim.recipe.faults import Fault, in_words
from brewsim.recipe.lines import LINE_KEY
from brewsim.recipe.log_entries import Entry, EntryReader
from brewsim.recipe.log_tables import tables_of
from brewsim.recipe.measurements import Instruments, Notebook, contradictions
from brewsim.recipe.pose import pose
from brewsim.recipe.priors import Priors, load_priors
from brewsim.recipe.read import parse_recipe, read_text
from brewsim.recipe.stated import Written, line_of
from brewsim.study.measured import Batch, Reading
from brewsim.study.problem import Problem

_TABLES = ("batch", "instrument", "calibration", "recipe", "version", "name", "notes")


@dataclass(frozen=True)
class Calibration:
    """What an instrument read where the truth was known, as entered."""

    instrument: str
    read: Written
    known: Written


@dataclass(frozen=True)
class Log:
    """A batch log: entries by date, the recipes they name (key to text), instruments, remarks.

    `batches` are the entries as the studies take them, in the same order.
    """

    entries: tuple[Entry, ...]
    recipes: Mapping[str, str]
    instruments: Mapping[str, str] = field(default_factory=dict)
    calibrations: tuple[Calibration, ...] = ()
    batches: tuple[Batch, ...] = ()
    remarks: tuple[str, ...] = ()


def key_of(text: str) -> str:
    """Return the short name a recipe's text goes by in a log."""
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def read_batches(
    path: str | Path,
    recipe: str | Path | None = None,
    priors: Priors | None = None,
    today: dt.date | None = None,
) -> Log:
    """Return the log in a TOML or CSV file, its batches brewed by the recipe file given.

    Raises InputError with all the faults of the log, in the order of its lines.
    """
    text = None if recipe is None else read_text(recipe)
    return parse_batches(read_text(path), text, str(path), priors, today)


def parse_batches(
    text: str,
    recipe: str | None = None,
    where: str = "batches",
    priors: Priors | None = None,
    today: dt.date | None = None,
) -> Log:
    """Return the log in a text; `recipe` is the text of the recipe that batches follow."""
    tables, faults = tables_of(text, where)
    recipes = _recipes(tables, recipe, faults)
    faults += [
        (line_of(v), in_words(line_of(v), k, f"is no part of a log.{did_you_mean(k, _TABLES)}"))
        for k, v in tables.items()
        if k not in _TABLES and k != LINE_KEY
    ]
    default = key_of(recipe) if recipe is not None else ""
    reader = EntryReader(recipes, default, today or dt.datetime.now(tz=dt.UTC).date())
    entries = reader.entries(tables.get("batch"), faults)
    named = _instruments(tables.get("instrument"), faults)
    calibrations = _calibrations(tables.get("calibration"), faults)
    log = Log(entries, recipes, named, calibrations)
    made, remarks = _made(log, priors or load_priors(), faults)
    if faults:
        told = [text for _, text in sorted(faults, key=lambda f: f[0] or 10**9)]
        if where.lower().endswith(".csv") and any("has no unit" in text for text in told):
            told.append("a column's unit may stand in its heading, in brackets: OG (°P)")
        raise InputError(where, list(dict.fromkeys(told)))
    return Log(entries, recipes, named, calibrations, made, remarks)


def _recipes(tables: dict[str, Any], recipe: str | None, faults: list[Fault]) -> dict[str, str]:
    found = {} if recipe is None else {key_of(recipe): recipe}
    rows = tables.get("recipe", [])
    for row in rows if isinstance(rows, list) else []:
        if isinstance(row, dict) and "text" in row:
            text = str(row["text"])
            found[str(row.get("key", key_of(text)))] = text
        else:
            faults.append((0, "recipe: write [[recipe]] with a key and a text"))
    return found


def _instruments(table: object, faults: list[Fault]) -> dict[str, str]:
    found = {}
    if table is not None and not isinstance(table, dict):
        faults.append(
            (line_of(table), 'instrument: write [instrument."my hydrometer"] and its kind')
        )
    for name, content in table.items() if isinstance(table, dict) else ():
        if name == LINE_KEY:
            continue
        if isinstance(content, dict) and "kind" in content:
            found[name] = str(content["kind"])
        else:
            faults.append((0, f'instrument {name}: write kind = "consumer hydrometer"'))
    return found


def _calibrations(rows: object, faults: list[Fault]) -> tuple[Calibration, ...]:
    found = []
    if rows is not None and not isinstance(rows, list):
        faults.append((line_of(rows), "calibration: write [[calibration]] and its lines below it"))
    for row in rows if isinstance(rows, list) else []:
        if not isinstance(row, dict):
            told = "calibration: write [[calibration]] and its lines below it"
            faults.append((line_of(row), told))
            continue
        missing = [key for key in ("instrument", "read", "known") if key not in row]
        if missing:
            line = int(row.get(LINE_KEY, 0))
            faults.append((line, in_words(line, "calibration", f"{', '.join(missing)} missing")))
        else:
            found.append(Calibration(str(row["instrument"]), row["read"], row["known"]))
    return tuple(found)


def _made(
    log: Log, priors: Priors, faults: list[Fault]
) -> tuple[tuple[Batch, ...], tuple[str, ...]]:
    """Return the batches of a log and what was assumed; faults are added to the list."""
    instruments = Instruments(priors, log.instruments)
    posed: dict[object, Problem | None] = {}
    batches: list[Batch] = []
    remarks: list[str] = []
    for entry in log.entries:
        key = (entry.recipe, tuple(sorted((k, str(v)) for k, v in entry.changed.items())))
        if key not in posed:
            posed[key] = _posed(entry, log.recipes[entry.recipe], priors, faults)
        problem = posed[key]
        if problem is None:
            continue
        book = Notebook(problem.graph, instruments)
        readings = list(_readings(entry, book, faults))
        if not batches:
            readings += _calibrated(log, book, faults)
        remarks += book.remarks
        batches.append(Batch(entry.id, problem, tuple(readings), {"date": entry.date}))
    return tuple(batches), tuple(dict.fromkeys(remarks))


def _posed(entry: Entry, text: str, priors: Priors, faults: list[Fault]) -> Problem | None:
    try:
        return pose(parse_recipe(text, "recipe", editing(entry.changed, entry.id)), priors=priors)
    except InputError as error:
        faults += [(entry.line, f"batch {entry.id}: {fault}") for fault in error.faults]
        return None


def _readings(entry: Entry, book: Notebook, faults: list[Fault]) -> Iterable[Reading]:
    found = []
    for name in sorted(entry.readings, key=lambda n: not n.startswith("original")):
        for written in entry.readings[name]:
            try:
                found.append(book.reading(name, written))
            except ValueError as error:
                line = line_of(written) or entry.line
                faults.append((line, in_words(line, f"batch {entry.id}, {name}", str(error))))
    told = contradictions(found)
    faults += [(entry.line, in_words(entry.line, f"batch {entry.id}", what)) for what in told]
    return found


def _calibrated(log: Log, book: Notebook, faults: list[Fault]) -> list[Reading]:
    found = []
    for item in log.calibrations:
        try:
            found.append(book.calibration(item.instrument, item.read, item.known))
        except ValueError as error:
            line = line_of(item.read)
            faults.append((line, in_words(line, f"calibration of {item.instrument}", str(error))))
    return found
