"""HOUSE.toml as text: every batch as it was entered, added without touching what is there."""

import re
from collections.abc import Iterator, Mapping, Sequence

from brewsim.errors import InputError
from brewsim.files.toml_lines import left_open, lines_of
from brewsim.logbook.brew import Batches, Instrumented
from brewsim.logbook.entries import Entry
from brewsim.logbook.log import Log, plain, read_log
from brewsim.logbook.sections import VERSION, Calibration
from brewsim.logbook.tables import PLACES
from brewsim.logbook.tasting_entries import Sitting
from brewsim.quantities.statement import Written, line_of

_HEAD = """\
# What this brewery has measured: every batch as entered, with the recipe it followed.
# This file is the only source; the draws beside it are computed from it and may be deleted.
"""
_HEADER = re.compile(r"\s*\[")
_OF_BATCH = re.compile(r"\s*\[\s*[\"']?batch[\"']?\s*\.")
_VERSION = re.compile(r"\s*version\s*=\s*[0-9]+")
_OUTLIERS = re.compile(r"\s*outliers\s*=\s*(true|false)\b")


def house_text(log: Batches) -> str:
    """Return a log as TOML that `read_log` reads back to the same entries.

    A reading without an instrument gets the one it was taken to be by: another log's instruments
    shall not change it.
    """
    used = {entry.recipe for entry in log.entries}
    recipes = {key: text for key, text in log.recipes.items() if key in used}
    parts = [f"{_HEAD}version = {VERSION}\n", *_parts(log, log.entries, recipes)]
    return "\n".join(parts)


def house_text_with(text: str, old: Log, whole: Batches) -> str:
    """Return the text of a house with what `whole` has beside `old`, all else as it stands.

    Comments, keys and recipes that nothing uses stay. Raises InputError where the text is laid
    out so that nothing can be added to it without losing some of it.
    """
    lines = lines_of(text)
    before = {entry.id: entry for entry in old.entries}
    changed = [e for e in whole.entries if e.id in before and e is not before[e.id]]
    more = {n: kind for n, kind in whole.instruments.items() if n not in old.instruments}
    if more:
        _name_instruments(lines, old.entries, whole.taken)
    places = sorted((before[entry.id].line, entry) for entry in changed)
    for line, entry in reversed(places):
        start, end = line - 1, _end_of_batch(lines, line - 1)
        lines[start:end] = _entry(entry, whole.taken).rstrip("\n").split("\n")
    _raise_version(lines)
    kept = "\n".join(lines) + "\n" if lines else ""
    used = {entry.recipe for entry in whole.entries}
    recipes = {k: t for k, t in whole.recipes.items() if k in used and k not in old.recipes}
    added = [entry for entry in whole.entries if entry.id not in before]
    checks = [item for item in whole.calibrations if item not in old.calibrations]
    known = [plain(sitting) for sitting in old.sittings]
    sat = [sitting for sitting in whole.sittings if plain(sitting) not in known]
    parts = _pieces(more, checks, added, sat, recipes, whole.taken)
    found = "\n".join([kept, *parts])
    _refuse_loss(found, whole, old.where)
    return found


def _refuse_loss(text: str, whole: Batches, where: str) -> None:
    """Raise InputError where the text of a house does not say what a log does."""
    again = read_log(text, None, where)
    if again.faults or _said(again, {}) != _said(whole, whole.taken):
        told = (
            "is laid out so that brewsim cannot add to it without losing some of it; write every "
            "batch as [[batch]] with its lines below it, and nothing of it in one line"
        )
        raise InputError(where, [told])


def _said(log: Log, taken: Instrumented) -> object:
    """Return everything that a log says, as plain values to be held against another's."""
    entries = [
        (
            entry.id,
            entry.date,
            log.recipes[entry.recipe],
            {name: str(text) for name, text in entry.changed.items()},
            {name: _named(entry, name, texts, taken) for name, texts in entry.readings.items()},
            entry.notes,
            entry.tags,
            entry.tasted if entry.tasted.words else None,
            str(entry.split_of),
        )
        for entry in log.entries
    ]
    checks = [(c.instrument, str(c.read), str(c.known), c.quantity) for c in log.calibrations]
    kinds = {name: str(kind) for name, kind in log.instruments.items()}
    return entries, kinds, checks, [plain(sitting) for sitting in log.sittings]


def _named(
    entry: Entry, name: str, texts: Sequence[Written], taken: Instrumented
) -> tuple[str, ...]:
    """Return a reading's texts with the instrument that they were taken to be by."""
    by = [taken.get((entry.id, name, str(text))) for text in texts]
    return tuple(f"{t} by {b}" if b else str(t) for t, b in zip(texts, by, strict=True))


def _name_instruments(lines: list[str], entries: Sequence[Entry], taken: Instrumented) -> None:
    """Write down the instrument of each reading that has none, where it stands.

    Instruments are about to be added, and a reading shall not be taken for one of theirs.
    """
    for entry in entries:
        for name, texts in entry.readings.items():
            for text in texts:
                by = taken.get((entry.id, name, str(text)))
                at = line_of(text) - 1
                if by is None or not 0 <= at < len(lines):
                    continue
                for mark in ('"', "'"):
                    whole = f"{mark}{text}{mark}"
                    lines[at] = lines[at].replace(whole, f"{mark}{text} by {by}{mark}", 1)


