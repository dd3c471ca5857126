"""How far a reading lies from what was expected before it was read, and from what was learned."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, xlog1py, xlogy

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.batch import Answer, Reading

_DRAWS = 4096
FAR = 3.5
"""Reading errors beyond which a reading stays unexplained."""
_MOST_UNEXPLAINED, _MOST_OUTLIERS = 0.02, 0.1
"""Shares of readings that may stay unexplained; more with errors that allow for outliers."""
_AT_ONCE = 100_000
"""Draws times batches evaluated at once: a long log would else take all memory there is."""
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

    @property
    def unexplained(self) -> bool:
        """Whether nothing that was learned comes near the reading."""
        return abs(self.residual) > FAR


def surprises_of(model: Model, state: FloatArray, rng: np.random.Generator) -> tuple[Surprise, ...]:
    """Return one surprise for each reading, in the model's order; `state` is the chains' last."""
    before = _foreseen(model, rng)
    after = model.predicted(state)
    found = []
    for i, (batch, reading) in enumerate(model.readings):
        if reading.trials:
            found.append(_counted(batch.id, reading, before[i], float(after[i].mean())))
            continue
        expected = before[i] + reading.noise * rng.standard_normal(before.shape[1])
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
                residual=float((value - after[i].mean()) / reading.noise),
                quantity=reading.quantity,
            )
        )
    return tuple(found)


def _foreseen(model: Model, rng: np.random.Generator) -> FloatArray:
    """Return what the priors alone foresee, rows as in `Model.predicted`, (rows, draws)."""
    at_once = max(1, min(_DRAWS, _AT_ONCE // len(model.batches)))
    parts = [min(at_once, _DRAWS - start) for start in range(0, _DRAWS, at_once)]
    drawn = [model.predicted(rng.standard_normal((len(model.names), part))) for part in parts]
    return np.concatenate(drawn, axis=1)


def too_many_unexplained(surprises: Sequence[Surprise], *, outliers: bool) -> tuple[str, ...]:
    """Return why so many unexplained readings forbid to trust what was learned, if they do.

    A single one never does: it is named, and moves what was learned by little.
    """
    far = sum(s.unexplained for s in surprises)
    if far <= max(1.0, (_MOST_OUTLIERS if outliers else _MOST_UNEXPLAINED) * len(surprises)):
        return ()
    why = (
        f"{far} of {len(surprises)} readings stay unexplained: what was learned is not to be "
        "trusted. Check them, and what was done otherwise in these batches"
    )
    return (why,)


def _counted(batch: str, reading: Reading, share: FloatArray, after: float) -> Surprise:
    """Return the surprise of a count, whose chance is that of a count no likelier than it."""
    counts = np.arange(reading.trials + 1)
    known = share[np.isfinite(share)]
    chances = _binomial(counts[:, None], reading.trials, np.clip(known, 0, 1)).mean(axis=1)
    low, centre, high = np.searchsorted(np.cumsum(chances), [0.05, 0.5, 0.95])
    noise = np.sqrt(max(after * (1 - after), 1e-9) * reading.trials)
    return Surprise(
        batch=batch,
        label=_named(reading),
        value=reading.value,
        expected=float(centre),
        low=float(low),
        high=float(min(high, reading.trials)),
        chance=rarity(chances, int(reading.value)),
        residual=float((reading.value - after * reading.trials) / noise),
    )


def _binomial(counts: NDArray[np.int_], trials: int, share: FloatArray) -> FloatArray:
    """Return the chance of each count of so many trials."""
    ways = gammaln(trials + 1) - gammaln(counts + 1) - gammaln(trials - counts + 1)
    found = ways + xlogy(counts, share) + xlog1py(trials - counts, -share)
    return np.asarray(np.exp(found), dtype=np.float64)


def rarity(chances: FloatArray, told: int) -> float:
    """Return the chance of an outcome no likelier than the one at place `told`."""
    slack = 1 + 1e-9
    return float(min(1.0, chances[chances <= chances[told] * slack].sum() / chances.sum()))


@dataclass(frozen=True)
class OddAnswer:
    """An answer beside what was expected before it was given.

    `expected` is the likeliest answer, `chance` that of one no likelier than the answer given.
    """

    answer: Answer
    expected: Answer
    chance: float


def odd_answers(model: Model, rng: np.random.Generator) -> tuple[OddAnswer, ...]:
    """Return each answer of the model with what the priors alone expected, in its order."""
    before = _foreseen(model, rng)
    return tuple(expected_answer(answer, ys, scores) for answer, ys, scores in model.tasted(before))


def expected_answer(
    answer: Answer, ys: Sequence[FloatArray], scores: Mapping[str, FloatArray]
) -> OddAnswer:
    """Return an answer beside what samples of the cups and people expect."""
    chances = answer_chances(answer, ys, scores).mean(axis=1)
    outcomes = answer.outcomes
    return OddAnswer(
        answer, outcomes[int(chances.argmax())], rarity(chances, outcomes.index(answer))
    )


def answer_chances(
    answer: Answer, ys: Sequence[FloatArray], scores: Mapping[str, FloatArray]
) -> FloatArray:
    """Return the chance of every possible answer to the same question, (outcomes, n)."""
    with np.errstate(all="ignore"):
        logs = [other.log(ys, scores) + other.log_ways for other in answer.outcomes]
    return np.exp(np.stack(logs))


def _named(reading: Reading) -> str:
    return reading.label or reading.quantity


WrittenAs = Callable[[str, float], str]
"""Writes a value of a quantity down as it is to be read, with its unit."""


def plainly(_quantity: str, value: float) -> str:
    """Write a value down as the model has it."""
    return f"{value:.4g}"


def in_thousand(chance: float) -> str:
    """Return "about 3 in 1,000"; draws do not tell rare chances from each other."""
    return f"{'fewer than 1' if chance < _LEAST else f'about {1000 * chance:.0f}'} in 1,000"


def remarks_on(surprises: Sequence[Surprise], written_as: WrittenAs = plainly) -> list[str]:
    """Return which readings came out as few do, and which stay unexplained."""

    def written(surprise: Surprise, value: float) -> str:
        return (written_as if surprise.quantity else plainly)(surprise.quantity, value)

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
        if s.unexplained
    ]
    return far + unexplained
