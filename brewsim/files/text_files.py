"""Text files: read whole and checked, written in one piece."""

import os
import tempfile
from pathlib import Path

from brewsim.errors import InputError

MAX_BYTES = 1_000_000


def read_text(path: str | Path) -> str:
    """Return the text of a file a person wrote; raises InputError if it is none."""
    file = Path(path)
    try:
        with file.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(str(path), [f"cannot be opened: {error.strerror or error}"]) from error
    if len(data) > MAX_BYTES:
        raise InputError(str(path), ["is larger than 1 MB; a recipe is a few kB of text"])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        fault = f"line {line}: is not UTF-8 text; save the file as UTF-8"
        raise InputError(str(path), [fault]) from error


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that a reader sees the old one or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
