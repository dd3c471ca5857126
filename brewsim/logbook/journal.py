"""The journal of a house: its last ten states, each a whole file, in a folder beside it."""

import datetime as dt
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from brewsim.errors import InputError
from brewsim.files.text_files import write_whole

KEPT = 10
_NAME = re.compile(r"([0-9]{6})\.toml")


@dataclass(frozen=True)
class State:
    """One state of a house file: its number (the newest has the highest), file and time."""

    number: int
    file: Path
    when: dt.datetime

    @property
    def content(self) -> bytes:
        """The house file as it was then."""
        return self.file.read_bytes()


def journal_path(house: Path) -> Path:
    """Return the folder of a house's journal."""
    return house.with_suffix(".journal")


def states(house: Path) -> tuple[State, ...]:
    """Return the states that are kept, the newest first."""
    folder = journal_path(house)
    files = list(folder.iterdir()) if folder.is_dir() else []
    found = [
        State(int(match[1]), file, dt.datetime.fromtimestamp(file.stat().st_mtime, tz=dt.UTC))
        for file in files
        if (match := _NAME.fullmatch(file.name))
    ]
    return tuple(sorted(found, key=lambda state: -state.number))


def keep(house: Path, content: bytes) -> None:
    """Keep a state as the newest one, unless it is; raises OSError where it cannot be written."""
    before = states(house)
    if before and before[0].content == content:
        return
    folder = journal_path(house)
    folder.mkdir(exist_ok=True)
    number = before[0].number + 1 if before else 1
    write_whole(folder / f"{number:06d}.toml", content)
    for state in before[KEPT - 1 :]:
        with suppress(OSError):
            state.file.unlink()


def state_to_restore(house: Path, number: int | None = None) -> State:
    """Return the state of a number, or the newest that differs from the house; else InputError."""
    found = states(house)
    if not found:
        raise InputError(str(house), [f"there is no state in {journal_path(house)} to restore"])
    now = house.read_bytes() if house.exists() else None
    if number is None:
        other = next((state for state in found if state.content != now), None)
        if other is None:
            raise InputError(str(house), ["is the only state that the journal has"])
        return other
    named = next((state for state in found if state.number == number), None)
    if named is None:
        known = ", ".join(str(state.number) for state in found)
        raise InputError(str(house), [f"the journal has no state {number}; it has {known}"])
    return named
