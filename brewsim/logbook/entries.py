"""One batch of a log as a person entered it."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.tables import NO_DAY
from brewsim.logbook.tasting_entries import Tasted, tasted_of
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words

_BATCH_KEYS = ("id", "date", "recipe", "changed", "readings", "tasted", "split_of", "notes")
_MOST_BATCHES = 500
_PARTS = re.compile(r"\s*([0-9]{1,4})\s*[-./]\s*([0-9]{1,2})\s*[-./]\s*([0-9]{1,4})\s*")


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
    tasted: Tasted = field(default_factory=Tasted)
    split_of: str = ""


@dataclass
class EntryReader:
    """Reads the [[batch]] tables of a log: ids once each, dates not to come, recipes that exist."""

    recipes: Mapping[str, str]
    default: str
    today: dt.date
    tasters: Sequence[str] = ()
    seen: dict[str, int] = field(default_factory=dict)

    def entries(self, rows: object, faults: list[Fault]) -> tuple[Entry, ...]:
        """Return the entries by date and id; faults are added to the list."""
        if not isinstance(rows, list) or not rows:
            faults.append((0, "there is no batch; write [[batch]] and its lines below it"))
            return ()
        if len(rows) > _MOST_BATCHES:
            faults.append((0, f"{len(rows)} batches; {_MOST_BATCHES} are the most"))
        for row in rows[:_MOST_BATCHES]:
            if not isinstance(row, dict):
                at = line_of(row)
                told = "is no table; write [[batch]] and its lines below it"
                faults.append((at, in_words(at, f"batch “{row}”", told)))
        found = [self._entry(row, faults) for row in rows[:_MOST_BATCHES] if isinstance(row, dict)]
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
        date = self.date(row.get("date"), line, fault)
        key = str(row.get("recipe", self.default))
        if key not in self.recipes:
            fault(line, f"there is no recipe {key}" if key else "no recipe was given with the log")
            return None
        changed = self._texts(row.get("changed", {}), "changed", line, fault)
        readings = self._lists(row.get("readings", {}), line, fault)
        tasted = tasted_of(row.get("tasted"), self.tasters, line, fault)
        notes, split = str(row.get("notes", "")), row.get("split_of", "")
        return Entry(name, date, key, changed, readings, notes, line, tasted, split)

    def date(self, written: object, line: int, fault: Any) -> str:  # noqa: ANN401 - a closure
        """Return a date as year-month-day; `fault` takes a line and what is wrong."""
        at = line_of(written) or line
        if written is None:
            fault(at, "date is missing; write date = 2026-03-14")
            return ""
        if written == NO_DAY:
            fault(at, "has no date; head a column date, with days such as 2026-03-14 below it")
            return ""
        try:
            date = dt.date.fromisoformat(str(written)[:10])
        except ValueError:
            fault(at, f"date “{written}” is not read; {_iso(str(written))}")
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


def _iso(written: str) -> str:
    """Return how to write a date; a day and month that can only be read one way as they are."""
    parts = _PARTS.fullmatch(written)
    days = list(_days(*map(int, parts.groups()))) if parts else []
    if len(days) == 1:
        return f"write date = {days[0]}"
    return "write year-month-day, such as 2026-03-14"


def _days(first: int, second: int, third: int) -> Iterator[dt.date]:
    """Yield the days that three numbers can be, with the year at either end."""
    orders = {(first, second, third), (third, second, first), (third, first, second)}
    for year, month, day in sorted(orders):
        if year >= 1900:
            with suppress(ValueError):
                yield dt.date(year, month, day)
