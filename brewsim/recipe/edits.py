"""What one batch did otherwise: single lines of the recipe, put in before it is read."""

import re
from collections.abc import Mapping
from contextlib import suppress
from typing import Any, TypeVar

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault
from brewsim.recipe.ingredient_lines import hop_line, malt_line, sugar_line
from brewsim.recipe.keys import figures_of
from brewsim.recipe.knob_ranges import ROWS, place_of
from brewsim.recipe.read import Edit
from brewsim.recipe.schema import Hop, Malt, Recipe, Sugar, Yeast

_LINES = {"malt": malt_line, "sugar": sugar_line, "hop": hop_line}
_AMOUNTS = ("mass", "rate", "dose")
_NOTHING = re.compile(r"\s*0+(?:[.,]0+)?\s*[^0-9]*")
_LEFT_OUT = "(left out)"
_TABLES = ("yeast", "brewhouse", "water", "package", "model", "given", "priors")
_NAMES = {"yeast": "name"} | ROWS
"""Kind of ingredient -> the field that names it."""
Row = TypeVar("Row", Hop, Malt, Sugar, Yeast)
_STEERING = ("targets", "knobs", "wish", "hold", "limits")
_NOT_CHANGED = (*_STEERING, "malt", "sugar", "hop", "precursor", "__line__", "__remarks__")


def editing(changed: Mapping[str, Written]) -> Edit:
    """Return the edit of a recipe's tables that makes these changes; nothing of a row drops it."""

    def edit(tables: dict[str, Any]) -> list[Fault]:
        faults: list[Fault] = []
        for where, value in changed.items():
            with suppress(ValueError):  # told below, when the change is made
                _forget(tables, where, value)
        for where, value in changed.items():
            try:
                _change(tables, where, value)
            except ValueError as error:
                faults.append((line_of(value), str(error)))
        _leave_out(tables)
        return faults

    return edit


def _change(tables: dict[str, Any], where: str, value: Written) -> None:
    words = where.split()
    if len(words) == 1:
        _top(tables, words[0], value)
    elif words[0] in ROWS and len(words) >= 3:
        _row(tables, words[0], " ".join(words[1:-1]), words[-1], value)
    elif words[0] in _TABLES and len(words) == 2:
        table = tables.setdefault(words[0], {LINE_KEY: line_of(value)})
        table[words[1]] = value
    else:
        near = did_you_mean(words[0] if words else "", [*ROWS, *_TABLES, *Recipe.model_fields])
        raise ValueError(f"is no line of a recipe; write hop 1 mass, mash or yeast name.{near}")


def _top(tables: dict[str, Any], name: str, value: Written) -> None:
    known = [n for n in Recipe.model_fields if n not in (*_TABLES, *_NOT_CHANGED)]
    if name not in known:
        raise ValueError(f"is no line of a recipe.{did_you_mean(name, known)}")
    tables[name] = value


def _forget(tables: dict[str, Any], where: str, value: Written) -> None:
    """Drop what was stated of an ingredient that another takes the place of."""
    kind, *which, field = where.split()
    if field != _NAMES.get(kind):
        return
    table = _row_of(tables, kind, " ".join(which)) if which else tables.get(kind, {})
    if str(table.get(field)) != str(value):
        for figure in figures_of(kind):
            table.pop(figure, None)


def _row(tables: dict[str, Any], kind: str, which: str, field: str, value: Written) -> None:
    row = _row_of(tables, kind, which)
    row[field] = value
    if field in _AMOUNTS and _NOTHING.fullmatch(value):
        row[_LEFT_OUT] = True


def _row_of(tables: dict[str, Any], kind: str, which: str) -> dict[str, Any]:
    rows = tables.get(kind)
    rows = rows if isinstance(rows, list) else []
    for place, row in enumerate(rows):
        if not isinstance(row, dict) and kind in _LINES:
            rows[place] = _LINES[kind](row) | {LINE_KEY: line_of(row)}
    names = [str(r.get(ROWS[kind], "")) if isinstance(r, dict) else "" for r in rows]
    return rows[place_of(kind, which, names)]


def _leave_out(tables: dict[str, Any]) -> None:
    """Take out the rows of which a batch took nothing, once every change has found its row."""
    for kind in ROWS:
        rows = tables.get(kind)
        kept = [r for r in rows if _LEFT_OUT not in r] if isinstance(rows, list) else rows
        if kept != rows:
            tables[kind] = kept
            for name in ("knobs", "limits"):
                tables.pop(name, None)  # nobody turns a batch that was brewed


def swapped(line: Row, **named: object) -> Row:
    """Return a line with another ingredient; what was stated of the old one is not carried over.

    Example:
        >>> from brewsim.recipe.schema import Yeast
        >>> swapped(Yeast(name="one", diastatic="no"), name="other").diastatic is None
        True
    """
    fields = type(line).model_fields
    bare = {name: fields[name].default for name in figures_of(type(line).__name__.lower())}
    return line.model_copy(update=bare | named)
