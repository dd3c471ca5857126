"""One batch of a log as a person entered it."""

import datetime as dt
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.tables import MOST_BATCHES, NO_DAY, PLACES
from brewsim.logbook.tasting_entries import Tasted, tasted_of
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words

MOST_READINGS = 60
"""Of one batch: what learning costs grows with the square of their number."""
_TASTED_KEYS = ("tasted", "split_of")
_BATCH_KEYS = (
    "id",
    "date",
    "recipe",
    "changed",
    "readings",
    *_TASTED_KEYS,
    "notes",
    *PLACES,
    "tags",
)
_ONE_TEXT = {
    "id": '"B7"',
    "date": "2026-03-14",
    "recipe": '"lager"',
    "split_of": '"B7"',
    "notes": '"new kettle"',
}
"""Keys of one value, with an example."""
_PARTS = re.compile(r"\s*([0-9]{1,4})\s*[-./]\s*([0-9]{1,2})\s*[-./]\s*([0-9]{1,4})\s*")


@dataclass(frozen=True)
class Entry:
    """One batch as entered: texts only, so that it can be written down again.

    `implied` says that the log names no recipe for it, `usual` which instruments of the log a
    reading without one may have been taken by. `tags` are its tank, brewer, vessel, water and
    free words of one's own. `where` and `line` say where it stands.
    """

    id: str
    date: str
    recipe: str
    changed: Mapping[str, Written] = field(default_factory=dict)
    readings: Mapping[str, tuple[Written, ...]] = field(default_factory=dict)
    notes: str = ""
    tags: Mapping[str, str] = field(default_factory=dict)
    implied: bool = False
    usual: tuple[str, ...] = ()
    where: str = ""
    line: int = 0
    tasted: Tasted = field(default_factory=Tasted)
    split_of: str = ""


@dataclass(frozen=True)
class Source:
    """Where entries stand: the file, the recipes they may follow, instruments, the day today."""

    where: str
    recipes: Mapping[str, str]
    default: str
    usual: tuple[str, ...]
    today: dt.date
    tasters: tuple[str, ...] = ()


def entries_of(rows: object, source: Source) -> tuple[tuple[Entry, ...], list[Fault]]:
    """Return the entries of the [[batch]] tables by date and id, and the faults of the others."""
    if not isinstance(rows, list) or not rows:
        return (), [(0, "there is no batch; write [[batch]] and its lines below it")]
    faults: list[Fault] = []
    if len(rows) > MOST_BATCHES:
        faults.append((0, f"{len(rows)} batches; {MOST_BATCHES} are the most"))
    found: dict[str, Entry] = {}
    for row in rows[:MOST_BATCHES]:
        entry, wrong = _entry(row, source)
        faults += wrong
        if entry is None:
            continue
        if entry.id in found:
            what = f"is there twice, first in line {found[entry.id].line}; keep one"
            faults.append((entry.line, in_words(entry.line, f"batch {entry.id}", what)))
        found.setdefault(entry.id, entry)
    return in_order(found.values()), faults


def in_order(entries: Any) -> tuple[Entry, ...]:  # noqa: ANN401 - an iterable of entries
    """Return entries by date and id."""
    return tuple(sorted(entries, key=lambda entry: (entry.date, entry.id)))


def alike(entries: Sequence[Entry]) -> Iterator[str]:
    """Yield a remark for names that are one name to a reader and two to a computer."""
    seen: dict[str, str] = {}
    for entry in entries:
        plain = unicodedata.normalize("NFKC", entry.id).casefold()
        other = seen.setdefault(plain, entry.id)
        if other != entry.id:
            yield (
                f"batches “{other}” and “{entry.id}” differ only in case or in how a letter is "
                "stored; they are taken for two"
            )