def _raise_version(lines: list[str]) -> None:
    """Write the version that is written now in the place of the file's, before its first table."""
    place = next((place for place, _ in _above_tables(lines, _VERSION)), None)
    if place is not None:
        lines[place] = _VERSION.sub(f"version = {VERSION}", lines[place])


def allows_outliers(text: str) -> bool:
    """Whether a house says that single wrong readings are allowed for when it is learned from."""
    return any(found[1] == "true" for _, found in _above_tables(text.split("\n"), _OUTLIERS))


def allowing_outliers(text: str, *, allowed: bool) -> str:
    """Return the text of a house that says whether single wrong readings are allowed for."""
    if allows_outliers(text) == allowed:
        return text
    lines = text.split("\n")
    for place, _ in reversed(list(_above_tables(lines, _OUTLIERS))):
        del lines[place]
    if allowed:
        after = next((place + 1 for place, _ in _above_tables(lines, _VERSION)), 0)
        lines.insert(after, "outliers = true")
    return "\n".join(lines)


def _above_tables(
    lines: Sequence[str], pattern: re.Pattern[str]
) -> Iterator[tuple[int, re.Match[str]]]:
    """Yield the lines before the first table that begin with a pattern."""
    for place, line in enumerate(lines):
        if _HEADER.match(line):
            return
        if found := pattern.match(line):
            yield place, found


def _end_of_batch(lines: list[str], start: int) -> int:
    """Return the line after the last one of the batch that begins on a line."""
    end, mark = start + 1, ""
    for place in range(start + 1, len(lines)):
        line = lines[place]
        if not mark and _HEADER.match(line) and not _OF_BATCH.match(line):
            break
        comment = not mark and line.lstrip().startswith("#")
        mark = left_open(line, mark)
        if line.strip() and not comment:
            end = place + 1
    return end


def _parts(log: Batches, entries: Sequence[Entry], recipes: Mapping[str, str]) -> list[str]:
    checks, sittings = log.calibrations, log.sittings
    return _pieces(log.instruments, checks, entries, sittings, recipes, log.taken)


def _pieces(
    instruments: Mapping[str, str],
    calibrations: Sequence[Calibration],
    entries: Sequence[Entry],
    sittings: Sequence[Sitting],
    recipes: Mapping[str, str],
    taken: Instrumented,
) -> list[str]:
    parts = [f"[instrument.{_quoted(n)}]\nkind = {_quoted(k)}\n" for n, k in instruments.items()]
    parts += [_calibration(item) for item in calibrations]
    parts += [_entry(entry, taken) for entry in entries]
    parts += [_sitting(sitting) for sitting in sittings]
    for key, text in recipes.items():
        parts.append(f"[[recipe]]\nkey = {_quoted(key)}\ntext = {_long(text)}\n")
    return parts


def _calibration(item: Calibration) -> str:
    lines = ["[[calibration]]", f"instrument = {_quoted(item.instrument)}"]
    if item.quantity:
        lines.append(f"quantity = {_quoted(item.quantity)}")
    lines += [f"read = {_quoted(item.read)}", f"known = {_quoted(item.known)}"]
    return "\n".join(lines) + "\n"


def _entry(entry: Entry, taken: Instrumented) -> str:
    lines = ["[[batch]]", f"id = {_quoted(entry.id)}", f"date = {entry.date}"]
    lines.append(f"recipe = {_quoted(entry.recipe)}")
    lines += [f"{name} = {_quoted(entry.tags[name])}" for name in PLACES if name in entry.tags]
    if entry.notes:
        lines.append(f"notes = {_quoted(entry.notes)}")
    if entry.split_of:
        lines.append(f"split_of = {_quoted(entry.split_of)}")
    free = {name: _quoted(text) for name, text in entry.tags.items() if name not in PLACES}
    changed = {name: _quoted(value) for name, value in entry.changed.items()}
    readings = {}
    for name, texts in entry.readings.items():
        quoted = [_quoted(text) for text in _named(entry, name, texts, taken)]
        readings[name] = quoted[0] if len(quoted) == 1 else f"[{', '.join(quoted)}]"
    for title, table in (("tags", free), ("changed", changed), ("readings", readings)):
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


def _quoted(text: str) -> str:
    escaped = str(text).replace("\\", "\\\\").replace('"', '\\"')
    plain = {"\n": "\\n", "\r": "\\r", "\t": "\\t"}
    return '"' + "".join(plain.get(c, f"\\u{ord(c):04x}" if _odd(c) else c) for c in escaped) + '"'


def _odd(character: str) -> bool:
    """Whether TOML refuses a character as it is, or an editor may take it for a line's end."""
    return ord(character) < 32 or character in "\x7f\u0085\u2028\u2029"


def _long(text: str) -> str:
    """Return a text over several lines; as it is where TOML allows that."""
    odd = any(_odd(c) and c not in "\n\t" for c in text)
    return _quoted(text) if "'''" in text or odd or text.endswith("'") else f"'''\n{text}'''"
