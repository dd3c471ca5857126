"""TOML as a person wrote it: where every value stands, and syntax faults in plain words."""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from brewsim.quantities.statement import Written

Path = tuple[str | int, ...]
LINE_KEY = "__line__"
MAX_DEPTH = 6
MAX_KEYS = 1000
MAX_TABLES = 10_000
_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)
_UNQUOTED = re.compile(r"""(\s*(?:[\w.-]+|"[^"]*")\s*=\s*)([^"'\[{=\s#][^#"]*?)\s*(#.*)?$""")
_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DOTTED = re.compile(
    r"^[ \t]*+\[{0,2}+(?:[^\"'\n=]*+=[ \t]*+\{)?+[ \t]*+"
    rf"{_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{12}}",
    re.MULTILINE,
)
"""A key or header of more parts than any; reading it costs the square of its length."""
_WHERE = re.compile(r"\s*\(at line (\d+), column \d+\)|\s*\(at end of document\)")
_MAX_REPAIRS = 25
_AGAIN = "(again) "
"""What a header written twice is read as, so that its lines go nowhere else."""
OWN_KEYS = (LINE_KEY, "__remarks__")
"""Keys that brewsim itself puts into the tables it has read; nobody else may."""


def load(text: str, most_tables: int = MAX_TABLES) -> tuple[dict[str, object] | None, list[str]]:
    """Return (the tables, syntax faults); None where the text cannot be read past a fault.

    Values without quotes and keys written twice are reported and read on past.
    """
    lines = lines_of(text)
    faults: list[str] = []
    again = _AGAIN
    while again in text:
        again = f"({again}"
    if (deep := _DOTTED.search(text)) is not None:
        line = text[: deep.end()].count("\n") + 1
        return None, [f"line {line}: tables are nested more than {MAX_DEPTH} deep; write them flat"]
    if (tables := text.count("\n[")) > most_tables:
        return None, [f"{tables} tables; {most_tables} are the most"]
    for _ in range(_MAX_REPAIRS):
        try:
            found = tomllib.loads("\n".join(lines))
        except RecursionError:
            return None, [*faults, f"tables are nested more than {MAX_DEPTH} deep; write them flat"]
        except ValueError as error:
            message = str(error)
        else:
            kept, wide = _narrowed({k: v for k, v in found.items() if not k.startswith(again)})
            return kept, [*faults, *wide, *_own_keys(kept, lines)]
        where = re.search(r"at line (\d+)", message)
        number = int(where[1]) if where else _longest_number(lines)
        what, repaired = _explain(message, number, lines[number - 1] if lines else "", again)
        faults.append(f"line {number}: {what}")
        if repaired is None:
            return None, faults
        lines[number - 1] = repaired
    return None, faults


def lines_of(text: str) -> list[str]:
    """Return the lines of a text as TOML and every editor count them.

    Only a line feed, a carriage return or both end one: the other characters that Unicode calls
    line ends may stand in a comment or a text.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return lines[:-1] if lines[-1] == "" else lines


_TOKEN = re.compile(
    r"""\"\"\"|'''|"(?:[^"\\]|\\.)*"|'[^']*'|\#.*|[^"'#]+|.""",
    re.DOTALL,
)
_ENDS = {
    '"""': re.compile(r'(?:[^"\\]|\\.|"(?!""))*"""("{0,2})', re.DOTALL),
    "'''": re.compile(r"(?:[^']|'(?!''))*'''('{0,2})"),
}


def left_open(line: str, mark: str) -> str:
    """Return the mark of the text over several lines that a line leaves open, or an empty one.

    `mark` is what the line before left open.
    """
    if not mark and not any(end in line for end in _ENDS):
        return ""
    at = 0
    while at < len(line) or mark:
        if mark:
            end = _ENDS[mark].match(line, at)
            if end is None:
                return mark
            at, mark = end.end(), ""
        elif (token := _TOKEN.match(line, at)) is not None:
            at = token.end()
            mark = token[0] if token[0] in _ENDS else ""
    return mark


def _own_keys(tables: object, lines: list[str]) -> Iterator[str]:
    """Yield a fault for every key that only brewsim itself may put into a table."""
    inside = tables.values() if isinstance(tables, dict) else tables
    for key in tables if isinstance(tables, dict) else ():
        if key in OWN_KEYS:
            line = next((n for n, text in enumerate(lines, start=1) if key in text), 0)
            yield f"line {line}, {key}: is a key of brewsim's own use; give it another name"
    for part in inside if isinstance(inside, Iterable) else ():
        if isinstance(part, dict | list):
            yield from _own_keys(part, lines)


