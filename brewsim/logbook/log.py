"""A batch log as a document: what was entered, read from text and merged, nothing computed."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from brewsim.errors import InputError
from brewsim.files.frames import read_log_text
from brewsim.files.text_files import read_text
from brewsim.logbook.entries import Entry, Source, alike, entries_of, in_order, read_date
from brewsim.logbook.readings import is_strange
from brewsim.logbook.sections import (
    Calibration,
    calibrations_of,
    instruments_of,
    key_of,
    other_tables,
    recipes_of,
)
from brewsim.logbook.tables import tables_of
from brewsim.logbook.tasting_entries import DateReader, Say, Sitting, sittings_of, tasters_of
from brewsim.quantities.statement import Written
from brewsim.recipe.faults import Fault, in_words

MAX_BYTES = 50_000_000
"""Of a log or a house file: many years of batches with their recipes."""


@dataclass(frozen=True)
class Log:
    """A batch log: entries by date, the recipes they name (key to text), instruments, remarks.

    `faults` are those of the document that entries can be told without; `brew` refuses a log that
    has any, together with what shows only then.
    """

    entries: tuple[Entry, ...]
    recipes: Mapping[str, str]
    instruments: Mapping[str, Written] = field(default_factory=dict)
    calibrations: tuple[Calibration, ...] = ()
    remarks: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    where: str = "batches"
    sittings: tuple[Sitting, ...] = ()


def read_log(
    text: str, recipe: str | None = None, where: str = "batches", today: dt.date | None = None
) -> Log:
    """Return the log in a text; `recipe` is the text of the recipe that batches follow.

    `where` names the file: one that ends in .csv or .tsv is a table. `today` is the last day that
    a batch may be of. Raises InputError for a table without a batch; every other fault is in the
    log's `faults`.
    """
    tables, faults = tables_of(text, where)
    recipes, misread = recipes_of(tables.get("recipe"), recipe)
    named, unnamed = instruments_of(tables.get("instrument"))
    checks, unchecked = calibrations_of(tables.get("calibration"))
    day = today or dt.datetime.now().astimezone().date()
    default = key_of(recipe) if recipe is not None else ""
    heard: list[Fault] = []
    tasters = tasters_of(
        tables.get("tasters"), lambda line, told: heard.append((line, in_words(line, "", told)))
    )
    source = Source(where, recipes, default, tuple(named), day, tasters)
    entries, wrong = entries_of(tables.get("batch"), source)
    sittings = sittings_of(tables.get("tasting"), tasters, _date_reader(day), heard)
    faults = [*faults, *other_tables(tables), *misread, *unnamed, *unchecked, *wrong, *heard]
    remarks = list(alike(entries))
    if where.lower().endswith((".csv", ".tsv")):
        entries, left = _known_columns(entries)
        remarks += left
    return Log(entries, recipes, named, checks, tuple(remarks), tuple(faults), where, sittings)


def _known_columns(entries: tuple[Entry, ...]) -> tuple[tuple[Entry, ...], list[str]]:
    """Return the entries without columns that are no quantity, and one remark that names them.

    A column that is a slip of one's name stays: it is refused where it is read.
    """
    names = dict.fromkeys(name for entry in entries for name in entry.readings)
    strange = [name for name in names if is_strange(name)]
    if not strange:
        return entries, []
    kept = tuple(
        replace(entry, readings={n: t for n, t in entry.readings.items() if n not in strange})
        for entry in entries
    )
    return kept, [left_out(strange)]


def left_out(names: Iterable[str]) -> str:
    """Return the remark on columns that are no quantity."""
    return f"columns that are no quantity, left out of the log: {', '.join(names)}"


def _date_reader(today: dt.date) -> DateReader:
    def read(written: object, line: int, say: Say) -> str:
        date, wrong = read_date(written, line, today)
        for at, what in wrong:
            say(at, what)
        return date

    return read


def read_log_file(
    path: str | Path, recipe: str | Path | None = None, today: dt.date | None = None
) -> Log:
    """Return the log in a TOML or CSV file; `recipe` is the file its batches follow."""
    text = None if recipe is None else read_text(recipe)
    log, where = read_log_text(path, MAX_BYTES)
    return read_log(log, text, where, today)


def refuse_faults(log: Log) -> None:
    """Raise InputError with the faults of a log, in the order of its lines."""
    if log.faults:
        raise InputError(log.where, fault_texts(log.faults))


def fault_texts(faults: tuple[Fault, ...] | list[Fault]) -> list[str]:
    """Return faults in the order of their lines, each once."""
    return list(dict.fromkeys(text for _, text in sorted(faults, key=lambda f: f[0] or 10**9)))


def merge(old: Log, new: Log) -> Log:
    """Return the log of a house with another log's batches, instruments and calibrations.

    A batch that the house has already stays; one that is entered otherwise now, on the same day,
    takes the place of the old one and a remark says so. Raises InputError for what the two say
    differently and neither can be taken.
    """
    known = {entry.id: entry for entry in old.entries}
    clashes = [*_clashes(old, new), *_other_days(known, new)]
    if clashes:
        raise InputError(old.where, clashes)
    recipes, keys = _recipes(old, new)
    moved = [replace(entry, recipe=keys[entry.recipe]) for entry in new.entries]
    remarks = []
    for entry in moved:
        before = known.get(entry.id)
        if before is None:
            known[entry.id] = entry
        elif not same_batch(before, entry):
            key = before.recipe if entry.implied else entry.recipe
            known[entry.id] = replace(entry, recipe=key)
            remarks.append(
                f"batch {entry.id} is entered otherwise than before and takes its place; the "
                "journal beside the house keeps what was there"
            )
    names = {name.lower() for name in old.instruments}
    more = {n: kind for n, kind in new.instruments.items() if n.lower() not in names}
    seen = set(map(_said, old.calibrations))
    sat = [plain(sitting) for sitting in old.sittings]
    checks = [item for item in new.calibrations if _said(item) not in seen]
    return replace(
        new,
        entries=in_order(known.values()),
        recipes=recipes,
        instruments={**old.instruments, **more},
        calibrations=(*old.calibrations, *checks),
        remarks=(*old.remarks, *new.remarks, *remarks),
        sittings=(*old.sittings, *(s for s in new.sittings if plain(s) not in sat)),
    )


def plain(sitting: Sitting) -> object:
    """Return what a sitting says, wherever it stands."""
    return replace(sitting, line=0)


def same_batch(old: Entry, new: Entry) -> bool:
    """Whether two entries say the same; the older one may name the instrument of a reading."""
    if _beside_readings(old) != _beside_readings(new):
        return False
    if not new.implied and old.recipe != new.recipe:
        return False
    if _plain(old.changed) != _plain(new.changed) or old.readings.keys() != new.readings.keys():
        return False
    return all(
        len(texts) == len(new.readings[name])
        and all(
            str(one) == str(other) or str(one).startswith(f"{other} by ")
            for one, other in zip(texts, new.readings[name], strict=True)
        )
        for name, texts in old.readings.items()
    )


def _beside_readings(entry: Entry) -> object:
    return entry.date, entry.notes, entry.tags, entry.tasted, str(entry.split_of)


def _plain(texts: Mapping[str, Written]) -> dict[str, str]:
    return {name: str(text) for name, text in texts.items()}


def _recipes(old: Log, new: Log) -> tuple[dict[str, str], dict[str, str]]:
    """Return the recipes of both, each text once, and the key of each of the newer log's."""
    kept = dict(old.recipes)
    by_text = {text: key for key, text in reversed(list(kept.items()))}
    keys = {}
    for key, text in new.recipes.items():
        keys[key] = by_text.setdefault(text, key)
        kept.setdefault(keys[key], text)
    return kept, keys


def _other_days(known: Mapping[str, Entry], new: Log) -> Iterator[str]:
    for entry in new.entries:
        before = known.get(entry.id)
        if before is not None and before.date != entry.date:
            yield (
                f"batch {entry.id} of {before.date} is in the house, and this one is of "
                f"{entry.date}; give another batch a name of its own, or mend the date in the "
                "house file"
            )


def _clashes(old: Log, new: Log) -> Iterator[str]:
    kinds = _in_lower_case(old.instruments)
    for name, kind in _in_lower_case(new.instruments).items():
        if kinds.get(name, kind) != kind:
            yield f"instrument {name} is of another kind in the house"
    for key, text in new.recipes.items():
        if old.recipes.get(key, text) != text:
            yield (
                f"recipe “{key}” is another text in the house, which batches there were brewed "
                "by; give the changed recipe a key of its own"
            )


def _in_lower_case(named: Mapping[str, str]) -> dict[str, str]:
    return {name.lower(): kind.lower() for name, kind in named.items()}


def _said(item: Calibration) -> tuple[str, ...]:
    return item.instrument.lower(), str(item.read), str(item.known), item.quantity
