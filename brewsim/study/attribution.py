"""Which inputs explain a measured batch: its deviation split over the factors, adding up exactly.

The change from an ordinary batch to this batch's posterior draws is walked factor by factor, in a
random order and its reverse, and each step is credited to the factor that was swapped. That is
the Shapley value of each draw's change, sampled over orders; it is exact for linear models.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.evaluate import run
from brewsim.study.problem import Factor
from brewsim.study.readings import Batch, Reading, latent_names
from brewsim.study.sampling import Assembly
from brewsim.study.update import Learned

READING_ERROR = "reading error"
_TOLD_APART = -0.5


@dataclass(frozen=True)
class Share:
    """One factor's part of a deviation, on the outcome's own scale."""

    factor: str
    label: str
    group: str
    kind: str
    estimate: float
    low: float
    high: float
    largest: float


@dataclass(frozen=True)
class Attribution:
    """A batch's deviation in one outcome, from `reference` to `reached`; shares sum to it."""

    batch: str
    outcome: str
    against: str
    reference: float
    reached: float
    shares: tuple[Share, ...]
    inseparable: tuple[tuple[str, str, float], ...]

    @property
    def deviation(self) -> float:
        """What there is to explain."""
        return self.reached - self.reference


def attribute(
    learned: Learned,
    batch: str,
    *,
    outcomes: Sequence[str] = (),
    against: Literal["house", "recipe"] = "house",
    seed: int = 1,
) -> tuple[Attribution, ...]:
    """Explain a batch, outcome by outcome.

    `against="house"`: from an ordinary batch of this brewery (same knowledge and lots, this
    brew's own scatter at its middle); `against="recipe"`: from what the recipe alone promised.
    Outcomes default to what was read in the batch. Raises StudyError for an unknown batch.
    """
    found = [b for b in learned.batches if b.id == batch]
    if not found:
        raise StudyError(f"no batch {batch}; there is {', '.join(b.id for b in learned.batches)}")
    rng = np.random.default_rng(seed)
    read = {r.quantity: r for r in found[0].readings if r.known is None and not r.trials}
    wanted = tuple(outcomes) or tuple(read)
    walk = _Walk(learned, found[0], wanted, against, rng)
    return tuple(
        _explained(walk, position, outcome, read.get(outcome))
        for position, outcome in enumerate(wanted)
    )


class _Walk:
    """Telescoping of all wanted outcomes over all factors upstream of them."""

    def __init__(
        self,
        learned: Learned,
        batch: Batch,
        outcomes: Sequence[str],
        against: str,
        rng: np.random.Generator,
    ) -> None:
        self.batch, self.against, problem = batch, against, batch.problem
        self.graph = problem.graph.pruned(outcomes)
        self.outcomes = tuple(outcomes)
        self.assembly = Assembly(problem, self.graph.inputs)
        self.places = self.assembly.active
        self.factors = [problem.factors[i] for i in self.places]
        self.count = len(learned.replicate)
        pairs = [self._scores(f, learned, rng) for f in self.factors]
        self.before = np.stack([p[0] for p in pairs]) if pairs else np.zeros((0, self.count))
        self.after = np.stack([p[1] for p in pairs]) if pairs else np.zeros((0, self.count))
        self.credit = self._telescope(rng)
        self.start = self._outcomes(self.before)
        self.end = self._outcomes(self.after)

    def _scores(
        self, factor: Factor, learned: Learned, rng: np.random.Generator
    ) -> tuple[FloatArray, FloatArray]:
        before, after = np.zeros(self.count), np.zeros(self.count)
        names = latent_names(factor, self.batch.id)
        for kind, share in factor.kinds.items():
            latent = learned.draws.get(names[kind])
            drawn = latent if latent is not None else rng.standard_normal(self.count)
            after = after + np.sqrt(share) * drawn
            if self.against == "recipe":
                continue
            own = kind == "batch" or (kind == "lot" and not factor.lot)
            before = before + (0.0 if own else np.sqrt(share) * drawn)
        return before, after

    def _outcomes(self, scores: FloatArray) -> FloatArray:
        rows = [np.zeros(self.count)] * len(self.batch.problem.factors)
        for place, row in zip(self.places, scores, strict=True):
            rows[place] = row
        values = run(self.graph.nodes.values(), self.assembly.values(rows))
        return np.stack(
            [
                np.broadcast_to(values[name].reshape(-1, values[name].shape[-1])[0], (self.count,))
                for name in self.outcomes
            ]
        )

    def _telescope(self, rng: np.random.Generator) -> FloatArray:
        credit = np.zeros((len(self.outcomes), len(self.factors), self.count))
        order = np.argsort(rng.random((len(self.factors), self.count)), axis=0)
        for walk in (order, order[::-1]):
            place = np.argsort(walk, axis=0)
            last = self._outcomes(self.before)
            for step in range(len(self.factors)):
                now = self._outcomes(np.where(place <= step, self.after, self.before))
                index = np.broadcast_to(walk[step], (len(self.outcomes), 1, self.count))
                change = np.take_along_axis(credit, index, axis=1) + 0.5 * (now - last)[:, None]
                np.put_along_axis(credit, index, change, axis=1)
                last = now
        return credit


def _explained(walk: _Walk, position: int, outcome: str, reading: Reading | None) -> Attribution:
    credit = walk.credit[position]
    reached, error = float(walk.end[position].mean()), None
    if reading is not None:
        error = reading.value - walk.end[position]
        reached = reading.value
    rows = [*credit, error] if error is not None else [*credit]
    biggest = np.argmax(np.abs(np.stack(rows)), axis=0) if rows else np.zeros(0)
    shares = [
        _share(factor.id, factor.label, factor.group, _main_kind(factor), row, biggest == i)
        for i, (factor, row) in enumerate(zip(walk.factors, credit, strict=True))
    ]
    if error is not None:
        mine = biggest == len(rows) - 1
        label = f"{READING_ERROR} and instrument"
        shares.append(_share(READING_ERROR, label, "measurement", "measurement", error, mine))
    shares.sort(key=lambda share: -abs(share.estimate))
    return Attribution(
        batch=walk.batch.id,
        outcome=outcome,
        against=walk.against,
        reference=float(walk.start[position].mean()),
        reached=reached,
        shares=tuple(shares),
        inseparable=_inseparable(walk.factors, credit),
    )


def _share(
    identity: str, label: str, group: str, kind: str, row: FloatArray, largest: FloatArray
) -> Share:
    low, high = np.quantile(row, [0.05, 0.95])
    return Share(
        identity,
        label,
        group,
        kind,
        float(row.mean()),
        float(low),
        float(high),
        float(np.mean(largest)),
    )


def _main_kind(factor: Factor) -> str:
    return max(factor.kinds.items(), key=lambda pair: pair[1])[0]


def _inseparable(
    factors: Sequence[Factor], credit: FloatArray
) -> tuple[tuple[str, str, float], ...]:
    """Return pairs among the six largest shares whose credit the readings cannot tell apart."""
    spread = credit.std(axis=1)
    top = [int(i) for i in np.argsort(-spread)[:6] if spread[i] > 1e-12]
    found = []
    for k, i in enumerate(top):
        for j in top[k + 1 :]:
            correlation = float(np.corrcoef(credit[i], credit[j])[0, 1])
            if correlation < _TOLD_APART:
                found.append((factors[i].label, factors[j].label, correlation))
    return tuple(sorted(found, key=lambda pair: pair[2]))
