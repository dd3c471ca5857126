"""A house file on disk: one writer at a time, every state before a change kept, never lost."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from brewsim.errors import InputError, StudyError
from brewsim.files.lock import locked
from brewsim.files.text_files import read_text, write_whole
from brewsim.logbook.brew import Batches, brew
from brewsim.logbook.house_file import allowing_outliers, house_text, house_text_with
from brewsim.logbook.journal import State, keep, state_to_restore
from brewsim.logbook.log import MAX_BYTES, Log, merge, read_log, refuse_faults
from brewsim.priors.library import Priors

LOCK_WAIT_S = 300.0
"""How long a writer waits for others: brewing a log of many recipes takes seconds."""


@dataclass(frozen=True)
class Stored:
    """A house as it is on disk: its text, and its batches."""

    text: str
    log: Batches


def add_batches(
    file: Path,
    log: Log,
    priors: Priors,
    waiting: Callable[[], None] | None = None,
    *,
    outliers: bool = False,
) -> Stored:
    """Add the batches of a log to a house file, made if missing, and return what it holds now.

    The file is read, merged and written under a lock, so that nobody's batches are lost however
    many add to it at once; it is replaced whole, and the state before is kept in the journal. The
    file says from then on whether `outliers` are allowed for.
    Raises InputError, OSError or StudyError with nothing changed.
    """
    with locked(file, LOCK_WAIT_S, waiting):
        _refuse_other_names(file)
        text = read_text(file, MAX_BYTES) if file.exists() else None
        if text is None:
            whole = brew(log, priors)
            changed = house_text(whole)
        else:
            old = read_log(text, None, str(file))
            refuse_faults(old)
            whole = brew(merge(old, log), priors)
            changed = house_text_with(text, old, whole)
        if not any(batch.readings or batch.answers for batch in whole.batches):
            raise StudyError("the batches hold no reading to learn from")
        changed = allowing_outliers(changed, allowed=outliers)
        if changed != text:
            _replace(file, text, changed)
        return Stored(changed, whole)


def restore(file: Path, number: int | None = None) -> State:
    """Put a state of the journal in the place of a house file; what is there now is kept in it."""
    with locked(file, LOCK_WAIT_S):
        _refuse_other_names(file)
        state = state_to_restore(file, number)
        content = state.content
        if file.exists():
            keep(file, file.read_bytes())
        write_whole(file, content)
        with suppress(OSError):
            keep(file, content)
        return state


def _refuse_other_names(file: Path) -> None:
    """Raise InputError for a file of several names: a new one would take the place of one name."""
    names = file.stat().st_nlink if file.exists() else 1
    if names > 1:
        told = f"has {names} names (hard links), and only this one would change"
        raise InputError(str(file), [f"{told}; keep one, or make the others symbolic links"])


def _replace(file: Path, before: str | None, after: str) -> None:
    content = after.encode()
    if len(content) > MAX_BYTES:
        most = f"{MAX_BYTES / 1e6:.0f} MB"
        raise InputError(str(file), [f"would be larger than {most}; begin another house file"])
    if before is not None:
        keep(file, file.read_bytes())
    write_whole(file, content)
    with suppress(OSError):  # the file itself is whole; its next writer keeps this state
        keep(file, content)
