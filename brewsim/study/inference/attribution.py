"""Which inputs explain a measured batch: its deviation split over causes, adding up exactly.

A cause is one kind of one factor (what is not known, this lot, this brew), the instrument's own
error, or the reading's. The change from an ordinary batch to this batch's posterior draws is
walked cause by cause, in a random order and its reverse, and each step is credited to the cause
that was swapped: the Shapley value of each draw's change, sampled; exact for linear models.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from scipy.special import ndtr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.inference.cause_paths import CausePaths
from brewsim.study.inference.experimental_design import Spread
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Reading, bias_latent
from brewsim.study.model.html_table import SHOWN, html_table

READING_ERROR, INSTRUMENT, _TOLD_APART = "reading error", "instrument", -0.5


@dataclass(frozen=True)
class Share:
    """One cause's part of a deviation, on the outcome's own scale.

    A factor has a share for each kind of its spread that moved; `returns` tells whether the next
    batch has it too (all but this brew, an unnamed lot, and the reading).
    """

    factor: str
    label: str
    group: str
    kind: str
    estimate: float
    low: float
    high: float
    largest: float
    returns: bool = False


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
    credits: Mapping[tuple[str, str], FloatArray] = field(default_factory=dict, repr=False)
    """(factor, kind) -> its credit in every draw, for those that moved."""

    @property
    def deviation(self) -> float:
        """What there is to explain."""
        return self.reached - self.reference

    @property
    def own(self) -> tuple[Share, ...]:
        """The shares that this batch does not pass on to the next."""
        return tuple(share for share in self.shares if not share.returns)

    @property
    def step(self) -> float:
        """How far the batch is from what an ordinary one would read by the same instrument."""
        return self.deviation - sum(share.estimate for share in self.shares if share.returns)

    @property
    def ordinary(self) -> float:
        """What an ordinary batch would read by the same instrument."""
        return self.reached - self.step

    def _repr_html_(self) -> str:
        """Return a table for notebooks: the largest shares of the deviation."""
        ranked = sorted(self.shares, key=lambda share: -abs(share.estimate))[:SHOWN]
        rows = [
            (s.label, s.kind, f"{s.estimate:+.3g}", f"{s.low:+.3g} to {s.high:+.3g}")
            for s in ranked
        ]
        caption = f"{self.batch}, {self.outcome}: {self.deviation:+.3g} against {self.against}"
        return html_table(caption, ("cause", "kind", "share", "nine in ten"), rows)

    def chance(self, scatter: Sequence[Spread]) -> float | None:
        """Return the chance that an ordinary batch is as far from its middle; None if not known."""
        for spread in scatter:
            if spread.quantity == self.outcome and spread.expected > 0:
                return float(2 * ndtr(-abs(self.step) / spread.expected))
        return None


def attribute(
    learned: Learned,
    batch: str,
    *,
    outcomes: Sequence[str] = (),
    against: Literal["house", "recipe"] = "house",
    seed: int = 1,
) -> tuple[Attribution, ...]:
    """Explain a `batch`, outcome by outcome, from what was `learned` (the result of `update`).

    `against="house"`: from an ordinary batch of this brewery (same knowledge and lots, this
    brew's own scatter at its middle); `against="recipe"`: from what the recipe alone promised.
    Without outcomes, every reading of the batch is explained by itself, in the order of the batch.
    Raises StudyError for an unknown batch or outcome.

    >>> from brewsim import Batch, Problem, Reading, learn, normal
    >>> def twice(a):
    ...     return 2 * a
    >>> made = Problem.of([twice], {"a": normal(1.0, 0.3)})
    >>> learned = learn(made, [Batch("B1", made, (Reading("twice", 2.4, 0.1),))], seed=3)
    >>> round(attribute(learned, "B1", against="recipe")[0].reference, 1)
    2.0
    """
    if against not in ("house", "recipe"):
        raise StudyError(f"a batch is explained against house or recipe, not {against!r}")
    learned.problem.require(outcomes)
    found = [b for b in learned.batches if b.id == batch]
    if not found:
        raise StudyError(f"no batch {batch}; there is {', '.join(b.id for b in learned.batches)}")
    rng = np.random.default_rng(seed)
    read = [(r.quantity, r) for r in found[0].readings if r.known is None and not r.trials]
    last = dict(read)
    wanted = [(name, last.get(name)) for name in outcomes] if outcomes else read
    walk = CausePaths(
        learned, found[0], tuple(dict.fromkeys(name for name, _ in wanted)), against, rng
    )
    return tuple(
        _explained(walk, walk.outcomes.index(outcome), outcome, reading)
        for outcome, reading in wanted
    )


def _explained(
    walk: CausePaths, position: int, outcome: str, reading: Reading | None
) -> Attribution:
    credit, end = walk.credit[position], walk.end[position]
    reached = float(end.mean()) if reading is None else reading.value
    about = [(c.factor.id, c.factor.label, c.factor.group, c.kind, c.returns) for c in walk.causes]
    rows = list(credit)
    if reading is not None:
        bias = _instrument_part(walk.learned, reading, end)
        if reading.bias > 0:
            about.append(
                (
                    INSTRUMENT,
                    f"error of {reading.instrument.partition(', ')[0]}",
                    "reading",
                    INSTRUMENT,
                    True,
                )
            )
            rows.append(bias)
        about.append((READING_ERROR, "this reading's own error", "reading", "measurement", False))
        rows.append(reading.value - end - bias)
    biggest = np.argmax(np.abs(np.stack(rows)), axis=0) if rows else np.zeros(0)
    shares = [
        _share(*who, row, biggest == i)
        for i, (who, row) in enumerate(zip(about, rows, strict=True))
    ]
    shares.sort(key=lambda share: -abs(share.estimate))
    return Attribution(
        batch=walk.batch.id,
        outcome=outcome,
        against=walk.against,
        reference=float(walk.start[position].mean()),
        reached=reached,
        shares=tuple(shares),
        inseparable=_inseparable([w[0] for w in about], rows),
        credits={(w[0], w[3]): row for w, row in zip(about, rows, strict=True)},
    )


def _instrument_part(learned: Learned, reading: Reading, end: FloatArray) -> FloatArray:
    """Return what the instrument's own error adds to what is really there."""
    latent = learned.draws.get(bias_latent(reading)) if reading.bias > 0 else None
    if latent is None:
        return np.zeros_like(end)
    shift = reading.bias * latent
    return end * np.expm1(shift) if reading.scale == "log" else shift


def _share(
    identity: str,
    label: str,
    group: str,
    kind: str,
    returns: bool,
    row: FloatArray,
    largest: FloatArray,
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
        returns,
    )


def _inseparable(
    names: Sequence[str], rows: Sequence[FloatArray]
) -> tuple[tuple[str, str, float], ...]:
    """Return pairs among the six widest shares whose credit the readings cannot tell apart."""
    spread = [float(row.std()) for row in rows]
    top = [int(i) for i in np.argsort(spread)[::-1][:6] if spread[i] > 1e-12]
    found = []
    for k, i in enumerate(top):
        for j in top[k + 1 :]:
            correlation = float(np.corrcoef(rows[i], rows[j])[0, 1])
            if correlation < _TOLD_APART and names[i] != names[j]:
                found.append((names[i], names[j], correlation))
    return tuple(sorted(found, key=lambda pair: pair[2]))
