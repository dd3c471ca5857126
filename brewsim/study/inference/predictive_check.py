"""How far a reading lies from what was expected before it was read, and from what was learned."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.batch import Reading

_DRAWS = 4096
_LEAST = 0.001
"""No chance below this is told: it would be a count of a few draws."""


@dataclass(frozen=True)
class Surprise:
    """How a reading compares with what was expected before it was read.

    `quantity` is empty where people were counted.
    """

    batch: str
    label: str
    value: float
    expected: float
    low: float
    high: float
    chance: float
    residual: float
    quantity: str = ""


def surprises_of(model: Model, state: FloatArray, rng: np.random.Generator) -> tuple[Surprise, ...]:
    """Return one surprise for each reading, in the model's order; `state` is the chains' last."""
    before = model.predicted(rng.standard_normal((len(model.names), _DRAWS)))
    after = model.predicted(state)
    found = []
    for i, (batch, reading) in enumerate(model.readings):
        expected = before[i] + reading.noise * rng.standard_normal(before.shape[1])
        if reading.trials:
            expected = rng.binomial(reading.trials, np.clip(before[i], 0, 1)).astype(float)
        value = float(np.log(reading.value)) if reading.scale == "log" else reading.value
        below = (np.sum(expected <= value) + 0.5) / (len(expected) + 1)
        centre, low, high = np.nanquantile(expected, [0.5, 0.05, 0.95])
        if reading.scale == "log":
            centre, low, high = np.exp([centre, low, high])
        found.append(
            Surprise(
                batch=batch.id,
                label=_named(reading),
                value=reading.value,
                expected=float(centre),
                low=float(low),
                high=float(high),
                chance=float(2 * min(below, 1 - below)),
                residual=_residual(reading, value, float(after[i].mean())),
                quantity="" if reading.trials else reading.quantity,
            )
        )
    return tuple(found)


def _residual(reading: Reading, value: float, predicted: float) -> float:
    if reading.trials:
        noise = np.sqrt(max(predicted * (1 - predicted), 1e-9) * reading.trials)
        return float((value - predicted * reading.trials) / noise)
    return float((value - predicted) / reading.noise)


def _named(reading: Reading) -> str:
    return reading.label or reading.quantity


Told = Callable[[str, float], str]
"""Writes a value of a quantity down as it is to be read, with its unit."""


def plainly(_quantity: str, value: float) -> str:
    """Write a value down as the model has it."""
    return f"{value:.4g}"


def in_thousand(chance: float) -> str:
    """Return "about 3 in 1,000"; draws do not tell rare chances from each other."""
    return f"{'fewer than 1' if chance < _LEAST else f'about {1000 * chance:.0f}'} in 1,000"


def remarks_on(surprises: Sequence[Surprise], told: Told = plainly) -> list[str]:
    """Return which readings came out as few do, and which stay unexplained."""

    def written(surprise: Surprise, value: float) -> str:
        return (told if surprise.quantity else plainly)(surprise.quantity, value)

    far = [
        f"batch {s.batch}: {s.label} read {written(s, s.value)}, expected "
        f"{written(s, s.low)} to {written(s, s.high)}; {in_thousand(s.chance)} readings lie this "
        "far out"
        for s in surprises
        if s.chance < 0.01
    ]
    unexplained = [
        f"batch {s.batch}: nothing that was learned explains {s.label} = "
        f"{written(s, s.value)}; it stays {abs(s.residual):.1f} reading errors away. "
        "Check the reading"
        for s in surprises
        if abs(s.residual) > 3.5
    ]
    return far + unexplained
