"""Text files: read whole and checked, written in one piece."""

import errno
import os
import stat
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from typing import TextIO

from brewsim.errors import InputError

MAX_BYTES = 1_000_000
"""Of a recipe or a file of priors."""
_TEXTS = (".toml", ".csv", ".tsv")
"""Endings of files that people write; no page and no draws take the place of one."""


def read_text(path: str | Path, most: int = MAX_BYTES) -> str:
    """Return the text of a file a person wrote, - for standard input.

    Raises InputError if it is none.
    """
    file = Path(path)
    try:
        if str(path) == "-":
            data = _standard_input(sys.stdin)
        else:
            with file.open("rb") as stream:
                data = stream.read(most + 1)
    except OSError as error:
        raise InputError(str(path), [f"cannot be opened: {error.strerror or error}"]) from error
    if len(data) > most:
        size = f"{most / 1e6:g} MB"
        told = "; a recipe is a few kB of text" if most == MAX_BYTES else ""
        raise InputError(str(path), [f"is larger than {size}{told}"])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        fault = f"line {line}: is not UTF-8 text; save the file as UTF-8"
        raise InputError(str(path), [fault]) from error


@lru_cache(maxsize=1)
def _standard_input(stream: TextIO) -> bytes:
    """Return what stands in standard input, however often it is asked for."""
    binary = getattr(stream, "buffer", None)
    return binary.read(MAX_BYTES + 1) if binary is not None else stream.read(MAX_BYTES).encode()


def refuse_to_replace(
    out: Path, option: str, inputs: Iterable[Path | None], *, texts: bool = False
) -> None:
    """Raise InputError where writing to `out` would replace a file that is read.

    Unless it is `texts` that are written, one that is there already is not replaced either.
    """
    for given in inputs:
        if given is not None and _same_file(out, given):
            told = f"{out} is read by this command and would be replaced; name another file"
            raise InputError(option, [told])
    if not texts and out.suffix.lower() in _TEXTS and out.exists():
        told = f"{out} is there already and is no file of this kind; name another file"
        raise InputError(option, [told])


def _same_file(one: Path, other: Path) -> bool:
    with suppress(OSError):
        return one.samefile(other)
    return one.absolute() == other.absolute()


def write_whole(path: str | Path, content: bytes, *, follow: bool = True) -> None:
    """Write a file so that a reader sees the old one or the new one, never half of it."""
    with replacing(path, follow=follow) as temporary, temporary.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


@contextmanager
def replacing(path: str | Path, *, follow: bool = True) -> Iterator[Path]:
    """Give a temporary file to write to; it takes the place of `path` at the end, or is removed.

    A link keeps pointing to the file it points to, and that file its mode and owner; without
    `follow` the link itself is replaced. Raises OSError where the file may not be written to.
    """
    file = Path(path).resolve() if follow else Path(path)
    before = file.stat() if file.exists() else None
    if before is not None and not stat.S_ISREG(before.st_mode):
        raise OSError(errno.EINVAL, "is no file that can be replaced", str(path))
    if before is not None and not before.st_mode & stat.S_IWUSR:
        raise PermissionError(errno.EACCES, "is read-only", str(path))
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.", suffix=".part")
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(_usual_mode() if before is None else stat.S_IMODE(before.st_mode))
        if before is not None and hasattr(os, "chown"):
            with suppress(OSError):
                os.chown(temporary, before.st_uid, before.st_gid)
        temporary.replace(file)
    except BaseException:
        with suppress(OSError):
            temporary.unlink()
        raise


def _usual_mode() -> int:
    """Return the mode of a file that this process makes."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