def _entry(row: object, source: Source) -> tuple[Entry | None, list[Fault]]:
    """Return one batch, or None where it has no name, and its faults."""
    if not isinstance(row, dict):
        told = "is no table; write [[batch]] and its lines below it"
        return None, [(line_of(row), in_words(line_of(row), f"batch “{row}”", told))]
    line = int(row.get(LINE_KEY, 0))
    wrong: list[tuple[int, str]] = [
        (line_of(value) or line, f"{key} is no key of a batch.{did_you_mean(key, _BATCH_KEYS)}")
        for key, value in row.items()
        if key not in _BATCH_KEYS and key != LINE_KEY
    ]
    if odd := [key for key in _ONE_TEXT if isinstance(row.get(key), dict | list)]:
        texts = [f"{key}: write one value, such as {key} = {_ONE_TEXT[key]}" for key in odd]
        return None, [(line, in_words(line, "batch", text)) for text in texts]
    name = " ".join(str(row.get("id", "")).split())
    key = str(row.get("recipe", source.default))
    date, late = read_date(row.get("date"), line, source.today)
    changed, misread = _texts(row.get("changed", {}), "changed", '"hop 1 mass" = "38 g"', line)
    tags, mistagged = _tags(row, line)
    readings, unread = _lists(row.get("readings", {}), line)
    unheard: list[Fault] = []
    tasted = tasted_of(
        row.get("tasted"), source.tasters, line, lambda at, what: unheard.append((at, what))
    )
    if not name:
        wrong.append((line, 'id is missing; write id = "B7", the name you know it by'))
    elif not name.isprintable():
        name = name.encode("unicode_escape").decode()
        wrong.append((line, "id holds characters that cannot be printed; leave them out"))
    elif key not in source.recipes:
        what = f"there is no recipe {key}" if key else "no recipe was given with the log"
        wrong.append((line, what))
    if name:
        wrong += [*late, *misread, *mistagged, *unread, *unheard]
    faults = [(at, in_words(at, f"batch {name}".strip(), what)) for at, what in wrong]
    if not name or key not in source.recipes:
        return None, faults
    entry = Entry(
        id=name,
        date=date,
        recipe=key,
        changed=changed,
        readings=readings,
        notes=str(row.get("notes", "")),
        tags=tags,
        implied="recipe" not in row,
        usual=source.usual,
        where=source.where,
        line=line,
        tasted=tasted,
        split_of=row.get("split_of", ""),
    )
    return entry, faults


def read_date(written: object, line: int, today: dt.date) -> tuple[str, list[Fault]]:
    """Return a day as year-month-day, not after today, and what is wrong with it."""
    at = line_of(written) or line
    if written is None:
        return "", [(at, "date is missing; write date = 2026-03-14")]
    if written == NO_DAY:
        told = "has no date; head a column date, with days such as 2026-03-14 below it"
        return "", [(at, told)]
    try:
        date = dt.date.fromisoformat(str(written)[:10])
    except ValueError:
        return "", [(at, f"date “{written}” is not read; {_iso(str(written))}")]
    if date > today:
        told = f"date {date} lies in the future; a batch is logged after it was brewed"
        return "", [(at, told)]
    return date.isoformat(), []


def _texts(
    table: object, key: str, example: str, line: int
) -> tuple[dict[str, Written], list[Fault]]:
    if not isinstance(table, dict):
        return {}, [(line_of(table) or line, f"{key}: write {key} = {{ {example} }}")]
    found = {name: value for name, value in table.items() if isinstance(value, Written)}
    others = [name for name in table if name not in found and name != LINE_KEY]
    return found, [(line, f"{key} {name}: write one text in quotes") for name in others]


def _tags(row: Mapping[str, Any], line: int) -> tuple[dict[str, str], list[Fault]]:
    free, faults = _texts(row.get("tags", {}), "tags", '"malt store" = "loft"', line)
    twice = [name for name in PLACES if name in row and name in free]
    faults += [(line_of(free[n]) or line, f"{n} stands there twice; keep one") for n in twice]
    places = {name: row[name] for name in PLACES if name in row}
    faults += [
        (line, f'{name}: write one text in quotes, such as {name} = "2"')
        for name, value in places.items()
        if not isinstance(value, Written)
    ]
    tags = {name: " ".join(str(value).split()) for name, value in (places | free).items()}
    faults += [
        (line, f"{name} holds characters that cannot be printed; leave them out")
        for name, value in tags.items()
        if not (name + value).isprintable()
    ]
    return tags, faults


def _lists(table: object, line: int) -> tuple[dict[str, tuple[Written, ...]], list[Fault]]:
    if not isinstance(table, dict):
        told = 'readings: write [batch.readings] and lines such as bitterness = "22 IBU"'
        return {}, [(line, told)]
    found: dict[str, tuple[Written, ...]] = {}
    faults: list[Fault] = []
    for name, value in table.items():
        if name == LINE_KEY:
            continue
        texts = [value] if isinstance(value, Written) else value
        if not isinstance(texts, list) or not all(isinstance(t, Written) for t in texts):
            faults.append((line, f"{name}: write one text in quotes, or a list of them"))
            continue
        doubled = next((t for n, t in enumerate(texts) if str(t) in map(str, texts[:n])), None)
        if doubled is not None:
            told = f"{name}: “{doubled}” stands there twice; keep one"
            faults.append((line_of(doubled) or line, told))
        found[name] = tuple(texts)
    if (count := sum(map(len, found.values()))) > MOST_READINGS:
        told = f"{count} readings; {MOST_READINGS} are the most of one batch"
        faults.append((line, f'{told}; write those of one value as one, "1.009 ± 0.001"'))
    return found, faults


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
