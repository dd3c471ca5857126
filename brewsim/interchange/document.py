"""A JSON document that a stranger wrote: read whole, refused in words where it cannot be used."""

import json
import math
from pathlib import Path
from typing import Any

from brewsim.errors import InputError
from brewsim.files.text_files import read_text

_DEEPEST = 40
_LONGEST_NUMBER = 40
_LARGEST = 1e15
_MOST_FAULTS = 20


class _RefusedError(ValueError):
    """What makes a document unusable, in words."""


def read_document(path: str | Path) -> dict[str, Any]:
    """Return the object in a JSON file.

    Raises InputError for text that is no JSON, nested too deeply or too large, for a key that
    stands twice in one object, and for numbers that are not finite.
    """
    return parse_document(read_text(path), str(path))


def parse_document(text: str, where: str) -> dict[str, Any]:
    """Return the object in a JSON text; raises InputError."""
    try:
        _check_depth(text)
        found = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_constant,
            parse_float=_number,
            parse_int=_number,
        )
    except _RefusedError as error:
        raise InputError(where, [str(error)]) from None
    except json.JSONDecodeError as error:
        fault = f"line {error.lineno}: is no JSON: {error.msg.lower()}"
        raise InputError(where, [fault]) from None
    if not isinstance(found, dict):
        raise InputError(where, ["is no JSON object; a document begins with {"])
    return found


def _check_depth(text: str) -> None:
    """Refuse nesting that no recipe has, before anything follows it down."""
    depth, quoted, escaped = 0, False, False
    for letter in text:
        if quoted:
            quoted = escaped or letter != '"'
            escaped = letter == "\\" and not escaped
        elif letter == '"':
            quoted = True
        elif letter in "[{":
            depth += 1
            if depth > _DEEPEST:
                raise _RefusedError(f"is nested deeper than {_DEEPEST} levels; no recipe is")
        elif letter in "]}":
            depth -= 1


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _RefusedError(
                f"the key {json.dumps(key[:80])} stands twice in one object; keep one"
            )
        found[key] = value
    return found


def _constant(name: str) -> float:
    raise _RefusedError(f"{name} is no number of JSON")


def _number(text: str) -> float:
    number = float(text) if len(text) <= _LONGEST_NUMBER else math.inf
    if not abs(number) < _LARGEST:
        raise _RefusedError(
            f"the number {text[:_LONGEST_NUMBER]} is too large or too long to be meant"
        )
    return number
