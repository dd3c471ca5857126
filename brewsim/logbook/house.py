"""What a brewery has learned: its batches, and posterior draws that the next recipe starts from.

`HOUSE.toml` holds the batches as entered and is the only source of truth. `HOUSE.draws.npz`
beside it holds draws of what all batches together say, and is rebuilt whenever a batch, a prior
or the version changed. A mean and a covariance are never kept: the posterior is a thin curved
ridge that a Gaussian leaves.
"""

import datetime as dt
import hashlib
import io
import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.closed_form import LogNormal, Normal
from brewsim.distributions.truncation import Truncated
from brewsim.files.text_files import read_text, write_whole
from brewsim.logbook.house_file import house_text
from brewsim.logbook.house_log import latest_learned, merged
from brewsim.logbook.log import Log, parse_batches
from brewsim.priors.library import Priors, load_priors
from brewsim.study.inference.panel import PEOPLE
from brewsim.study.inference.update import Learned
from brewsim.study.model.batch import latent_names
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress

DRAWS_VERSION = 3
_NEXT = "next"


@dataclass(frozen=True)
class House:
    """A brewery's knowledge: latent name -> normal scores, one per draw.

    `fingerprints` gives, for each latent, the distribution its scores belong to; `labels` what
    the latent is, in words. `batches` counts what was learned from. `remarks` says what could not
    be used for the recipe at hand.
    """

    draws: Mapping[str, FloatArray]
    replicate: FloatArray
    fingerprints: Mapping[str, str]
    labels: Mapping[str, str]
    batches: int
    precision: float
    trusted: bool
    path: str = ""
    remarks: tuple[str, ...] = ()


def draws_path(path: Path) -> Path:
    """Return where the draws of a house file lie."""
    return path.with_suffix(".draws.npz")


def fingerprint(factor: Factor) -> str:
    """Return what a normal score of the factor means; equal texts mean the same.

    Of a lognormal only the spread counts: its score is a fold of whatever the recipe states. Of a
    normal only the spread over the mean: a planned volume moves with the recipe, and its score is
    a share of it.
    """
    shape = factor.distribution
    if isinstance(shape, Truncated) and isinstance(shape.whole, LogNormal):
        shape = shape.whole
    told = shape.fingerprint
    if isinstance(shape, LogNormal):
        told = f"lognormal fold {shape.log_sd!r}"
    elif isinstance(shape, Normal) and shape.location:
        told = f"normal share {shape.scale / shape.location:.9g}"
    return f"{told} {factor.kinds}"


def house_of(learned: Learned, path: str = "", remarks: tuple[str, ...] = ()) -> House:
    """Return what carries over to a next batch: knowledge, named lots, instruments' biases."""
    fingerprints: dict[str, str] = {}
    labels: dict[str, str] = {}
    for batch in learned.batches:
        for factor in batch.problem.factors:
            for kind, name in latent_names(factor, batch).items():
                lasting = kind == "knowledge" or (kind == "lot" and factor.lot)
                if lasting and name in learned.draws:
                    fingerprints.setdefault(name, fingerprint(factor))
                    labels.setdefault(name, factor.label)
    for name in learned.draws:
        if name.endswith(" @bias"):
            fingerprints[name], labels[name] = "bias", f"error of {name.partition(' @bias')[0]}"
    for answer in (answer for batch in learned.batches for answer in batch.answers):
        for name in answer.latents:
            fingerprints[name] = answer.fingerprint(name)
            labels[name] = f"tasters: {name.removesuffix(PEOPLE)}"
    return House(
        draws={name: learned.draws[name] for name in fingerprints},
        replicate=learned.replicate,
        fingerprints=fingerprints,
        labels=labels,
        batches=len(learned.batches),
        precision=learned.precision,
        trusted=learned.trusted,
        path=path,
        remarks=(*remarks, *learned.remarks),
    )


def with_house(
    problem: Problem, house: House | str | Path, priors: Priors | None = None
) -> Problem:
    """Return the problem with what the house learned put in place of the priors' knowledge.

    Where the recipe states a spread of its own, the recipe wins and a remark says so; the remarks
    are `problem.learned.remarks`.
    """
    house = house if isinstance(house, House) else load_house(house, priors)
    usable: dict[str, FloatArray] = {}
    remarks = [] if house.trusted else ["the draws of the house are not settled; learn again"]
    seen = set()
    for factor in problem.factors:
        for name in latent_names(factor, _NEXT).values():
            if name not in house.draws:
                continue
            seen.add(name)
            if house.fingerprints[name] == fingerprint(factor):
                usable[name] = house.draws[name]
            else:
                remarks.append(f"what the house learned about {factor.label} is not used here")
    remarks += _gone(problem, house, seen)
    kept = replace(house, draws=usable, remarks=tuple(dict.fromkeys(remarks)))
    return replace(problem, learned=kept)


