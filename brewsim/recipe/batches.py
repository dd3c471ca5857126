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
from brewsim.recipe.log_tables import tables_of
from brewsim.recipe.measurements import Instruments, Notebook, contradictions
from brewsim.recipe.pose import pose
from brewsim.recipe.priors import Priors, load_priors
from brewsim.recipe.read import parse_recipe, read_text
from brewsim.recipe.stated import Written, line_of
from brewsim.study.measured import Batch, Reading
from brewsim.study.problem import Problem

_BATCH_KEYS = ("id", "date", "recipe", "changed", "readings", "notes")
_TABLES = ("batch", "instrument", "calibration", "recipe", "version", "name", "notes")
MAX_BATCHES = 500


@dataclass(frozen=True)
class Entry:
    """One batch as entered: texts only, so that it can be written down again."""

    id: str
    date: str
    recipe: str
    changed: Mapping[str, Written] = field(default_factory=dict)
    readings: Mapping[str, tuple[Written, ...]] = field(default_factory=dict)
    notes: str = ""
    line: int = 0


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
    reader = _EntryReader(recipes, default, today or dt.datetime.now(tz=dt.UTC).date())
    entries = reader.entries(tables.get("batch"), faults)
    named = _instruments(tables.get("instrument"), faults)
    calibrations = _calibrations(tables.get("calibration"), faults)
    log = Log(entries, recipes, named, calibrations)
    made, remarks = _made(log, priors or load_priors(), faults)
    if faults:
        told = [text for _, text in sorted(faults, key=lambda f: f[0] or 10**9)]
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


@dataclass
class _EntryReader:
    recipes: Mapping[str, str]
    default: str
    today: dt.date
    seen: dict[str, int] = field(default_factory=dict)

    def entries(self, rows: object, faults: list[Fault]) -> tuple[Entry, ...]:
        if not isinstance(rows, list) or not rows:
            faults.append((0, "there is no batch; write [[batch]] and its lines below it"))
            return ()
        if len(rows) > MAX_BATCHES:
            faults.append((0, f"{len(rows)} batches; {MAX_BATCHES} are the most"))
        for row in rows[:MAX_BATCHES]:
            if not isinstance(row, dict):
                at = line_of(row)
                told = "is no table; write [[batch]] and its lines below it"
                faults.append((at, in_words(at, f"batch “{row}”", told)))
        found = [self._entry(row, faults) for row in rows[:MAX_BATCHES] if isinstance(row, dict)]
        return tuple(sorted((e for e in found if e is not None), key=lambda e: (e.date, e.id)))

    def _entry(self, row: dict[str, Any], faults: list[Fault]) -> Entry | None:
        line = int(row.get(LINE_KEY, 0))
        name = " ".join(str(row.get("id", "")).split())

        def fault(at: int, what: str) -> None:
            faults.append((at, in_words(at, f"batch {name}".strip(), what)))

        for key, value in row.items():
            if key not in _BATCH_KEYS and key != LINE_KEY:
                near = did_you_mean(key, _BATCH_KEYS)
                fault(line_of(value) or line, f"{key} is no key of a batch.{near}")
        if not name:
            fault(line, 'id is missing; write id = "B7", the name you know it by')
            return None
        if name in self.seen:
            fault(line, f"is there twice, first in line {self.seen[name]}; keep one")
            return None
        self.seen[name] = line
        date = self._date(row.get("date"), line, fault)
        key = str(row.get("recipe", self.default))
        if key not in self.recipes:
            fault(line, f"there is no recipe {key}" if key else "no recipe was given with the log")
            return None
        changed = self._texts(row.get("changed", {}), "changed", line, fault)
        readings = self._lists(row.get("readings", {}), line, fault)
        return Entry(name, date, key, changed, readings, str(row.get("notes", "")), line)

    def _date(self, written: object, line: int, fault: Any) -> str:  # noqa: ANN401 - a closure
        at = line_of(written) or line
        if written is None:
            fault(at, "date is missing; write date = 2026-03-14")
            return ""
        try:
            date = dt.date.fromisoformat(str(written)[:10])
        except ValueError:
            fault(at, f"date “{written}” is not read; write year-month-day, such as 2026-03-14")
            return ""
        if date > self.today:
            fault(at, f"date {date} lies in the future; a batch is logged after it was brewed")
        return date.isoformat()

    def _texts(self, table: object, key: str, line: int, fault: Any) -> dict[str, Written]:  # noqa: ANN401
        if not isinstance(table, dict):
            fault(line_of(table) or line, f'{key}: write {key} = {{ "hop 1 mass" = "38 g" }}')
            return {}
        found = {}
        for name, value in table.items():
            if isinstance(value, Written):
                found[name] = value
            elif name != LINE_KEY:
                fault(line, f"{key} {name}: write one text in quotes")
        return found

    def _lists(self, table: object, line: int, fault: Any) -> dict[str, tuple[Written, ...]]:  # noqa: ANN401
        if not isinstance(table, dict):
            fault(line, 'readings: write [batch.readings] and lines such as bitterness = "22 IBU"')
            return {}
        found = {}
        for name, value in table.items():
            if name == LINE_KEY:
                continue
            texts = [value] if isinstance(value, Written) else value
            if not isinstance(texts, list) or not all(isinstance(t, Written) for t in texts):
                fault(line, f"{name}: write one text in quotes, or a list of them")
                continue
            doubled = next((t for n, t in enumerate(texts) if str(t) in map(str, texts[:n])), None)
            if doubled is not None:
                fault(line_of(doubled) or line, f"{name}: “{doubled}” stands there twice; keep one")
            found[name] = tuple(texts)
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
