"""HOUSE.toml as text: every batch as it was entered, with its recipe; written in one piece."""

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from brewsim.recipe.batches import Log
from brewsim.recipe.log_entries import Entry

VERSION = 1
_HEAD = """\
# What this brewery has measured: every batch as entered, with the recipe it followed.
# This file is the only source; the draws beside it are computed from it and may be deleted.
"""


def house_text(log: Log) -> str:
    """Return a log as TOML that `parse_batches` reads back to the same entries."""
    parts = [f"{_HEAD}version = {VERSION}\n"]
    for name, kind in log.instruments.items():
        parts.append(f"[instrument.{_quoted(name)}]\nkind = {_quoted(kind)}\n")
    parts += [
        f"[[calibration]]\ninstrument = {_quoted(item.instrument)}\n"
        f"read = {_quoted(item.read)}\nknown = {_quoted(item.known)}\n"
        for item in log.calibrations
    ]
    parts += [_entry(entry) for entry in log.entries]
    used = {entry.recipe for entry in log.entries}
    for key, text in log.recipes.items():
        if key in used:
            parts.append(f"[[recipe]]\nkey = {_quoted(key)}\ntext = {_long(text)}\n")
    return "\n".join(parts)


def _entry(entry: Entry) -> str:
    lines = ["[[batch]]", f"id = {_quoted(entry.id)}", f"date = {entry.date}"]
    lines.append(f"recipe = {_quoted(entry.recipe)}")
    if entry.notes:
        lines.append(f"notes = {_quoted(entry.notes)}")
    for title, table in (("changed", _single(entry)), ("readings", _several(entry))):
        if table:
            lines.append(f"[batch.{title}]")
            lines += [f"{_quoted(name)} = {value}" for name, value in table.items()]
    return "\n".join(lines) + "\n"


def _single(entry: Entry) -> Mapping[str, str]:
    return {name: _quoted(value) for name, value in entry.changed.items()}


def _several(entry: Entry) -> Mapping[str, str]:
    found = {}
    for name, texts in entry.readings.items():
        quoted = [_quoted(text) for text in texts]
        found[name] = quoted[0] if len(quoted) == 1 else f"[{', '.join(quoted)}]"
    return found


def _quoted(text: str) -> str:
    escaped = str(text).replace("\\", "\\\\").replace('"', '\\"')
    for plain, code in (("\n", "\\n"), ("\r", "\\r"), ("\t", "\\t")):
        escaped = escaped.replace(plain, code)
    return f'"{escaped}"'


def _long(text: str) -> str:
    """Return a text over several lines; as it is where TOML allows that."""
    odd = any(ord(c) < 32 and c not in "\n\t" for c in text)
    return _quoted(text) if "'''" in text or odd or text.endswith("'") else f"'''\n{text}'''"


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that a reader sees the old one or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
