"""A recipe as TOML text: tables of keys with remarks, each line knowing where it came from."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from textwrap import wrap


@dataclass
class Table:
    """A table of a recipe; the first one has no heading.

    `lines` are (key, value as TOML, remark, path in the document); `above` are remarks.
    """

    heading: str = ""
    lines: list[tuple[str, str, str, str]] = field(default_factory=list)
    above: list[str] = field(default_factory=list)

    def add(self, key: str, value: str, remark: str = "", path: str = "") -> None:
        """Add a key with a text value, if there is one."""
        if value:
            self.lines.append((key, quoted(value), remark, path))

    def add_list(self, key: str, values: Iterable[str], remark: str = "", path: str = "") -> None:
        """Add a key with a list of texts."""
        told = ", ".join(quoted(value) for value in values)
        self.lines.append((key, f"[{told}]", remark, path))


def quoted(text: str) -> str:
    """Return a text as TOML writes it between quotes."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_text(head: Iterable[str], tables: Iterable[Table]) -> tuple[str, Mapping[int, str]]:
    """Return the text of a recipe, and for its lines the path in the document they came from."""
    lines = [f"# {part}".rstrip() for remark in head for part in _wrapped(remark)]
    paths: dict[int, str] = {}
    for table in tables:
        lines.append("")
        lines += [f"# {part}" for remark in table.above for part in _wrapped(remark)]
        if table.heading:
            lines.append(table.heading)
            paths[len(lines)] = next((path for *_, path in table.lines if path), "")
        for key, value, remark, path in table.lines:
            lines.append(f"{key} = {value}{f'  # {remark}' if remark else ''}")
            paths[len(lines)] = path
    return "\n".join(lines) + "\n", paths


def _wrapped(remark: str) -> list[str]:
    return wrap(remark, 96, subsequent_indent="  ", break_on_hyphens=False) or [""]
