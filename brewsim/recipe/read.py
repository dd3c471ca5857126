"""Read a recipe file: every fault of it at once, or a Recipe."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from brewsim.errors import InputError
from brewsim.files.text_files import read_text
from brewsim.files.toml_lines import LINE_KEY, annotate, load, locate
from brewsim.quantities.statement import line_of
from brewsim.recipe.cross_checks import MAX_ROWS, faults_between, faults_of_knobs, lots_alike
from brewsim.recipe.faults import Fault, faults_of, in_words
from brewsim.recipe.knob_lines import read_knob
from brewsim.recipe.knob_ranges import ROWS, KnobRange
from brewsim.recipe.misplaced_sugars import moved_sugars
from brewsim.recipe.schema import Recipe

Edit = Callable[[dict[str, Any]], list[Fault]]


def read_recipe(path: str | Path) -> Recipe:
    """Return the recipe in a TOML file.

    Raises InputError with all the faults of the file, in the order of its lines.

    `path` is of a recipe; its amounts are kept as they are written, with what they mean.

    >>> read_recipe("demo-recipes/quillhaven-bitter.toml").name
    'Quillhaven bitter'
    """
    return parse_recipe(read_text(path), where=str(path))


def parse_recipe(text: str, where: str = "recipe", edit: Edit | None = None) -> Recipe:
    """Return the recipe in a text; raises InputError with all its faults.

    `edit` changes the tables in place before they are read (what one batch did otherwise) and
    returns the faults it met.
    """
    raw, syntax = load(text)
    faults: list[Fault] = [(_line_in(fault), fault) for fault in syntax]
    if raw is None:
        raise InputError(where, _told(faults))
    try:
        tables: dict[str, Any] = dict(annotate(raw, locate(text)))  # type: ignore[call-overload]
    except ValueError as error:
        raise InputError(where, [*_told(faults), str(error)]) from error
    faults += edit(tables) if edit is not None else []
    faults += _too_many(tables)
    moved = moved_sugars(tables)
    knobs, knob_faults = _knobs(tables.pop("knobs", {}), tables)
    faults += knob_faults
    try:
        recipe = Recipe.model_validate(tables)
    except ValidationError as error:
        faults += faults_of(error, Recipe, tables)
        raise InputError(where, _told(faults)) from error
    faults += [*faults_between(recipe), *faults_of_knobs(knobs.values(), recipe)]
    if faults:
        raise InputError(where, _told(faults))
    return recipe.model_copy(update={"knobs": knobs, "remarks": (*moved, *_remarks(recipe))})


def _line_in(fault: str) -> int:
    match = re.match(r"line (\d+)", fault)
    return int(match[1]) if match else 0


def _told(faults: Sequence[Fault]) -> list[str]:
    """Return the faults in the order of lines; those without a line come last."""
    ordered = sorted(faults, key=lambda fault: fault[0] or 10**9)
    return list(dict.fromkeys(text for _, text in ordered))


def _too_many(tables: dict[str, Any]) -> list[Fault]:
    found = []
    for kind in ROWS:
        rows = tables.get(kind)
        if isinstance(rows, list) and len(rows) > MAX_ROWS:
            found.append((0, f"{kind}: {len(rows)} lines; {MAX_ROWS} are the most"))
            del rows[MAX_ROWS:]
    return found


def _knobs(written: object, tables: dict[str, Any]) -> tuple[dict[str, KnobRange], list[Fault]]:
    if not isinstance(written, dict):
        line = line_of(written)
        return {}, [(line, in_words(line, "knobs", "write [knobs] and lines below it"))]
    rows = {kind: _names(tables.get(kind), key) for kind, key in ROWS.items()}
    knobs: dict[str, KnobRange] = {}
    faults: list[Fault] = []
    for identity, value in written.items():
        if identity == LINE_KEY:
            continue
        first = value[0] if isinstance(value, list) and value else value
        line = line_of(first) or written[LINE_KEY]
        try:
            if isinstance(value, dict):
                raise ValueError("write one text or a list, not a table")  # noqa: TRY004, TRY301
            knobs[identity] = read_knob(identity, value, rows)
        except ValueError as error:
            faults.append((line, in_words(line, f"knob “{identity}”", str(error))))
    return knobs, faults


def _names(rows: object, key: str) -> list[str]:
    if not isinstance(rows, list):
        return []
    return [str(row.get(key, "")) if isinstance(row, dict) else str(row) for row in rows]


def _remarks(recipe: Recipe) -> tuple[str, ...]:
    colors = [(row.name, row.color) for row in recipe.malt]
    colors += [(row.name, row.color) for row in recipe.sugar]
    notes = [
        f"{name}: {color.text} of malt colour is read as SRM, not °L"
        for name, color in colors
        if color is not None and color.unit == "SRM"
    ]
    notes += [
        f"hop {number} lot “{hop.lot}” and hop {seen} lot “{other.lot}” differ only in case or in "
        "how a letter is stored; they are taken for two lots"
        for seen, other, number, hop in lots_alike(recipe)
    ]
    notes += _kettle_remarks(recipe)
    priming = recipe.package.priming
    return (*notes, priming.note) if priming and priming.note else tuple(notes)


def _kettle_remarks(recipe: Recipe) -> list[str]:
    """Return what a brewer should know of souring, and of sugar that skips the kettle."""
    notes = []
    early = [n for n, hop in enumerate(recipe.hop, 1) if hop.when.step in ("mash", "first wort")]
    if recipe.souring is not None:
        notes.append("souring: gravities count the lactic acid as the sugar it was made of")
        notes += [
            f"hop {number} is in the wort while it sours: lactic bacteria stand few bitter acids,"
            " so hops usually wait for the boil after (common practice, no source)"
            for number in early
        ]
    notes += [
        f"sugar {number} ({sugar.name}) goes into the fermenter: original gravity and strength"
        " count it; a gravity read before it goes in stands in a log as cast_wort_gravity"
        for number, sugar in enumerate(recipe.sugar, 1)
        if sugar.when == "fermenter"
    ]
    return notes
