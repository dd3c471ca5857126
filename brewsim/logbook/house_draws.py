"""Draws beside a house file: arrays and what they are of; kept where they can be, never needed."""

import datetime as dt
import hashlib
import io
import json
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from brewsim.dims import FloatArray
from brewsim.files.text_files import write_whole
from brewsim.priors.library import Priors

DRAWS_VERSION = 3
_DAMAGED = (OSError, ValueError, KeyError, TypeError, EOFError, BadZipFile, zlib.error)


def draws_path(path: Path) -> Path:
    """Return where the draws of a house file lie."""
    return path.with_suffix(".draws.npz")


def digest_of(text: str, priors: Priors) -> str:
    """Return what draws stand for: the batches and priors that they were computed from."""
    tables = [[k, n, q, t] for k, n, q, t in priors.tables()]
    whole = json.dumps([text, tables, DRAWS_VERSION], sort_keys=True, default=str)
    return hashlib.sha256(whole.encode()).hexdigest()


def keep_draws(
    file: Path, digest: str, about: Mapping[str, Any], draws: FloatArray, replicate: FloatArray
) -> str:
    """Write draws; return why they could not be kept, or an empty text."""
    written = dt.datetime.now(tz=dt.UTC).isoformat(timespec="seconds")
    told = json.dumps({**about, "digest": digest, "written": written})
    stream = io.BytesIO()
    np.savez_compressed(stream, draws=draws, replicate=replicate, about=np.array(told))
    try:
        write_whole(file, stream.getvalue())
    except OSError as error:
        return error.strerror or str(error)
    return ""


def kept_draws(file: Path, digest: str) -> tuple[dict[str, Any], FloatArray, FloatArray] | None:
    """Return what was kept, or None where there is nothing, or nothing that fits the digest."""
    try:
        with np.load(io.BytesIO(file.read_bytes()), allow_pickle=False) as stored:
            about = json.loads(str(stored["about"]))
            draws, replicate = stored["draws"], stored["replicate"]
        names = about["names"]
        if about["digest"] != digest or (names and draws.shape != (len(names), replicate.size)):
            return None
    except _DAMAGED:
        return None  # damaged: as if there were none
    return about, draws, replicate
