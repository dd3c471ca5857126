"""Faults of a recipe in words: where, what was read, what is wrong, what to write instead."""

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.statement import Reads, Written
from brewsim.recipe.knob_ranges import ROWS

Fault = tuple[int, str]
"""Line (0 if unknown) and text."""


def place(loc: tuple[str | int, ...]) -> str:
    """Return "hop 2 alpha" of a path into the recipe."""
    return " ".join(str(part + 1) if isinstance(part, int) else part for part in loc)


def in_words(line: int, where: str, what: str) -> str:
    """Return one fault as a line of text."""
    start = f"line {line}, " if line else ""
    return f"{start}{where}: {what}" if where else f"{start}{what}"


def faults_of(
    error: ValidationError, model: type[BaseModel], raw: Mapping[str, Any]
) -> list[Fault]:
    """Return the faults of a failed validation, one each, with their lines."""
    found = []
    for detail in error.errors(include_url=False):
        loc = tuple(detail["loc"])
        value = detail["input"]
        line = _line(raw, loc, value)
        kind = detail["type"]
        if kind == "extra_forbidden":
            what = _unknown(model, loc)
        elif kind == "missing":
            what = _missing(model, loc)
        else:
            what = _wrong(kind, detail, value, loc, _example(_info(model, loc)))
        found.append((line, in_words(line, place(loc), what)))
    return found


def _line(raw: object, loc: tuple[str | int, ...], value: object) -> int:
    line = 0
    for part in loc:
        if isinstance(raw, Written):
            return raw.line
        if isinstance(raw, dict):
            line = raw.get(LINE_KEY, line)
            raw = raw.get(part)
        elif isinstance(raw, list) and isinstance(part, int) and part < len(raw):
            raw = raw[part]
        else:
            break
    for last in (raw, value):
        if isinstance(last, list) and last:
            last = last[0]  # noqa: PLW2901 - a list stands where its first item does
        if isinstance(last, Written):
            return last.line
        if isinstance(last, dict):
            return int(last.get(LINE_KEY, line))
    return line


def _read(value: object) -> str:
    if isinstance(value, list):
        told = "[" + ", ".join(f'"{item}"' for item in value) + "]"
    else:
        told = str(value)
    return f"“{told if len(told) <= 90 else told[:87] + '...'}”"


def _wrong(
    kind: str, detail: Mapping[str, Any], value: object, loc: tuple[str | int, ...], example: str
) -> str:
    if kind in {"written", "value_error"}:
        if isinstance(value, dict):
            above = " above the first [table]" if len(loc) == 1 else ""
            return f'is one value, not a table; write {loc[-1]} = "{example}"{above}'
        why = str(detail.get("ctx", {}).get("why") or detail.get("ctx", {}).get("error", ""))
        told = _read(value)
        return f"{told} {why}" if why.startswith(("is ", "holds ")) else f"{told}: {why}"
    if kind in ("tuple_type", "list_type"):
        return f"{'a table' if isinstance(value, dict) else _read(value)}: write [[{loc[-1]}]]"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        head = f"[[{loc[0]}]]" if loc[0] in ROWS else f"[{loc[0]}]"
        told = "a list" if isinstance(value, list) else _read(value)
        return f"{told} is not a table; write {head} and its lines below it"
    return f"{_read(value)}: {detail['msg']}"


def _field(model: type[BaseModel], loc: tuple[str | int, ...]) -> type[BaseModel] | None:
    """Return the model of the table that a path leads into."""
    for part in loc:
        if isinstance(part, int):
            continue
        info = model.model_fields.get(part)
        inner = _inner(info.annotation) if info else None
        if inner is None:
            return None
        model = inner
    return model


def _inner(annotation: object) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        if (found := _inner(part)) is not None:
            return found
    return None


def _unknown(model: type[BaseModel], loc: tuple[str | int, ...]) -> str:
    table = _field(model, loc[:-1])
    known = [name for name, info in table.model_fields.items() if not info.alias] if table else []
    near = did_you_mean(str(loc[-1]), known)
    return f"is no key of brewsim's.{near or ' There is: ' + ', '.join(known) + '.'}"


def _missing(model: type[BaseModel], loc: tuple[str | int, ...]) -> str:
    return f'is missing; write {loc[-1]} = "{_example(_info(model, loc))}"'


def _info(model: type[BaseModel], loc: tuple[str | int, ...]) -> FieldInfo | None:
    table = _field(model, loc[:-1])
    return table.model_fields.get(str(loc[-1])) if table else None


def _example(info: FieldInfo | None) -> str:
    """Return how a field is written; one that may be left out has its reader further inside."""
    parts: list[object] = [*info.metadata, info.annotation] if info else []
    for part in parts:
        if isinstance(part, Reads):
            return part.example
        parts += [*getattr(part, "__metadata__", ()), *getattr(part, "__args__", ())]
    return "..."