def _longest_number(lines: list[str]) -> int:
    """Return the line of a number too long for tomllib, which does not say where; else the last."""
    found = (n for n, line in enumerate(lines, start=1) if re.search(r"\d{4000}", line))
    return next(found, len(lines))


def _explain(message: str, number: int, line: str, again: str) -> tuple[str, str | None]:
    """Return (the fault in words, the line to go on with or None)."""
    told = line.strip()
    if len(told) > 80:
        told = told[:77] + "..."
    if told.startswith("[") and "]" not in told:
        return f"“{told}” is not TOML: it is not closed; write [name] or [[name]]", None
    if any(word in message for word in ("overwrite", "twice", "Cannot declare", "immutable")):
        name = told.partition("=")[0].strip()
        instead = f'["{again}{number}"]' if told.startswith("[") else ""
        return f"“{name}” is written twice; keep one", instead
    unquoted = _UNQUOTED.match(line)
    if unquoted is not None:
        value = unquoted[2].strip()
        fixed = f'{unquoted[1].strip()} "{value}"'
        return f"“{told}” has no quotes; write {fixed}", f"{unquoted[1]}{_quoted(value)}"
    reason = _WHERE.sub("", message).strip().lower()
    return f'“{told}” is not TOML ({reason}); a line reads key = "value"', None


def _quoted(value: str) -> str:
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def locate(text: str) -> dict[Path, int]:
    """Return the line of every table, key and list item, found in the text (1 is the first)."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    items: Path = ()
    closing = ""
    for number, line in enumerate(lines_of(text), start=1):
        inner, closing = bool(closing), left_open(line, closing)
        if inner:
            continue
        inside = line
        if header := _HEADER.match(line):
            table = _table(header[1] == "[[", _parts(header[2]), counts)
            found[table] = number
            items = ()
        elif key := _KEY.match(line):
            items = (*table, *_parts(key[1]))
            found[items] = number
            counts[items] = -1
            inside = line[key.end() :]
        if items and not inside.lstrip().startswith("{"):
            for _ in re.finditer(r"""(?<!['"])"[^"]*"|(?<!['"])'[^']*'""", _uncommented(inside)):
                counts[items] += 1
                found[(*items, counts[items])] = number
    return found


def _uncommented(line: str) -> str:
    if "#" not in line:
        return line
    return re.sub(r"""^((?:[^"'#]|"[^"]*"|'[^']*')*)#.*$""", r"\1", line)


def _table(is_row: bool, parts: tuple[str, ...], counts: dict[Path, int]) -> Path:
    path: Path = ()
    for place, part in enumerate(parts):
        path = (*path, part)
        if is_row and place == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


@lru_cache(maxsize=1024)
def _parts(dotted: str) -> tuple[str, ...]:
    found = re.findall(r"""\s*(?:"([^"]*)"|'([^']*)'|([^.\s"']+))\s*\.?""", dotted)
    return tuple(next((part for part in group if part), "") for group in found)


def _narrowed(tables: dict[str, object]) -> tuple[dict[str, object], list[str]]:
    """Return the tables cut off at the most keys one may hold, and a fault for each one cut."""
    faults: list[str] = []

    def cut(table: dict[str, object], name: str) -> dict[str, object]:
        if len(table) > MAX_KEYS:
            faults.append(f"{name}: {len(table)} keys; {MAX_KEYS} are the most")
        kept = dict(list(table.items())[:MAX_KEYS])
        return {k: cut(v, str(k)) if isinstance(v, dict) else v for k, v in kept.items()}

    return cut(tables, "the file"), faults


def annotate(value: object, where: Mapping[Path, int], path: Path = (), line: int = 0) -> object:
    """Return the tables with every value as Written and every table's line under `LINE_KEY`.

    Raises ValueError where tables are nested too deep.
    """
    line = where.get(path, line)
    if len(path) > MAX_DEPTH:
        raise ValueError(f"line {line}: tables are nested more than {MAX_DEPTH} deep")
    if isinstance(value, dict):
        inside: dict[str, object] = {
            str(key): annotate(item, where, (*path, str(key)), line) for key, item in value.items()
        }
        return inside | {LINE_KEY: line}
    if isinstance(value, list):
        return [annotate(item, where, (*path, n), line) for n, item in enumerate(value)]
    if isinstance(value, bool):
        return Written("true" if value else "false", line, value)
    return Written(str(value), line, value)
