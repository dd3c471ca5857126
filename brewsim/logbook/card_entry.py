"""A filled brew-day card as a batch of a log: written as text, checked, added in one piece."""

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path

from brewsim.errors import InputError
from brewsim.files.lock import locked
from brewsim.files.text_files import read_text, write_whole
from brewsim.interchange.toml_text import quoted
from brewsim.logbook.brew import Batches, parse_batches
from brewsim.logbook.log import MAX_BYTES
from brewsim.priors import library


def batch_text(batch: str, date: dt.date, readings: Mapping[str, str]) -> str:
    """Return a batch as a log holds it.

    >>> print(batch_text("G3", dt.date(2026, 3, 14), {"original_gravity": "1.049"}), end="")
    [[batch]]
    id = "G3"
    date = 2026-03-14
    [batch.readings]
    original_gravity = "1.049"
    """
    lines = ["[[batch]]", f"id = {quoted(batch)}", f"date = {date.isoformat()}", "[batch.readings]"]
    lines += [f"{field} = {quoted(text)}" for field, text in readings.items()]
    return "\n".join(lines) + "\n"


def faults_of(text: str, recipe: str, priors: library.Priors | None = None) -> list[str]:
    """Return what is wrong with a batch by itself, without the lines it stands in."""
    try:
        parse_batches(text, recipe, priors=priors)
    except InputError as error:
        return [fault.partition(": ")[2] if _placed(fault) else fault for fault in error.faults]
    return []


def _placed(fault: str) -> bool:
    return fault.startswith("line ") and ": " in fault


def add_to_log(
    path: Path,
    texts: list[str],
    recipe: str,
    priors: library.Priors | None = None,
    waiting: Callable[[], None] | None = None,
) -> Batches:
    """Write batches to the end of a log, which is made if it is not there; return the whole.

    Nothing else in the file is touched, and it is never half written. Raises InputError with
    every fault of the log that would be, OSError where it cannot be written to.
    """
    if path.suffix.lower() != ".toml":
        raise InputError(str(path), ["batches are added to a log in TOML; name one"])
    with locked(path, waiting=waiting):
        before = read_text(path, MAX_BYTES).rstrip() if path.exists() else ""
        whole = "\n\n".join([*filter(None, (before,)), *(text.rstrip() for text in texts)]) + "\n"
        found = parse_batches(whole, recipe, str(path), priors)
        write_whole(path, whole.encode())
    return found
