"""The batch log: what was brewed, what was done otherwise, what was measured and tasted."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from brewsim.beer.plausibility import contradictions, of_another_size
from brewsim.errors import InputError
from brewsim.files.text_files import read_text
from brewsim.logbook.as_brewed import posed_batch
from brewsim.logbook.entries import Entry, EntryReader
from brewsim.logbook.measured_value import Calibration, Notebook
from brewsim.logbook.own_instruments import Instruments
from brewsim.logbook.sections import (
    calibrations_of,
    instruments_of,
    key_of,
    recipes_of,
    refuse_other_tables,
)
from brewsim.logbook.tables import tables_of
from brewsim.logbook.tasted_log import tasting_remarks, with_answers, with_split_worts
from brewsim.logbook.tasting_entries import Sitting, sittings_of, tasters_of
from brewsim.priors.library import Priors, load_priors
from brewsim.quantities.catalogue import quantity_of
from brewsim.quantities.statement import line_of
from brewsim.recipe.faults import Fault, in_words
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem

Taken = Mapping[tuple[str, str, str], str]
"""The instrument a reading without one was taken to be by: of batch, name and text."""


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
    taken: Taken = field(default_factory=dict)
    sittings: tuple[Sitting, ...] = ()


def read_batches(
    path: str | Path,
    recipe: str | Path | None = None,
    priors: Priors | None = None,
    today: dt.date | None = None,
) -> Log:
    """Return the log in a TOML or CSV file, its batches brewed by the recipe file given.

    Raises InputError with all the faults of the log, in the order of its lines.

    `path` is of the log, `recipe` of the recipe file, `priors` as `load_priors` returns them;
    batches dated after `today` are refused.

    >>> demos = "demo-recipes/quillhaven-lager"
    >>> len(read_batches(f"{demos}-batches.toml", f"{demos}.toml").batches)
    6
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
    priors = priors or load_priors()
    recipes = recipes_of(tables.get("recipe"), recipe, faults)
    refuse_other_tables(tables, faults)
    default = key_of(recipe) if recipe is not None else ""
    tasters = tasters_of(tables.get("tasters"), faults)
    reader = EntryReader(recipes, default, today or dt.datetime.now(tz=dt.UTC).date(), tasters)
    entries = reader.entries(tables.get("batch"), faults)
    sittings = sittings_of(tables.get("tasting"), tasters, reader.date, faults)
    named = instruments_of(tables.get("instrument"), priors, faults)
    calibrations = calibrations_of(tables.get("calibration"), faults)
    log = _made(Log(entries, recipes, named, calibrations, sittings=sittings), priors, faults)
    if faults:
        told = [text for _, text in sorted(faults, key=lambda f: f[0] or 10**9)]
        if where.lower().endswith(".csv") and any("has no unit" in text for text in told):
            told.append("a column's unit may stand in its heading, in brackets: OG (°P)")
        raise InputError(where, list(dict.fromkeys(told)))
    return log


def _made(log: Log, priors: Priors, faults: list[Fault]) -> Log:
    """Return the log with its batches and what was assumed; faults are added to the list."""
    instruments = Instruments(priors, log.instruments)
    posed: dict[object, Problem | None] = {}
    batches: list[Batch] = []
    remarks: list[str] = []
    taken: dict[tuple[str, str, str], str] = {}
    for entry in log.entries:
        key = (entry.recipe, tuple(sorted((k, str(v)) for k, v in entry.changed.items())))
        if key not in posed:
            posed[key] = posed_batch(entry, log.recipes[entry.recipe], priors, faults)
        problem = posed[key]
        if problem is None:
            continue
        book = Notebook(problem, instruments)
        readings = _readings(entry, book, faults)
        remarks += book.remarks
        taken |= {(entry.id, *place): name for place, name in book.taken.items()}
        if not batches:
            checks = Notebook(problem, instruments)
            readings += _calibrated(log, checks, faults)
            remarks += checks.remarks
        batches.append(Batch(entry.id, problem, tuple(readings), {"date": entry.date}))
    by_id = {entry.id: entry for entry in log.entries}
    batches = with_split_worts(batches, by_id, log.recipes, faults)
    batches = with_answers(batches, by_id, log.sittings, priors, faults)
    remarks += tasting_remarks(log.entries, log.sittings)
    told = tuple(dict.fromkeys(remarks))
    return replace(log, batches=tuple(batches), remarks=told, taken=taken)


def _readings(entry: Entry, book: Notebook, faults: list[Fault]) -> list[Reading]:
    found = []
    for name in sorted(entry.readings, key=lambda n: not quantity_of(n).startswith("original")):
        for written in entry.readings[name]:
            try:
                found.append(book.reading(name, written))
            except ValueError as error:
                line = line_of(written) or entry.line
                faults.append((line, in_words(line, f"batch {entry.id}, {name}", str(error))))
    told = [*contradictions(found), *of_another_size(found, book.problem)]
    faults += [(entry.line, in_words(entry.line, f"batch {entry.id}", what)) for what in told]
    return found


def _calibrated(log: Log, book: Notebook, faults: list[Fault]) -> list[Reading]:
    found = []
    for item in log.calibrations:
        try:
            found.append(book.calibration(item))
        except ValueError as error:
            line = line_of(item.read)
            faults.append((line, in_words(line, f"calibration of {item.instrument}", str(error))))
    return found
