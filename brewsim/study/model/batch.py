"""Measured batches: readings and the names of the latents behind them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value of a quantity.

    `noise` is the repeatability (standard uncertainty) and `bias` the standard uncertainty of the
    instrument's own error, shared by all its readings; both in the quantity's unit, or of the
    natural logarithm where `scale` is "log". `known` states the true value of a calibration
    reading, which tells about the instrument only. With `trials` the reading is a count of
    `value` out of `trials` and the quantity is a share between 0 and 1.
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


@dataclass(frozen=True)
class Batch:
    """One brewed batch: what was really done (as a problem) and what was measured."""

    id: str
    problem: Problem
    readings: tuple[Reading, ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)


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


def latent_names(factor: Factor, batch_id: str) -> dict[str, str]:
    """Return kind -> latent name for the kinds the factor has a share in."""
    namers = {
        "knowledge": knowledge_latent(factor),
        "lot": lot_latent(factor, batch_id),
        "batch": batch_latent(factor, batch_id),
    }
    return {kind: namers[kind] for kind, _ in factor.kinds.items()}


def bias_latent(reading: Reading) -> str:
    """Name of the latent of an instrument's own error, shared by all its readings."""
    return f"{reading.instrument or reading.quantity} @bias"
