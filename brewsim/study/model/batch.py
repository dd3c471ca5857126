"""Measured and tasted batches, and the names of the latents behind them."""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from brewsim.dims import FloatArray
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem

Cup = tuple[str, str]
"""What was in a glass: a batch's id and a quantity of it."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value of a quantity.

    `noise` is the repeatability (standard uncertainty) and `bias` the standard uncertainty of the
    instrument's own error, shared by all its readings; both in the quantity's unit, or of the
    natural logarithm where `scale` is "log". `known` states the true value of a calibration
    reading, which tells about the instrument only. With `trials` the reading is a count of
    `value` out of `trials` and the quantity is a share between 0 and 1.

    >>> Reading("final_gravity_sg", 1.0105, noise=0.0005, instrument="my hydrometer").scale
    'linear'
    """

    quantity: str
    value: float
    noise: float
    instrument: str = ""
    bias: float = 0.0
    scale: Literal["linear", "log"] = "linear"
    row: int | None = None
    known: float | None = None
    trials: int = 0
    label: str = ""


class Answer(ABC):
    """What people said of one or several cups, with an exact likelihood.

    Beside the cups it depends on latents of the people (`latents`), which many answers share; an
    answer's methods take them as a mapping of such latents to their scores.
    """

    cups: tuple[Cup, ...]
    label: str
    taster: str

    @property
    @abstractmethod
    def latents(self) -> tuple[str, ...]:
        """Names of the people's latents that it depends on."""

    @abstractmethod
    def fingerprint(self, latent: str) -> str:
        """Return what a score of one of its latents means; equal texts mean the same."""

    @abstractmethod
    def log(self, ys: Sequence[FloatArray], scores: Mapping[str, FloatArray]) -> FloatArray:
        """Return the log likelihood, (n,), from each cup's value, (n,), and the people's scores."""

    @abstractmethod
    def row(self, ys: Sequence[FloatArray], scores: Mapping[str, FloatArray]) -> FloatArray:
        """Return a smooth residual, (n,), to linearise; only moves are guided by it."""

    @property
    @abstractmethod
    def outcomes(self) -> tuple["Answer", ...]:
        """Every answer that could have been given to the same question, this one among them."""

    @property
    def log_ways(self) -> float:
        """Log of the number of ways to get this answer, which `log` leaves out."""
        return 0.0


@dataclass(frozen=True)
class Batch:
    """One brewed batch: what was really done (as a problem), what was measured and said of it.

    An answer about several batches stands with one of them. `split_of` is the batch whose wort it
    shares: then only the quantities in `apart` have scatter of this batch's own.

    `notes` are for the person: the date. Its readings are in the units of their quantities.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> made = Problem.of([total], {"a": normal(1.0, 0.1), "b": normal(2.0, 0.1)})
    >>> Batch("B7", made, (Reading("total", 3.1, 0.05),)).id
    'B7'
    """

    id: str
    problem: Problem
    readings: tuple[Reading, ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)
    answers: tuple[Answer, ...] = ()
    split_of: str = ""
    apart: frozenset[str] = frozenset()


def knowledge_latent(factor: Factor) -> str:
    """Name of the latent every batch shares."""
    return f"{factor.id} @knowledge"


def lot_latent(factor: Factor, batch_id: str) -> str:
    """Name of a lot's latent: shared by all batches that name the lot, else the batch's own."""
    if factor.lot:
        return f"{factor.quantity} @lot {factor.lot}"
    return f"{factor.id} @lot of {batch_id}"


def batch_latent(factor: Factor, batch_id: str) -> str:
    """Name of the latent of this batch alone."""
    return f"{factor.id} @batch {batch_id}"


def latent_names(factor: Factor, batch: str | Batch) -> dict[str, str]:
    """Return kind -> latent name for the kinds the factor has a share in, in a batch or its id.

    Part of a split wort shares its lots and what is not its own with the batch it was split of.
    """
    if isinstance(batch, Batch) and batch.split_of:
        own, shared = latent_names(factor, batch.id), latent_names(factor, batch.split_of)
        apart = factor.quantity in batch.apart
        return {kind: own[kind] if kind == "batch" and apart else shared[kind] for kind in own}
    name = batch if isinstance(batch, str) else batch.id
    namers = {
        "knowledge": knowledge_latent(factor),
        "lot": lot_latent(factor, name),
        "batch": batch_latent(factor, name),
    }
    return {kind: namers[kind] for kind, _ in factor.kinds.items()}


def bias_latent(reading: Reading) -> str:
    """Name of the latent of an instrument's own error, shared by all its readings."""
    return f"{reading.instrument or reading.quantity} @bias"
