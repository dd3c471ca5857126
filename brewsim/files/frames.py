"""Logs as data frames on disk, Parquet or Feather: read through pandas as the CSV they hold."""

from pathlib import Path

from brewsim.errors import InputError
from brewsim.files.text_files import read_text

FRAMES = {".parquet": "read_parquet", ".feather": "read_feather", ".arrow": "read_feather"}
"""Ending of a file -> the reader of pandas for it."""
_MOST_BYTES = 10_000_000
_MOST_ROWS = 10_000


def read_log_text(path: str | Path, most: int) -> tuple[str, str]:
    """Return the text of a log and what to call it: TOML and CSV as they stand, frames as CSV.

    `most` is the largest size in bytes. Raises InputError for a file that cannot be read, and for
    a frame where pandas or pyarrow is not installed.
    """
    file = Path(path)
    if file.suffix.lower() not in FRAMES:
        return read_text(path, most), str(path)
    return _frame_text(file, most), f"{path}, as .csv"


def _frame_text(file: Path, most: int) -> str:
    try:
        import pandas as pd  # noqa: PLC0415 - only a frame needs it
        import pyarrow as pa  # noqa: F401, PLC0415 - and this reads it
    except ImportError:
        told = "needs pandas and pyarrow: pip install 'brewsim[tables]', or save it as CSV"
        raise InputError(str(file), [told]) from None
    try:
        if file.stat().st_size > _MOST_BYTES:
            raise InputError(str(file), [f"is larger than {_MOST_BYTES / 1e6:g} MB"])
        frame = getattr(pd, FRAMES[file.suffix.lower()])(file)
    except OSError as error:
        raise InputError(str(file), [f"cannot be read: {error.strerror or error}"]) from error
    except (ValueError, TypeError, KeyError) as error:
        told = str(error).partition("\n")[0]
        raise InputError(str(file), [f"is no table that can be read: {told}"]) from error
    if len(frame) > _MOST_ROWS:
        raise InputError(str(file), [f"has {len(frame)} rows; {_MOST_ROWS} are the most"])
    named = frame.index.name is not None
    text: str = frame.to_csv(index=named)
    if len(text.encode()) > most:
        raise InputError(str(file), [f"is larger than {most / 1e6:g} MB as CSV"])
    return text
