"""Brewing a log: every entry posed as it was brewed, its readings as the studies take them."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from brewsim.beer.plausibility import contradictions, of_another_size
from brewsim.errors import InputError
from brewsim.logbook.as_brewed import posed_batch
from brewsim.logbook.entries import Entry
from brewsim.logbook.log import Log, fault_texts, read_log, read_log_file
from brewsim.logbook.own_instruments import Instruments
from brewsim.logbook.readings import Taken, calibration_of, reading_of
from brewsim.logbook.tasted_log import tasting_remarks, with_answers, with_split_worts
from brewsim.priors.library import Priors, load_priors
from brewsim.quantities.catalogue import quantity_of
from brewsim.quantities.statement import line_of
from brewsim.recipe.faults import Fault, in_words
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem

Instrumented = Mapping[tuple[str, str, str], str]
"""The instrument a reading without one was taken to be by: of batch, name and text."""


@dataclass(frozen=True)
class Batches(Log):
    """A log and its `batches` as the studies take them, in the order of the entries.

    `taken` gives the instrument that a reading without one was taken to be by.
    """

    batches: tuple[Batch, ...] = ()
    taken: Instrumented = field(default_factory=dict)


def read_batches(
    path: str | Path,
    recipe: str | Path | None = None,
    priors: Priors | None = None,
    today: dt.date | None = None,
) -> Batches:
    """Return the log in a TOML or CSV file, its batches brewed by the recipe file given.

    Raises InputError with all the faults of the log, in the order of its lines.

    `path` is of the log, `recipe` of the recipe file, `priors` as `load_priors` returns them;
    batches dated after `today` are refused.

    >>> demos = "demo-recipes/quillhaven-lager"
    >>> len(read_batches(f"{demos}-six-batches.toml", f"{demos}.toml").batches)
    6
    """
    return brew(read_log_file(path, recipe, today), priors)


def parse_batches(
    text: str,
    recipe: str | None = None,
    where: str = "batches",
    priors: Priors | None = None,
    today: dt.date | None = None,
) -> Batches:
    """Return the log in a text, brewed; `recipe` is the text of the recipe that batches follow."""
    return brew(read_log(text, recipe, where, today), priors)


def brew(log: Log, priors: Priors | None = None) -> Batches:
    """Return a log with its batches.

    Raises InputError with all the faults, those of the document among them; of a merged log only
    the newer one's, as long as it has any.
    """
    shelf = priors or load_priors()
    kinds = Instruments(shelf, log.instruments)
    faults: list[tuple[str, Fault]] = [(log.where, fault) for fault in log.faults]
    faults += [(log.where, fault) for fault in kinds.unknown_kinds()]
    posed: dict[object, Problem | None] = {}
    made: list[_Brewed] = []
    for entry in log.entries:
        key = (entry.recipe, tuple(sorted((k, str(v)) for k, v in entry.changed.items())))
        if key not in posed:
            posed[key], wrong = posed_batch(entry, log.recipes[entry.recipe], shelf)
            faults += [(entry.where, fault) for fault in wrong]
        problem = posed[key]
        if problem is not None:
            brewed = _brewed(entry, problem, replace(kinds, usual_ones=entry.usual))
            faults += [(entry.where, fault) for fault in brewed.faults]
            made.append(brewed)
    if made:
        checked = _with_checks(made[0], log, kinds)
        faults += [(log.where, fault) for fault in checked.faults]
        made[0] = checked
    by_id = {entry.id: entry for entry in log.entries}
    wrong_parts: list[Fault] = []
    batches = with_split_worts([b.batch for b in made], by_id, log.recipes, wrong_parts)
    batches = with_answers(batches, by_id, log.sittings, shelf, wrong_parts)
    faults += [(log.where, fault) for fault in wrong_parts]
    _refuse(log, faults)
    told_of_tasting = tasting_remarks(log.entries, log.sittings)
    remarks = (*log.remarks, *(t for b in made for t in b.remarks), *told_of_tasting)
    return Batches(
        entries=log.entries,
        recipes=log.recipes,
        instruments=log.instruments,
        calibrations=log.calibrations,
        remarks=tuple(dict.fromkeys(remarks)),
        where=log.where,
        sittings=log.sittings,
        batches=tuple(batches),
        taken={place: name for one in made for place, name in one.taken.items()},
    )


def _refuse(log: Log, faults: list[tuple[str, Fault]]) -> None:
    """Raise InputError with the faults of the log that was read last, else of the one before."""
    for where in dict.fromkeys((log.where, *(place for place, _ in faults))):
        found = fault_texts([fault for place, fault in faults if place == where])
        if where.lower().endswith((".csv", ".tsv")) and any("has no unit" in t for t in found):
            found.append("a column's unit may stand in its heading, in brackets: OG (°P)")
        if found:
            raise InputError(where, found)


@dataclass(frozen=True)
class _Brewed:
    """One entry as a batch, what was assumed of its readings, and faults."""

    batch: Batch
    taken: Instrumented
    remarks: tuple[str, ...]
    faults: tuple[Fault, ...]


def _brewed(entry: Entry, problem: Problem, instruments: Instruments) -> _Brewed:
    found: list[Taken] = []
    taken: dict[tuple[str, str, str], str] = {}
    faults: list[Fault] = []
    before: float | None = None
    for name in sorted(entry.readings, key=lambda n: not quantity_of(n).startswith("original")):
        for written in entry.readings[name]:
            try:
                one = reading_of(name, written, problem, instruments, before)
            except ValueError as error:
                line = line_of(written) or entry.line
                faults.append((line, in_words(line, f"batch {entry.id}, {name}", str(error))))
                continue
            found.append(one)
            before = before if one.brix is None else one.brix
            if one.by:
                taken[entry.id, name, str(written)] = one.by
    readings = tuple(one.reading for one in found)
    odd = [*contradictions(readings), *of_another_size(readings, problem)]
    faults += [(entry.line, in_words(entry.line, f"batch {entry.id}", what)) for what in odd]
    notes = {"date": entry.date, **entry.tags}
    remarks = tuple(one.remark for one in found if one.remark)
    return _Brewed(Batch(entry.id, problem, readings, notes), taken, remarks, tuple(faults))


def _with_checks(first: _Brewed, log: Log, instruments: Instruments) -> _Brewed:
    """Return the first batch with the calibrations, which are of no batch; faults of these only."""
    found: list[Taken] = []
    faults: list[Fault] = []
    for item in log.calibrations:
        try:
            found.append(calibration_of(item, first.batch.problem, instruments))
        except ValueError as error:
            line = line_of(item.read)
            faults.append((line, in_words(line, f"calibration of {item.instrument}", str(error))))
    readings = (*first.batch.readings, *(one.reading for one in found))
    return replace(
        first,
        batch=replace(first.batch, readings=readings),
        remarks=(*first.remarks, *(one.remark for one in found if one.remark)),
        faults=tuple(faults),
    )
