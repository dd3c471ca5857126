"""brewsim log: filled brew-day cards become batches of a log."""

import datetime as dt
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.encoding import printable
from brewsim.cli.options import PriorsFile


def log(
    cards: Annotated[
        list[Path],
        typer.Argument(
            metavar="{card}...",
            help="Cards that `brewsim card` wrote, one for each batch.",
            exists=True,
            dir_okay=False,
        ),
    ],
    to: Annotated[
        Path | None, typer.Option(help="The log; named after the first card if not given.")
    ] = None,
    batch: Annotated[str, typer.Option(help="The batch, such as G3; else asked.")] = "",
    date: Annotated[str, typer.Option(help="The day, such as 2026-03-14; else asked.")] = "",
    read: Annotated[
        list[str] | None,
        typer.Option(help='A reading, "original_gravity = 1.049"; given any, none is asked.'),
    ] = None,
    priors: PriorsFile = None,
) -> None:
    """Write down what stands on filled cards: each blank is asked for, the log gets the batches.

    An empty answer is no reading. Answers may come from standard input, a line each, in the order
    of the questions. A number without a unit has that of the card.

    Example: brewsim log quillhaven-lager-card.html --batch G3 --read "original_gravity = 1.049"
    """
    from brewsim.errors import InputError
    from brewsim.logbook.card_entry import add_to_log
    from brewsim.page.card_sheet import read_card
    from brewsim.priors import library

    sheets = [read_card(card) for card in cards]
    if len({sheet.recipe for sheet in sheets}) > 1:
        raise InputError(str(cards[1]), ["is of another recipe; log the cards of each by itself"])
    if len(cards) > 1 and (batch or read):
        raise InputError("--batch", ["--batch and --read are of one card; give one, or be asked"])
    shelf = library.load_priors(priors)
    texts = [_asked(sheet, batch, date, read or [], shelf) for sheet in sheets]
    path = to or Path(f"{cards[0].stem.removesuffix('-card')}-batches.toml")
    found = add_to_log(path, texts, sheets[0].recipe, shelf)
    say.aside(str(path), found.remarks)
    for text in texts:
        typer.echo(text)
    many = "batch" if len(texts) == 1 else f"{len(texts)} batches"
    say.lines(f"{path}: {many} added, {len(found.entries)} in the log.")


def _asked(sheet: Any, batch: str, date: str, read: list[str], shelf: Any) -> str:  # noqa: ANN401
    """Return one card as a batch: what was given, and the answers to what was not."""
    from brewsim.errors import InputError
    from brewsim.logbook.card_entry import batch_text, faults_of

    if not read:
        typer.echo(f"{sheet.title}: an empty answer is no reading.", err=True)
    name = batch or _answer("Batch: ")
    if not name:
        raise InputError("--batch", ["a batch has a name, such as G3"])
    day = _day(date) or (dt.datetime.now().astimezone().date() if read else _day_asked())
    readings: dict[str, str] = {}
    if read:
        readings = _given(read, sheet.blanks)
    else:
        for blank in sheet.blanks:
            text = _reading_asked(blank, lambda one: faults_of(one, sheet.recipe, shelf), day)
            if text:
                readings[blank.field] = text
    if not readings:
        raise InputError(name, ["nothing was read: a batch without a reading teaches nothing"])
    return batch_text(name, day, readings)


def _answer(question: str) -> str:
    typer.echo(question, nl=False, err=True)
    return sys.stdin.readline().strip()


def _day(text: str) -> dt.date | None:
    from brewsim.errors import InputError

    if not text:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise InputError("--date", [f"“{text}” is no day; write 2026-03-14"]) from None


def _day_asked() -> dt.date:
    today = dt.datetime.now().astimezone().date()
    while True:
        text = _answer(f"Date ({today.isoformat()} if empty): ")
        try:
            return _day(text) or today
        except Exception as error:
            if not sys.stdin.isatty():
                raise
            typer.echo(str(error), err=True)


def _reading_asked(blank: Any, check: Any, day: dt.date) -> str:  # noqa: ANN401 - a CardBlank
    """Return the answer to one blank, asked again at a terminal while it cannot be read."""
    from brewsim.errors import InputError
    from brewsim.logbook.card_entry import batch_text

    while True:
        text = _with_unit(_answer(f"{blank.words.removesuffix('*')}: "), blank.unit)
        faults = check(batch_text("card", day, {blank.field: text})) if text else []
        if not faults:
            return text
        if not sys.stdin.isatty():
            raise InputError(blank.words, faults)
        for fault in faults:
            typer.echo(printable(fault), err=True)


def _with_unit(text: str, unit: str) -> str:
    """Return an answer with the card's unit where it ends in a number."""
    return f"{text} {unit}" if text and unit and text[-1].isdigit() else text


def _given(read: list[str], blanks: Any) -> dict[str, str]:  # noqa: ANN401 - CardBlanks
    """Return readings as they were given, any quantity of the log among them."""
    from brewsim.errors import InputError

    units = {blank.field: blank.unit for blank in blanks}
    found: dict[str, str] = {}
    for one in read:
        name, sign, text = (part.strip() for part in one.partition("="))
        if not sign or not text or name in found:
            raise InputError("--read", [f"“{one}”: write each once, original_gravity = 1.049"])
        found[name] = _with_unit(text, units.get(name, ""))
    return found
