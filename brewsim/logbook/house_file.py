"""HOUSE.toml as text: every batch as it was entered, with its recipe; written in one piece."""

from collections.abc import Mapping, Sequence

from brewsim.logbook.entries import Entry
from brewsim.logbook.log import Log, Taken
from brewsim.logbook.measured_value import Calibration
from brewsim.logbook.tasting_entries import Sitting

VERSION = 1


_HEAD = """\
# What this brewery has measured: every batch as entered, with the recipe it followed.
# This file is the only source; the draws beside it are computed from it and may be deleted.
"""


def house_text(log: Log) -> str:
    """Return a log as TOML that `parse_batches` reads back to the same entries.

    A reading without an instrument gets the one it was taken to be by: another log's instruments
    shall not change it.
    """
    parts = [f"{_HEAD}version = {VERSION}\n"]
    for name, kind in log.instruments.items():
        parts.append(f"[instrument.{_quoted(name)}]\nkind = {_quoted(kind)}\n")
    parts += [_calibration(item) for item in log.calibrations]
    parts += [_entry(entry, log.taken) for entry in log.entries]
    parts += [_sitting(sitting) for sitting in log.sittings]
    used = {entry.recipe for entry in log.entries}
    for key, text in log.recipes.items():
        if key in used:
            parts.append(f"[[recipe]]\nkey = {_quoted(key)}\ntext = {_long(text)}\n")
    return "\n".join(parts)


def _calibration(item: Calibration) -> str:
    lines = ["[[calibration]]", f"instrument = {_quoted(item.instrument)}"]
    if item.quantity:
        lines.append(f"quantity = {_quoted(item.quantity)}")
    lines += [f"read = {_quoted(item.read)}", f"known = {_quoted(item.known)}"]
    return "\n".join(lines) + "\n"


def _entry(entry: Entry, taken: Taken) -> str:
    lines = ["[[batch]]", f"id = {_quoted(entry.id)}", f"date = {entry.date}"]
    lines.append(f"recipe = {_quoted(entry.recipe)}")
    if entry.notes:
        lines.append(f"notes = {_quoted(entry.notes)}")
    if entry.split_of:
        lines.append(f"split_of = {_quoted(entry.split_of)}")
    for title, table in (("changed", _single(entry)), ("readings", _several(entry, taken))):
        if table:
            lines.append(f"[batch.{title}]")
            lines += [f"{_quoted(name)} = {value}" for name, value in table.items()]
    if entry.tasted.words:
        lines += ["[batch.tasted]", *_tasters(entry.tasted.tasters)]
        lines += [f"{name} = {_quoted(words)}" for name, words in entry.tasted.words.items()]
    return "\n".join(lines) + "\n"


def _tasters(names: Sequence[str]) -> list[str]:
    """Return who spoke, beside their words: another log may name others, in another order."""
    return [f"tasters = [{', '.join(map(_quoted, names))}]"] if names else []


def _sitting(sitting: Sitting) -> str:
    lines = ["[[tasting]]", *([f"date = {sitting.date}"] if sitting.date else [])]
    lines += [f"of = {_quoted(sitting.of)}", *_tasters(sitting.tasters)]
    for key, texts in sitting.lists.items():
        lines.append(f"{key} = [{', '.join(map(_quoted, texts))}]")
    blends = [
        "{ " + ", ".join(f"{key} = {_quoted(text)}" for key, text in blend.items()) + " }"
        for blend in sitting.blends
    ]
    if blends:
        lines.append(f"blend = [{', '.join(blends)}]")
    return "\n".join(lines) + "\n"


def _single(entry: Entry) -> Mapping[str, str]:
    return {name: _quoted(value) for name, value in entry.changed.items()}


def _several(entry: Entry, taken: Taken) -> Mapping[str, str]:
    found = {}
    for name, texts in entry.readings.items():
        by = [taken.get((entry.id, name, str(text))) for text in texts]
        told = [f"{t} by {b}" if b else t for t, b in zip(texts, by, strict=True)]
        quoted = [_quoted(text) for text in told]
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
