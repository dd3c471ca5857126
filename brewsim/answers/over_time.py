"""What changed over a log, quantity by quantity, and what the next batch in a place will read.

Every reading is taken less what an ordinary batch of this house would read by the same instrument;
of these differences `study/inference/over_time.py` says what is drift and what is tank or brewer.
"""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.ordinary import ordinary
from brewsim.study.inference.over_time import Series, changed
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, Reading

LEAST_BATCHES = 8
"""Of fewer batches with a reading nothing is told of time and place."""
_LEAST_EACH = 2
_ENDS = (0.05, 0.5, 0.95)
_MOST_GROUPS = 2


@dataclass(frozen=True)
class Effect:
    """A change: nine in ten from `low` to `high`, model units, and the chance that it is there.

    `chance` is that of any such change at all, `side` that it is not of the other sign.
    """

    what: tuple[str, ...]
    low: float
    middle: float
    high: float
    chance: float
    side: float


@dataclass(frozen=True)
class NextReading:
    """What the next batch with these labels will read, nine in ten, model units."""

    labels: Mapping[str, str]
    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class OverTime:
    """One read quantity over a log: its drift, differences between labels, and what is next.

    A difference's `what` is group, label and the label it is held against. Of a quantity read on a
    log scale changes are those around its middle.
    """

    quantity: str
    batches: int
    drift: Effect
    differences: tuple[Effect, ...]
    following: tuple[NextReading, ...]


def over_time(learned: Learned, seed: int = 1) -> tuple[OverTime, ...]:
    """Return what changed over the log in every quantity that was read often enough."""
    usual = iter(ordinary(learned, learned.batches))
    rows: dict[tuple[str, str], list[tuple[Batch, Reading, FloatArray]]] = {}
    for batch in learned.batches:
        for reading in batch.readings:
            middle = next(usual)
            if reading.known is None and not reading.trials and reading.row is None:
                rows.setdefault((reading.quantity, reading.instrument), []).append(
                    (batch, reading, middle)
                )
    return tuple(
        _over_time(learned, found, seed) for found in rows.values() if len(found) >= LEAST_BATCHES
    )


def _over_time(
    learned: Learned, rows: Sequence[tuple[Batch, Reading, FloatArray]], seed: int
) -> OverTime:
    batches, reading = [batch for batch, _, _ in rows], rows[-1][1]
    logged = reading.scale == "log"
    read = np.array([r.value for _, r, _ in rows])
    usual = np.array([middle for _, _, middle in rows])
    values = (np.log(read) if logged else read) - usual.mean(axis=1)
    groups = _groups(batches)
    least = float(np.median([r.noise for _, r, _ in rows]))
    found = changed(Series(values, _days(batches), groups, least), seed)

    def effect(what: tuple[str, ...], draws: FloatArray, chance: float) -> Effect:
        low, middle, high = np.quantile(draws, _ENDS)
        if logged:
            size = 2 * float(np.exp(usual.mean()))
            low, middle, high = (size * float(np.sinh(end / 2)) for end in (low, middle, high))
        above = float(np.mean(draws > 0))
        return Effect(what, float(low), float(middle), float(high), chance, max(above, 1 - above))

    differences = []
    for group, offsets in found.offsets.items():
        labels = [label for label, _ in Counter(groups[group]).most_common() if label]
        differences += [
            effect((group, one, labels[0]), offsets[one] - offsets[labels[0]], found.differs[group])
            for one in labels[1:]
        ]
    after = _after(learned, reading, usual)
    rng = np.random.default_rng(seed)
    following = []
    for place in _places(groups):
        ends = np.quantile(_mixed(after, found.next_value(place, rng), rng), _ENDS)
        low, middle, high = map(float, np.exp(ends) if logged else ends)
        following.append(NextReading(place, low, middle, high))
    return OverTime(
        quantity=reading.quantity,
        batches=len(rows),
        drift=effect((), found.drift, found.drifts),
        differences=tuple(differences),
        following=tuple(following),
    )


def _mixed(after: FloatArray, deviation: FloatArray, rng: np.random.Generator) -> FloatArray:
    return after[rng.integers(len(after), size=len(deviation))] + deviation


def _after(learned: Learned, reading: Reading, usual: FloatArray) -> FloatArray:
    """Return what an ordinary next batch reads, (draws,), sure as far as the log's own are.

    What all batches have in common is known from their readings already; only how the next
    recipe differs from theirs adds to the spread.
    """
    (following,) = ordinary(learned, [Batch("next", learned.problem, (reading,))])
    log = usual.mean(axis=0)
    return np.asarray(log.mean() + following - log)


def _days(batches: Sequence[Batch]) -> FloatArray:
    """Return the day of every batch; their numbers in order where any has no date."""
    try:
        days = [dt.date.fromisoformat(batch.notes.get("date", "")).toordinal() for batch in batches]
    except ValueError:
        return np.arange(len(batches), dtype=float)
    return np.array(days, dtype=float)


def _groups(batches: Sequence[Batch]) -> dict[str, tuple[str, ...]]:
    """Return labels by group for the groups with two labels or more of two batches or more."""
    names = dict.fromkeys(name for batch in batches for name in batch.notes if name != "date")
    found: dict[str, tuple[str, ...]] = {}
    for name in names:
        given = [batch.notes.get(name, "") for batch in batches]
        counts = Counter(label for label in given if label)
        kept = {label for label, count in counts.items() if count >= _LEAST_EACH}
        if len(kept) > 1 and len(found) < _MOST_GROUPS:
            found[name] = tuple(label if label in kept else "" for label in given)
    return found


def _places(groups: Mapping[str, Sequence[str]]) -> list[dict[str, str]]:
    """Return the labels to foresee: every label of the first group, the others as last brewed."""
    last = {
        name: next(label for label in reversed(given) if label) for name, given in groups.items()
    }
    if not groups:
        return [{}]
    first = next(iter(groups))
    return [{**last, first: label} for label in sorted(set(groups[first]) - {""})]
