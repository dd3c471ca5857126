"""A log of batches as columns of measured values: what specs are held against."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.files.frames import FRAMES, read_log_text
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.brew import read_batches
from brewsim.logbook.log import MAX_BYTES, left_out
from brewsim.logbook.readings import COUNT
from brewsim.logbook.tables import tables_of
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import Quantity, outcome_of, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.english import capital
from brewsim.quantities.measured_value import read_value, refuse_impossible


@dataclass(frozen=True)
class Columns:
    """Measured values by quantity, (batches,) in model units, nan where nothing was measured."""

    values: Mapping[str, FloatArray]
    batches: int
    remarks: tuple[str, ...] = ()


def read_columns(
    path: Path,
    recipe: Path | None = None,
    priors: Priors | None = None,
    units: Mapping[str, str] | None = None,
) -> Columns:
    """Return the columns of a log: CSV with a line per batch, or a batch log in TOML.

    A CSV column is headed by an outcome, with its unit in brackets ("alcohol (%)"); without one
    the numbers are in the unit brewsim shows (`units`: `Problem.units`). Columns that are no
    outcome are left out and named in `remarks`; several readings of one batch are averaged. Raises
    InputError with all faults.
    """
    if path.suffix.lower() in (".csv", ".tsv", *FRAMES):
        return _from_csv(path, units)
    log = read_batches(path, recipe, priors)
    rows: list[dict[str, list[float]]] = []
    for batch in log.batches:
        row: dict[str, list[float]] = {}
        for reading in batch.readings:
            if reading.known is not None or reading.trials or reading.row is not None:
                continue
            row.setdefault(reading.quantity, []).append(float(reading.value))
        rows.append(row)
    changed = [entry.id for entry in log.entries if entry.changed]
    told = (
        (f"Brewed otherwise than the recipe, and counted all the same: {', '.join(changed)}.",)
        if changed
        else ()
    )
    return Columns(_columns(rows), len(rows), (*log.remarks, *told))


def _from_csv(path: Path, units: Mapping[str, str] | None) -> Columns:
    text, where = read_log_text(path, MAX_BYTES)
    tables, told = tables_of(text, where)
    faults = [text for _, text in told if "no column is headed batch" not in text]
    rows: list[dict[str, list[float]]] = []
    strange: dict[str, None] = {}
    counted: dict[str, None] = {}
    for batch in tables.get("batch", []):
        row: dict[str, list[float]] = {}
        for name, texts in batch.get("readings", {}).items():
            quantity = quantity_of(str(name))
            if name == LINE_KEY:
                continue
            if model_unit_of(quantity) is None:
                strange.setdefault(str(name))
                continue
            if any(COUNT.fullmatch(str(text)) for text in texts):
                counted.setdefault(str(name))
                continue
            for outcome, value in _values(outcome_of(quantity, units), name, texts, faults):
                row.setdefault(outcome, []).append(value)
        rows.append(row)
    if faults or not rows:
        raise InputError(str(path), faults or ["there is no line of values under the headings"])
    return Columns(_columns(rows), len(rows), tuple(_left_out(strange, counted)))


def _left_out(strange: Iterable[str], counted: Iterable[str]) -> Iterator[str]:
    if strange:
        yield capital(f"{left_out(strange)}.")
    if counted:
        yield f"Counted and not measured, so left out of the log: {', '.join(counted)}."


def _values(
    row: Quantity,
    name: str,
    texts: Any,  # noqa: ANN401 - a list of Written
    faults: list[str],
) -> Iterator[tuple[str, float]]:
    for written in texts:
        text = str(written).partition(" by ")[0]
        try:
            yield _value(text, row)
        except ValueError as error:
            faults.append(f"line {written.line}, {name}: {error}")


def _value(text: str, row: Quantity) -> tuple[str, float]:
    """Return one cell, and what it is of, in model units; a bare number is in the unit shown."""
    bare = text.replace(",", ".").replace("−", "-").strip()
    try:
        number = float(bare) / row.per_model
    except ValueError:
        quantity, stated = read_value(row.quantity, text)
        return quantity, stated.value
    if not np.isfinite(number):
        raise ValueError(f"“{text}” is no number")
    try:
        refuse_impossible(row.quantity, number, text)
    except ValueError as error:
        raise ValueError(f"{error}; another unit goes into the heading, in brackets") from None
    return row.quantity, number


def _columns(rows: list[dict[str, list[float]]]) -> dict[str, FloatArray]:
    names = dict.fromkeys(name for row in rows for name in row)
    return {
        name: np.array([np.mean(row[name]) if row.get(name) else np.nan for row in rows])
        for name in names
    }
