"""A batch log as tables: TOML, or CSV with one line per batch; every value knows its line."""

import csv
import io
import re
from typing import Any

from brewsim.errors import InputError
from brewsim.files.toml_lines import LINE_KEY, OWN_KEYS, annotate, lines_of, load, locate
from brewsim.quantities.statement import Written
from brewsim.recipe.faults import Fault

MOST_BATCHES = 10_000
_NUMBER = r"[-+−]?\s*[0-9][0-9.,\s]*"
_BARE = re.compile(rf"{_NUMBER}(?:(?:±|\+\s?/\s?-|\+-|\bsd\b)\s*{_NUMBER})?", re.IGNORECASE)
"""A number, or a number and its spread, without a unit."""
_UNIT = re.compile(r"^(.*?)\s*[\[(]([^\])]*)[\])]\s*$")
_CHANGED = re.compile(r"^changed?:?(?:\s+(.+))?$", re.IGNORECASE)
_TASTED = re.compile(r"tasted[: ]\s*(\w+)|(?:tasted[: ]\s*)?in[ _]front", re.IGNORECASE)
"""A column of words: one a taster, with commas between them, so the cell is in quotes."""
_WHAT = "(what? head the column changed hop 1 lot)"
"""Stands for the line that was changed where the heading does not say which."""
_DATE = re.compile(r"line \d+: “date\s*=\s*[^”]*” has no quotes")
"""Quotes would be no help to a date: it is refused, or taken, where it is read as one."""
NO_DAY = "no column"
"""Stands for the date of a batch where no column gives dates; some studies need none."""
_NUMBERS = ("", " no", " nr", " number", " id", " name")
PLACES = ("tank", "brewer", "vessel", "water")
"""Where and by whom a batch was brewed: its tags that have keys of their own."""
_TAG = re.compile(r"^tag:?\s+(.+)$", re.IGNORECASE)
_PLAIN = ("id", "date", "notes", "recipe", "split_of", *PLACES)
_NAMES = dict.fromkeys(("name", "number"), "id")
_NAMES |= {f"{what}{number}": "id" for what in ("batch", "brew") for number in _NUMBERS}
_NAMES |= dict.fromkeys(("brewed", "brewed on", "date brewed", "brew date"), "date")
_NAMES |= dict.fromkeys(("remark", "remarks", "note", "comment", "comments"), "notes")


def tables_of(text: str, where: str) -> tuple[dict[str, Any], list[Fault]]:
    """Return the tables of a log and the faults met on the way; CSV is told by the file's name.

    Raises InputError for a CSV in which there is no batch at all.
    """
    return _csv(text, where) if where.lower().endswith((".csv", ".tsv")) else _toml(text)


def _toml(text: str) -> tuple[dict[str, Any], list[Fault]]:
    raw, syntax = load(text, 5 * MOST_BATCHES)
    syntax = [fault for fault in syntax if not _DATE.match(fault)]
    faults = [(int(m[1]) if (m := re.match(r"line (\d+)", f)) else 0, f) for f in syntax]
    if raw is None:
        return {}, faults
    try:
        return dict(annotate(raw, locate(text))), faults  # type: ignore[call-overload]
    except ValueError as error:
        return {}, [*faults, (0, str(error))]


def _csv(text: str, where: str) -> tuple[dict[str, Any], list[Fault]]:
    lines = lines_of(text)
    first = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    mark = max(("\t", ";", ","), key=first.count)
    kept = [line if not line.startswith("#") else "" for line in lines]
    reader = csv.reader(io.StringIO("\n".join(kept)), delimiter=mark)
    try:
        rows = list(reader)
    except csv.Error as error:
        raise InputError(
            where, [f"line {reader.line_num}: is no line of cells ({error})"]
        ) from None
    numbered = [(n, row) for n, row in enumerate(rows, start=1) if any(c.strip() for c in row)]
    if len(numbered) < 2:
        told = "there is no line of values under the headings" if numbered else "the log is empty"
        columns = "head its columns batch, date, original gravity (°P) and what else was read"
        raise InputError(where, [f"{told}; {columns}, and give each batch a line"])
    head_line, head = numbered[0]
    faults: list[Fault] = [
        (head_line, f"line {head_line}: no column can be headed {cell.strip()}")
        for cell in head
        if cell.strip() in OWN_KEYS
    ]
    if faults:
        raise InputError(where, [text for _, text in faults])
    batches = []
    for line, row in numbered[1:]:
        if len(row) > len(head):
            faults.append((line, f"line {line}: has {len(row)} cells under {len(head)} headings"))
            continue
        batches.append(_csv_batch(head, row, line, faults))
    if not batches:
        raise InputError(where, [text for _, text in faults])
    if "id" not in [_heading(cell) for cell in head]:
        told = "no column is headed batch; head the one with the names of the batches so"
        faults.append((head_line, f"line {head_line}: {told}"))
    return {"batch": batches, LINE_KEY: head_line}, faults


def _heading(cell: str) -> str:
    word = " ".join(cell.lower().replace(".", " ").split())
    return _NAMES.get(word, word)


def _csv_batch(head: list[str], row: list[str], line: int, faults: list[Fault]) -> dict[str, Any]:
    plain = [_heading(cell) for cell in head]
    day = "" if "date" in plain else NO_DAY
    batch: dict[str, Any] = {LINE_KEY: line, "date": Written(day, line)}
    readings: dict[str, Any] = {LINE_KEY: line}
    changed: dict[str, Any] = {LINE_KEY: line}
    tasted: dict[str, Any] = {}
    tags: dict[str, Any] = {LINE_KEY: line}
    for name, cell in zip(head, row, strict=False):
        text = cell.strip()
        if not text:
            continue
        heading = _heading(name)
        if heading in _PLAIN:
            batch[heading] = Written(text, line, text)
            continue
        if (match := _CHANGED.match(name.strip())) is not None:
            changed[(match[1] or _WHAT).strip()] = Written(text, line, text)
            continue
        if (match := _TASTED.fullmatch(heading)) is not None:
            tasted[match[1] or "in_front"] = Written(text, line, text)
            continue
        if (match := _TAG.match(name.strip())) is not None:
            tags[match[1].strip()] = Written(text, line, text)
            continue
        _add_reading(readings, name.strip(), text, line, faults)
    if "id" not in batch:
        batch["id"] = f"in line {line}"  # by which its other faults are told
        if "id" in plain:
            faults.append((line, f"line {line}: the cell under batch is empty; name the batch"))
    said = {"tasted": tasted | {LINE_KEY: line}} if tasted else {}
    return batch | {"readings": readings, "changed": changed, "tags": tags} | said


def _add_reading(
    readings: dict[str, Any], name: str, text: str, line: int, faults: list[Fault]
) -> None:
    quantity, unit, instrument = _headed(name)
    number, _, by = text.partition(" by ")
    value = f"{number} {unit}".strip() if _BARE.fullmatch(number.strip()) else number
    value += f" by {by or instrument}" if by or instrument else ""
    written = Written(value, line, value)
    before = readings.setdefault(quantity, [])
    if any(str(other) == value for other in before):
        faults.append((line, f"line {line}, {quantity}: “{value}” stands there twice"))
    else:
        before.append(written)


def _headed(name: str) -> tuple[str, str, str]:
    """Return the quantity, unit and instrument of a heading; the unit stands after either."""
    quantity, _, instrument = name.partition(" by ")
    unit = ""
    parts = []
    for part in (quantity, instrument):
        match = _UNIT.match(part)
        parts.append((match[1] if match else part).strip())
        unit = match[2] if match else unit
    return parts[0], unit, parts[1]
