"""Tables that a command prints, in a file for other programs: --out TABLES.csv."""

import contextlib
import csv
import inspect
import io
from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.errors import InputError

TableFile = Annotated[
    Path | None,
    typer.Option("--out", help="Write the tables to this CSV file too; - prints them as CSV."),
]
_DrawsFile = Annotated[
    Path | None,
    typer.Option(
        "--out", help="Write the table to this file too (CSV), or the draws (.nc); - prints CSV."
    ),
]


def with_table_file(command: Callable[..., None]) -> Callable[..., None]:
    """Return a command that takes --out beside its own options."""
    signature = inspect.signature(command)
    draws = "save" in signature.parameters
    kind: Any = _DrawsFile if draws else TableFile
    added = inspect.Parameter("out", inspect.Parameter.KEYWORD_ONLY, default=None, annotation=kind)

    @wraps(command)
    def run(*, out: Path | None = None, **given: Any) -> None:  # noqa: ANN401 - the command's own
        if out is None:
            command(**given)
        elif draws and out.suffix.lower() == ".nc":
            if given.get("save") is not None:
                raise InputError("--out", [f"{out} and --save {given['save']}: name one of them"])
            command(**given | {"save": out})
        else:
            _kept(command, out, given)

    parameters = [*signature.parameters.values(), added]
    run.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {**command.__annotations__, "out": kind}
    return run


def _kept(command: Callable[..., None], out: Path, given: dict[str, Any]) -> None:
    from brewsim.files.text_files import refuse_to_replace, write_whole

    if given.get("json"):
        raise InputError("--out", ["it takes tables; with --json there are none"])
    printed = str(out) == "-"
    if not printed:
        if out.suffix.lower() != ".csv":
            raise InputError("--out", [f"{out} is no name of a table; write {out.stem}.csv"])
        inputs = [path for path in given.values() if isinstance(path, Path)]
        refuse_to_replace(out, "--out", inputs, texts=True)
    silent = contextlib.redirect_stdout(io.StringIO()) if printed else contextlib.nullcontext()
    with say.kept_tables() as tables, silent:
        command(**given)
    text = csv_text(tables)
    if printed:
        typer.echo(text, nl=False)
        return
    if out.exists() and _first_line(out) != text.partition("\n")[0].strip():
        raise InputError("--out", [f"{out} is there already and holds something else"])
    write_whole(out, text.encode())
    say.lines(f"{out} written.")


def csv_text(tables: Sequence[tuple[str, Sequence[str], Sequence[Sequence[str]]]]) -> str:
    """Return tables as CSV: one as it is, several each under its title, an empty line between."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    for number, (title, header, rows) in enumerate(tables):
        if len(tables) > 1:
            stream.write("\n" if number else "")
            writer.writerow([title])
        for row in (header, *rows):
            writer.writerow([" ".join(cell.split()) for cell in row])
    return stream.getvalue()


def _first_line(path: Path) -> str:
    with path.open(encoding="utf-8", errors="replace") as stream:
        return stream.readline().strip()
