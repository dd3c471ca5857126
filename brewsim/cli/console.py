"""What the commands print: tables that fit 80 columns, JSON, progress, faults."""

import json
import math
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import zip_longest
from shutil import get_terminal_size
from textwrap import fill, wrap
from typing import Any

import typer
from rich.cells import cell_len, chop_cells

from brewsim.cli import made_by
from brewsim.cli.encoding import holds_everything, printable
from brewsim.errors import InputError

Progress = Callable[[float, str], None]
COLUMNS = 80
_MOST_FAULTS = 100
_LONGEST = 800
_BETWEEN = " │ "


def faults(error: Exception) -> None:
    """Say on the error stream what was wrong with what was given, all of it, each on a line."""
    if isinstance(error, InputError):
        count = len(error.faults)
        for fault in error.faults[:_MOST_FAULTS]:
            told = fault if len(fault) <= _LONGEST else f"{fault[:_LONGEST]} ..."
            typer.echo(printable(f"{error.where}: {told}"), err=True)
        if count > _MOST_FAULTS:
            typer.echo(f"... and {count - _MOST_FAULTS} more.", err=True)
        typer.echo(f"{count} fault{'s' if count > 1 else ''}; nothing was written.", err=True)
    elif isinstance(error, OSError):
        told = f"{error.filename}: {error.strerror}" if error.filename else str(error)
        typer.echo(printable(f"brewsim: {told}; nothing was written."), err=True)
    else:
        typer.echo(printable(f"brewsim: {error}"), err=True)


def aside(where: str, remarks: Iterable[str]) -> None:
    """Say on the error stream what a person should know of a file that was read."""
    for remark in remarks:
        typer.echo(printable(f"{where}: {remark}."), err=True)


def as_json(content: object) -> None:
    """Print JSON with sorted keys and where it comes from; numbers that are not finite become null.

    Letters that the output cannot hold are escaped, so that no text changes.
    """
    content = made_by.with_origin(content)
    narrow = not holds_everything(getattr(sys.stdout, "encoding", None))
    typer.echo(json.dumps(_clean(content), ensure_ascii=narrow, indent=2, sort_keys=True))


def _clean(content: Any) -> Any:  # noqa: ANN401 - JSON holds anything
    if isinstance(content, dict):
        return {str(key): _clean(value) for key, value in content.items()}
    if isinstance(content, list | tuple):
        return [_clean(value) for value in content]
    if hasattr(content, "item") and getattr(content, "ndim", 1) == 0:
        return _clean(content.item())
    if hasattr(content, "tolist"):
        return _clean(content.tolist())
    if isinstance(content, float) and not math.isfinite(content):
        return None
    return content


_Table = tuple[str, Sequence[str], Sequence[Sequence[str]]]
_kept: list[list[_Table]] = []


@contextmanager
def kept_tables() -> Iterator[list[_Table]]:
    """Give a list to which every table that is printed is added: title, header, rows."""
    tables: list[_Table] = []
    _kept.append(tables)
    try:
        yield tables
    finally:
        _kept.remove(tables)


def table(title: str, header: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table, numbers to the right; without a terminal it is 80 columns wide."""
    for tables in _kept:
        tables.append((title, header, rows))
    room = get_terminal_size().columns if sys.stdout.isatty() else 80
    title, header = printable(title), [printable(cell) for cell in header]
    rows = [[printable(cell) for cell in row] for row in rows]
    widths = _widths([header, *rows], room - len(_BETWEEN) * (len(header) - 1))
    printed = [title] if title else []
    printed += _row(header, widths)
    printed.append("━┿━".join("━" * width for width in widths))
    for row in rows:
        printed += _row(row, widths)
    typer.echo("\n".join(printed))


def _widths(rows: Sequence[Sequence[str]], room: int) -> list[int]:
    """Return the columns' widths: what the longest line of a cell takes, less where all do not fit.

    The widest column gives way first, down to its longest word while another can. A cell is as
    wide as its letters are on a terminal; Chinese ones take two columns.
    """
    columns = ["\n".join(column) for column in zip(*rows, strict=True)]
    widths = [max(1, *map(cell_len, text.split("\n"))) for text in columns]
    words = [max([1, *map(cell_len, text.split())]) for text in columns]
    for least in (words, [2] * len(widths)):
        while sum(widths) > room and any(w > m for w, m in zip(widths, least, strict=True)):
            widest = max(w for w, m in zip(widths, least, strict=True) if w > m)
            place = next(i for i, w in enumerate(widths) if w == widest > least[i])
            widths[place] -= 1
    return widths


def _row(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    """Yield the lines of a row."""
    folded = [
        [line for part in cell.split("\n") for line in _folded(part, width)]
        for cell, width in zip(cells, widths, strict=True)
    ]
    for first, *others in zip_longest(*folded, fillvalue=""):
        padded = [first + " " * (widths[0] - cell_len(first))]
        for text, width in zip(others, widths[1:], strict=True):
            padded.append(" " * (width - cell_len(text)) + text)
        yield _BETWEEN.join(padded).rstrip()


def _folded(cell: str, width: int) -> list[str]:
    if cell_len(cell) <= width:
        return [cell]
    if cell_len(cell) > len(cell):  # letters two columns wide: break anywhere
        return chop_cells(cell, width)
    return wrap(cell, width, break_on_hyphens=False)


def lines(*sentences: str) -> None:
    """Print plain sentences, each from a line of its own, folded at 80 columns.

    Text that has lines or an indent of its own (a tree) is left as it is.
    """
    for sentence in sentences:
        kept = "\n" in sentence or sentence.startswith(" ")
        text = printable(sentence)
        typer.echo(text if kept else fill(text, COLUMNS, break_on_hyphens=False))


@contextmanager
def progress(title: str, *, quiet: bool) -> Iterator[Progress]:
    """Give a callback (share done, remark); draws a bar on a terminal, else stays silent."""
    if quiet or not sys.stderr.isatty():
        yield lambda _done, _remark: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    bar = Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeRemainingColumn(),
        TextColumn("{task.fields[remark]}"),
        console=Console(stderr=True),
        transient=True,
    )
    with bar:
        task = bar.add_task(title, total=1.0, remark="")
        yield lambda done, remark: bar.update(task, completed=done, remark=remark)
