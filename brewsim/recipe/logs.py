"""A log of batches as columns of measured values: what specs are held against."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.recipe.batches import read_batches
from brewsim.recipe.kinds import model_unit_of
from brewsim.recipe.lines import LINE_KEY
from brewsim.recipe.log_tables import tables_of
from brewsim.recipe.outcomes import Outcome, outcome_of, quantity_of
from brewsim.recipe.phrases import read_phrase
from brewsim.recipe.priors import Priors
from brewsim.recipe.read import read_text


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
    if path.suffix.lower() in (".csv", ".tsv"):
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
    tables, told = tables_of(read_text(path), str(path))
    faults = [text for _, text in told if "no column is headed batch" not in text]
    rows: list[dict[str, list[float]]] = []
    strange: dict[str, None] = {}
    for batch in tables.get("batch", []):
        row: dict[str, list[float]] = {}
        for name, texts in batch.get("readings", {}).items():
            quantity = quantity_of(str(name))
            if name == LINE_KEY:
                continue
            if model_unit_of(quantity) is None:
                strange.setdefault(str(name))
                continue
            shown = outcome_of(quantity, units)
            row.setdefault(quantity, []).extend(_values(shown, name, texts, faults))
        rows.append(row)
    if faults or not rows:
        raise InputError(str(path), faults or ["there is no line of values under the headings"])
    left = ", ".join(strange)
    remarks = (f"Not outcomes, so left out of the log: {left}.",) if strange else ()
    return Columns(_columns(rows), len(rows), remarks)


def _values(row: Outcome, name: str, texts: Any, faults: list[str]) -> list[float]:  # noqa: ANN401
    found = []
    for written in texts:
        text = str(written).partition(" by ")[0]
        try:
            found.append(_value(text, row))
        except ValueError as error:
            faults.append(f"line {written.line}, {name}: {error}")
    return found


def _value(text: str, row: Outcome) -> float:
    """Return one cell in model units; a bare number is in the unit that is shown."""
    unit = model_unit_of(row.quantity) or ""
    bare = text.replace(",", ".").replace("−", "-").strip()
    try:
        number = float(bare)
    except ValueError:
        return read_phrase(text, unit).phrase.middle
    if not np.isfinite(number):
        raise ValueError(f"“{text}” is no number")
    return number / row.per_model


def _columns(rows: list[dict[str, list[float]]]) -> dict[str, FloatArray]:
    names = dict.fromkeys(name for row in rows for name in row)
    return {
        name: np.array([np.mean(row[name]) if row.get(name) else np.nan for row in rows])
        for name in names
    }