def _gone(problem: Problem, house: House, seen: set[str]) -> list[str]:
    """Say which learned quantities the model does not have (any more)."""
    found = []
    for name in house.draws:
        quantity = name.partition(" @")[0].partition(" | ")[0]
        if name in seen or name.endswith((" @bias", PEOPLE)) or quantity in problem.graph:
            continue
        found.append(
            f"the house learned about {house.labels[name]} ({quantity}), which this version of "
            "brewsim does not compute; it is left out"
        )
    return found


def learn(
    path: str | Path,
    log: Log,
    priors: Priors | None = None,
    *,
    seed: int = 1,
    time_limit_s: float = 30.0,
    progress: Progress | None = None,
) -> tuple[House, Learned]:
    """Add batches to a house file (made if missing) and learn from all of its batches.

    `path` is of the house file, `log` what `read_batches` returns, `seed`, `time_limit_s` and
    `progress` as in `update`. Raises InputError for a batch that is already in it. Nothing is
    written unless all went well.

    >>> from brewsim.logbook.log import read_batches
    >>> learn("house.toml", read_batches("no-such-log.toml"))
    Traceback (most recent call last):
        ...
    brewsim.errors.InputError: no-such-log.toml: cannot be opened: No such file or directory
    """
    file, priors = Path(path), priors or load_priors()
    whole = merged(_log(file, priors), log, str(file)) if file.exists() else log
    text = house_text(whole)
    whole = parse_batches(text, None, str(file), priors)
    learned, remarks = latest_learned(whole, seed, time_limit_s, progress)
    house = house_of(learned, str(file), tuple(dict.fromkeys((*log.remarks, *remarks))))
    content = _packed(house, _digest(text, priors))
    write_whole(file, text.encode())
    write_whole(draws_path(file), content)
    return house, learned


def load_house(path: str | Path, priors: Priors | None = None, seed: int = 1) -> House:
    """Return what a house file knows; its draws are computed again if they are missing or stale.

    `path` is of the file, `priors` as `load_priors` returns them. Raises InputError.

    >>> load_house("no-such-house.toml")
    Traceback (most recent call last):
        ...
    brewsim.errors.InputError: no-such-house.toml: cannot be opened: No such file or directory
    """
    file, priors = Path(path), priors or load_priors()
    text = read_text(file)
    digest = _digest(text, priors)
    stored = _unpacked(draws_path(file), digest)
    if stored is not None:
        return replace(stored, path=str(file))
    log = parse_batches(text, None, str(file), priors)
    learned, remarks = latest_learned(log, seed, 30.0, None)
    house = house_of(learned, str(file), remarks)
    write_whole(draws_path(file), _packed(house, digest))
    return house


def _log(file: Path, priors: Priors) -> Log:
    return parse_batches(read_text(file), None, str(file), priors)


def _digest(text: str, priors: Priors) -> str:
    tables = [[k, n, q, t] for k, n, q, t in priors.tables()]
    whole = json.dumps([text, tables, DRAWS_VERSION], sort_keys=True, default=str)
    return hashlib.sha256(whole.encode()).hexdigest()


def _packed(house: House, digest: str) -> bytes:
    names = sorted(house.draws)
    about = {
        "digest": digest,
        "names": names,
        "fingerprints": [house.fingerprints[n] for n in names],
        "labels": [house.labels[n] for n in names],
        "batches": house.batches,
        "precision": house.precision,
        "trusted": house.trusted,
        "remarks": list(house.remarks),
        "written": dt.datetime.now(tz=dt.UTC).isoformat(timespec="seconds"),
    }
    stream = io.BytesIO()
    draws = np.stack([house.draws[n] for n in names]) if names else np.zeros((0, 0))
    np.savez_compressed(
        stream, draws=draws, replicate=house.replicate, about=np.array(json.dumps(about))
    )
    return stream.getvalue()


def _unpacked(file: Path, digest: str) -> House | None:
    """Return the stored draws, or None where there are none that fit the batches and priors."""
    try:
        with np.load(io.BytesIO(file.read_bytes()), allow_pickle=False) as stored:
            about = json.loads(str(stored["about"]))
            draws, replicate = stored["draws"], stored["replicate"]
        return _house(about, draws, replicate) if about["digest"] == digest else None
    except (OSError, ValueError, KeyError, TypeError, EOFError, BadZipFile, zlib.error):
        return None  # damaged: as if there were none


def _house(about: Mapping[str, Any], draws: FloatArray, replicate: FloatArray) -> House:
    names = [str(name) for name in about["names"]]
    if draws.shape != (len(names), replicate.size) and names:
        raise ValueError("the draws are not those of the names")
    return House(
        draws=dict(zip(names, draws, strict=True)) if names else {},
        replicate=replicate,
        fingerprints=dict(zip(names, about["fingerprints"], strict=True)),
        labels=dict(zip(names, about["labels"], strict=True)),
        batches=int(about["batches"]),
        precision=float(about["precision"]),
        trusted=bool(about["trusted"]),
        remarks=tuple(about["remarks"]),
    )
