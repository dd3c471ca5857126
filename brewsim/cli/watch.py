"""Watch a recipe: write its page anew at every save and let the open page follow."""

import time
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from brewsim.cli import console as say
from brewsim.cli.desk import Desk
from brewsim.errors import BrewsimError

_PAUSE = 0.3


def watch(files: Sequence[Path], make: Callable[[], str], *, opens: bool) -> None:
    """Call `make` (it writes the page and returns its text) now and whenever a file changes.

    A fault is told on the terminal and the page before it stays. Ends with Ctrl-C.
    """
    with Desk() as desk:
        say.lines(f"Watching {files[0]} at {desk.address}; Ctrl-C ends it.")
        try:
            _follow(desk, files, make, opens=opens)
        except KeyboardInterrupt:
            say.lines("Stopped watching.")


def _follow(desk: Desk, files: Sequence[Path], make: Callable[[], str], *, opens: bool) -> NoReturn:
    from brewsim.page.live import refreshing

    seen: tuple[tuple[int, int], ...] = ()
    while True:
        now = _state(files)
        if now == seen:
            time.sleep(_PAUSE)
            continue
        seen = now
        page = _made(make)
        if page is None:
            continue
        first = desk.version == 0
        desk.show(refreshing(page, desk.version + 1), desk.version + 1)
        if first and opens:
            webbrowser.open(desk.address)


def _made(make: Callable[[], str]) -> str | None:
    try:
        return make()
    except (BrewsimError, OSError) as error:
        say.faults(error)
        say.lines("The page before this save stays.")
        return None


def _state(files: Sequence[Path]) -> tuple[tuple[int, int], ...]:
    """Return what tells one save from the next; a file that is just being replaced counts too."""
    found = []
    for file in files:
        try:
            about = file.stat()
        except OSError:
            found.append((0, 0))
            continue
        found.append((about.st_mtime_ns, about.st_size))
    return tuple(found)
