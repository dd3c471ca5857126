"""The tables of a log beside its batches: recipes, instruments of its own, calibrations."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.measured_value import Calibration
from brewsim.logbook.own_instruments import Instruments
from brewsim.priors.library import Priors
from brewsim.quantities.statement import line_of
from brewsim.recipe.faults import Fault, in_words

_BESIDES = ("tasters", "tasting", "version", "name", "notes")
_TABLES = ("batch", "instrument", "calibration", "recipe", *_BESIDES)
_RECIPE_KEYS, _INSTRUMENT_KEYS = ("key", "text"), ("kind",)
_CALIBRATION_KEYS = ("instrument", "read", "known", "quantity")


def key_of(text: str) -> str:
    """Return the short name a recipe's text goes by in a log."""
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def refuse_other_tables(tables: Mapping[str, Any], faults: list[Fault]) -> None:
    """Add a fault for each table that is no part of a log."""
    faults += [
        (line_of(v), in_words(line_of(v), k, f"is no part of a log.{did_you_mean(k, _TABLES)}"))
        for k, v in tables.items()
        if k not in _TABLES and k != LINE_KEY
    ]


def recipes_of(rows: object, recipe: str | None, faults: list[Fault]) -> dict[str, str]:
    """Return the recipes by key: the one given with the log, and those in it."""
    found: dict[str, str] = {}
    for row in rows if isinstance(rows, list) else []:
        if not isinstance(row, dict) or "text" not in row:
            faults.append((0, "recipe: write [[recipe]] with a key and a text"))
            continue
        _refuse_other_keys(row, "recipe", _RECIPE_KEYS, faults)
        text = str(row["text"])
        key = str(row.get("key", key_of(text)))
        if key in found:
            line = int(row.get(LINE_KEY, 0))
            what = f"key “{key}” is there twice; give each recipe a key of its own"
            faults.append((line, in_words(line, "recipe", what)))
        found.setdefault(key, text)
    return found if recipe is None else {key_of(recipe): recipe} | found


def instruments_of(table: object, priors: Priors, faults: list[Fault]) -> dict[str, str]:
    """Return the kind of each instrument that the log names."""
    found: dict[str, str] = {}
    kinds = Instruments(priors)
    if table is not None and not isinstance(table, dict):
        faults.append(
            (line_of(table), 'instrument: write [instrument."my hydrometer"] and its kind')
        )
    for name, content in table.items() if isinstance(table, dict) else ():
        if name == LINE_KEY:
            continue
        where = f"instrument {name}"
        if not isinstance(content, dict) or "kind" not in content:
            faults.append((0, f'{where}: write kind = "consumer hydrometer"'))
            continue
        _refuse_other_keys(content, where, _INSTRUMENT_KEYS, faults)
        kind, line = str(content["kind"]), line_of(content["kind"])
        twin = next((other for other in found if other.lower() == name.lower()), name)
        if found.setdefault(twin, kind).lower() != kind.lower():
            what = f"is the same as {twin}, whatever the case, and of another kind; keep one"
            faults.append((line, in_words(line, where, what)))
        try:
            kinds.refuse_unknown_kind(kind)
        except ValueError as error:
            faults.append((line, in_words(line, where, str(error))))
    return found


def calibrations_of(rows: object, faults: list[Fault]) -> tuple[Calibration, ...]:
    """Return the calibrations as entered."""
    if rows is not None and not isinstance(rows, list):
        faults.append((line_of(rows), "calibration: write [[calibration]] and its lines below it"))
    return tuple(_calibrations(rows if isinstance(rows, list) else [], faults))


def _calibrations(rows: Sequence[object], faults: list[Fault]) -> Iterator[Calibration]:
    for row in rows:
        if not isinstance(row, dict):
            told = "calibration: write [[calibration]] and its lines below it"
            faults.append((line_of(row), told))
            continue
        _refuse_other_keys(row, "calibration", _CALIBRATION_KEYS, faults)
        missing = [key for key in ("instrument", "read", "known") if key not in row]
        if missing:
            line = int(row.get(LINE_KEY, 0))
            faults.append((line, in_words(line, "calibration", f"{', '.join(missing)} missing")))
            continue
        quantity = str(row.get("quantity", ""))
        yield Calibration(str(row["instrument"]), row["read"], row["known"], quantity)


def _refuse_other_keys(
    row: Mapping[str, Any], where: str, known: Sequence[str], faults: list[Fault]
) -> None:
    for key, value in row.items():
        if key in known or key == LINE_KEY:
            continue
        line = line_of(value) or int(row.get(LINE_KEY, 0))
        near = did_you_mean(key, known) or f" There is: {', '.join(known)}."
        faults.append((line, in_words(line, where, f"{key} is no key of it.{near}")))
