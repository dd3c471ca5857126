"""What a brewery has learned: its batches, and posterior draws that the next recipe starts from.

`HOUSE.toml` holds the batches as entered and is the only source of truth. `HOUSE.draws.npz`
beside it holds draws of what all batches together say, and is rebuilt whenever a batch, a prior
or the version changed. A mean and a covariance are never kept: the posterior is a thin curved
ridge that a Gaussian leaves.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.closed_form import LogNormal, Normal
from brewsim.distributions.truncation import Truncated
from brewsim.errors import StudyError
from brewsim.files.text_files import read_text
from brewsim.logbook.brew import brew
from brewsim.logbook.house_draws import (
    digest_of,
    draws_path,
    keep_draws,
    kept_draws,
)
from brewsim.logbook.house_file import allows_outliers
from brewsim.logbook.house_log import latest_learned
from brewsim.logbook.house_store import add_batches
from brewsim.logbook.log import MAX_BYTES, Log, read_log
from brewsim.priors.library import Priors, load_priors
from brewsim.study.inference.panel import PEOPLE
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress
from brewsim.study.model.scatter import EVERYTHING, scatter_latent

_NEXT = "next"


@dataclass(frozen=True)
class House:
    """A brewery's knowledge: latent name -> normal scores, one per draw.

    `fingerprints` gives, for each latent, the distribution its scores belong to; `labels` what
    the latent is, in words. `batches` counts what was learned from, `held` what its file holds.
    `outliers` says that single wrong readings were allowed for. `remarks` says what could not be
    used for the recipe at hand.
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
    held: int = 0
    outliers: bool = False


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
            for name in _lasting(factor, batch):
                if name in learned.draws:
                    fingerprints.setdefault(name, fingerprint(factor))
                    labels.setdefault(name, factor.label)
    if EVERYTHING in learned.draws:
        fingerprints[EVERYTHING], labels[EVERYTHING] = "scatter", "scatter from batch to batch"
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


def _lasting(factor: Factor, batch: Batch) -> list[str]:
    """Return the latents of a factor that a next batch shares with this one."""
    parts = latent_names(factor, batch).items()
    kept = [name for kind, name in parts if kind == "knowledge" or (kind == "lot" and factor.lot)]
    return [*kept, scatter_latent(factor)]


def with_house(
    problem: Problem, house: House | str | Path, priors: Priors | None = None
) -> Problem:
    """Return the problem with what the house learned put in place of the priors' knowledge.

    Where the recipe states a spread of its own, the recipe wins and a remark says so; the remarks
    are `problem.learned.remarks`.
    """
    house = house if isinstance(house, House) else load_house(house, priors)
    usable: dict[str, FloatArray] = {}
    remarks = []
    if not house.trusted:
        remarks.append("what the house learned is not to be trusted; see `brewsim learn`")
    seen = set()
    for factor in problem.factors:
        for name in (*latent_names(factor, _NEXT).values(), scatter_latent(factor)):
            if name not in house.draws:
                continue
            seen.add(name)
            if house.fingerprints[name] == fingerprint(factor):
                usable[name] = house.draws[name]
            else:
                remarks.append(f"what the house learned about {factor.label} is not used here")
    if EVERYTHING in house.draws:
        usable[EVERYTHING] = house.draws[EVERYTHING]
    remarks += _gone(problem, house, seen | {EVERYTHING})
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
    time_limit_s: float | None = None,
    outliers: bool = False,
    progress: Progress | None = None,
    waiting: Callable[[], None] | None = None,
) -> tuple[House, Learned]:
    """Add batches to a house file (made if missing) and learn from all of its batches.

    `path` is of the house file, `log` what `read_batches` or `read_log_file` returns, `seed`,
    `time_limit_s`, `outliers` and `progress` as in `update`. The batches are written first, at
    once and under a lock, so that nobody's are lost, with whether `outliers` are allowed for; then
    they are learned from, and the draws written beside them. `waiting` is called where another
    process is writing. Raises InputError for batches that cannot be added, with nothing changed,
    and StudyError, saying that they are in the file, where nothing can be learned from them.

    >>> from brewsim import read_batches
    >>> learn("house.toml", read_batches("no-such-log.toml"))
    Traceback (most recent call last):
        ...
    brewsim.errors.InputError: no-such-log.toml: cannot be opened: No such file or directory
    """
    file, priors = Path(path), priors or load_priors()
    stored = add_batches(file, log, priors, waiting, outliers=outliers)
    try:
        learned, remarks = latest_learned(
            stored.log, seed, time_limit_s, progress, outliers=outliers
        )
    except StudyError as error:
        raise StudyError(f"{error} (the batches are in {file} all the same)") from error
    house = replace(
        house_of(learned, str(file), remarks), held=len(stored.log.entries), outliers=outliers
    )
    return _kept(house, stored.text, priors), learned


def load_house(path: str | Path, priors: Priors | None = None, seed: int = 1) -> House:
    """Return what a house file knows; its draws are computed again if they are missing or stale.

    `path` is of the file, `priors` as `load_priors` returns them. Raises InputError.

    >>> load_house("no-such-house.toml")
    Traceback (most recent call last):
        ...
    brewsim.errors.InputError: no-such-house.toml: cannot be opened: No such file or directory
    """
    file, priors = Path(path), priors or load_priors()
    text = read_text(file, MAX_BYTES)
    found = kept_draws(draws_path(file), digest_of(text, priors))
    if found is not None:
        return _house(*found, str(file))
    log = brew(read_log(text, None, str(file)), priors)
    allowed = allows_outliers(text)
    learned, remarks = latest_learned(log, seed, None, None, outliers=allowed)
    house = replace(house_of(learned, str(file), remarks), held=len(log.entries), outliers=allowed)
    return _kept(house, text, priors)


def _kept(house: House, text: str, priors: Priors) -> House:
    """Write the draws beside the house, unless it has changed since; return it with a remark.

    What is not to be trusted is not written.
    """
    file = Path(house.path)
    if not house.trusted or read_text(file, MAX_BYTES) != text:
        return house
    names = sorted(house.draws)
    about = {
        "names": names,
        "fingerprints": [house.fingerprints[n] for n in names],
        "labels": [house.labels[n] for n in names],
        "batches": house.batches,
        "held": house.held,
        "precision": house.precision,
        "trusted": house.trusted,
        "outliers": house.outliers,
        "remarks": list(house.remarks),
    }
    draws = np.stack([house.draws[n] for n in names]) if names else np.zeros((0, 0))
    why = keep_draws(draws_path(file), digest_of(text, priors), about, draws, house.replicate)
    if not why:
        return house
    told = f"the draws could not be kept beside {file} ({why}); every use computes them anew"
    return replace(house, remarks=(*house.remarks, told))


def _house(about: Mapping[str, Any], draws: FloatArray, replicate: FloatArray, path: str) -> House:
    names = [str(name) for name in about["names"]]
    return House(
        draws=dict(zip(names, draws, strict=True)) if names else {},
        replicate=replicate,
        fingerprints=dict(zip(names, about["fingerprints"], strict=True)),
        labels=dict(zip(names, about["labels"], strict=True)),
        batches=int(about["batches"]),
        held=int(about.get("held", about["batches"])),
        outliers=bool(about.get("outliers", False)),
        precision=float(about["precision"]),
        trusted=bool(about["trusted"]),
        remarks=tuple(about["remarks"]),
        path=path,
    )
