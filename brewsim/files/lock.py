"""One writer at a time: a lock beside a file, which ends with the process that holds it."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from brewsim.errors import InputError

WAIT_S = 60.0
_PAUSE_S = 0.05
_TOLD_AFTER_S = 1.0


def lock_path(path: Path) -> Path:
    """Return where the lock of a file lies; it stays there, empty."""
    file = path.resolve()
    return file.with_name(f".{file.name}.lock")


@contextmanager
def locked(
    path: Path, wait_s: float = WAIT_S, waiting: Callable[[], None] | None = None
) -> Iterator[None]:
    """Hold the lock of a file; `waiting` is called once where another process has it.

    The system frees the lock of a process that ends, however it ends. Raises InputError where it
    is not free in time, OSError where the folder cannot be written to.
    """
    with lock_path(path).open("ab") as stream:
        start = time.monotonic()
        while not _taken(stream):
            past = time.monotonic() - start
            if past > wait_s:
                told = f"another brewsim has been writing to it for {wait_s:.0f} s; try again later"
                raise InputError(str(path), [told])
            if waiting is not None and past > _TOLD_AFTER_S:
                waiting()
                waiting = None
            time.sleep(_PAUSE_S)
        try:
            yield
        finally:
            _free(stream)


try:
    import fcntl

    def _taken(stream: IO[bytes]) -> bool:
        try:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _free(stream: IO[bytes]) -> None:
        fcntl.flock(stream, fcntl.LOCK_UN)

except ImportError:  # pragma: no cover - Windows
    import msvcrt

    def _taken(stream: IO[bytes]) -> bool:
        stream.seek(0)
        try:
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        except OSError:
            return False
        return True

    def _free(stream: IO[bytes]) -> None:
        stream.seek(0)
        msvcrt.locking(stream.fileno(), msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]
