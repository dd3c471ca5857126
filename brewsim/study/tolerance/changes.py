"""What changed in a log of batches: the few simplest causes that account for its odd readings.

A cause moves some quantities in some batches by one amount: one batch, all from a day on, all of
one group, or more with every batch (a drift). The cause that an ordinary log is least likely to
show is taken, its amount fitted beside those before it, and so on while its chance, times all the
forms that causes have (Bonferroni), is small: a matching pursuit. Quantities are taken to scatter
independently.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.special import chdtrc, stdtr, stdtrit

from brewsim.dims import FloatArray

Shape = Literal["one", "step", "group", "drift"]
FEWEST = 8
"""Fewer batches hold no change worth naming: assumption."""
_EDGE = 3
"""A step leaves so many batches on either side, a group so many inside and outside."""
_SURE = 3.5
"""Minus the logarithm of a chance of 1 in 33, without the number of forms tried: of 40 ordinary
logs of `tests/benchmarks/planted_causes.py` 3 were told something."""
_DISAGREE = 0.01
_MOST, _SHAPES = 8, 3


@dataclass(frozen=True)
class Change:
    """One cause: its shape, the quantities it moves, the batches it reaches, and by how much.

    `amount` is what it adds (a drift: from the first batch to the last), `low` and `high` hold it
    nine times in ten. `score` is minus the logarithm of the
    chance that an ordinary log shows such a cause, `group` a tag and its value.
    """

    shape: Shape
    quantities: tuple[str, ...]
    places: tuple[int, ...]
    amount: float
    low: float
    high: float
    score: float
    group: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class _Candidate:
    """A pattern over batches that columns may share, and how many forms compete with it."""

    shape: Shape
    columns: tuple[int, ...]
    pattern: FloatArray
    forms: int
    group: tuple[str, str] = ("", "")


class _Columns:
    """The values (batches, quantities), nan where nothing was read, and patterns found in each."""

    def __init__(self, values: FloatArray, least: FloatArray) -> None:
        self.values, self.least = values, least
        self.patterns = [[np.ones(len(values))] for _ in values.T]

    def free(self, column: int) -> int:
        """Return the degrees of freedom that the patterns leave of a column."""
        return _left(self.values[:, column], np.column_stack(self.patterns[column]))[1]

    def amount(self, column: int, pattern: FloatArray) -> tuple[float, float]:
        """Return what a pattern adds to a column beside the others, and its standard error."""
        others = [p for p in self.patterns[column] if p is not pattern]
        design = np.column_stack([*others, pattern])
        y = self.values[:, column]
        known = np.isfinite(y)
        found, _, rank, _ = np.linalg.lstsq(design[known], y[known], rcond=None)
        if rank < design.shape[1]:
            return math.nan, math.inf
        left, free = _left(y, design)
        spread = left / max(1, free) + self.least[column] ** 2
        inverse = np.linalg.inv(design[known].T @ design[known])
        return float(found[-1]), math.sqrt(spread * float(inverse[-1, -1]))

    def common(self, one: _Candidate) -> tuple[float, float]:
        """Return the amount that all columns of a candidate share, and its standard error.

        The error is infinite where the columns do not agree on one amount (Cochran's Q).
        """
        found = [self.amount(column, one.pattern) for column in one.columns]
        weights = [1 / error**2 for _, error in found]
        if not sum(weights) > 0 or any(math.isinf(error) for _, error in found):
            return math.nan, math.inf
        mean = sum(w * a for w, (a, _) in zip(weights, found, strict=True)) / sum(weights)
        apart = sum(w * (a - mean) ** 2 for w, (a, _) in zip(weights, found, strict=True))
        if len(found) > 1 and chdtrc(len(found) - 1, apart) < _DISAGREE:
            return mean, math.inf
        return mean, 1 / math.sqrt(sum(weights))

    def score(self, one: _Candidate) -> float:
        """Return minus the logarithm of the chance of such an amount in an ordinary log.

        Student's t on the degrees of freedom that all its columns leave, times its forms.
        """
        amount, error = self.common(one)
        free = sum(self.free(column) - 1 for column in one.columns)
        if free < _EDGE or not 0 < error < math.inf:
            return -math.inf
        with np.errstate(divide="ignore"):
            tail = float(np.log(stdtr(free, -abs(amount) / error))) + math.log(2)
        return -tail - math.log(one.forms)


def _left(y: FloatArray, design: FloatArray) -> tuple[float, int]:
    known = np.isfinite(y)
    found, _, rank, _ = np.linalg.lstsq(design[known], y[known], rcond=None)
    return float(((y[known] - design[known] @ found) ** 2).sum()), int(known.sum()) - int(rank)


def changes(
    values: FloatArray,
    quantities: Sequence[str],
    *,
    groups: Mapping[str, Sequence[str]] | None = None,
    together: Sequence[Sequence[str]] = (),
    rounding: FloatArray | None = None,
) -> tuple[Change, ...]:
    """Return what changed in values (batches, quantities) in time, the surest first.

    nan stands where nothing was read. `groups` names tags, each with a value for every batch (""
    for none). `together` are quantities that one instrument reads in one unit: an error of it
    moves all of them by the same amount. `rounding` is the step each quantity was written in.

    >>> import numpy as np
    >>> made = np.random.default_rng(1).normal(20.0, 0.5, (12, 1))
    >>> made[7] += 6
    >>> [(c.shape, c.places) for c in changes(made, ["bitterness"])]
    [('one', (7,))]
    """
    count = len(values)
    steps = np.zeros(len(quantities)) if rounding is None else rounding
    columns = _Columns(np.array(values, dtype=float), steps / math.sqrt(12))
    able = {n for n, y in zip(quantities, values.T, strict=True) if np.isfinite(y).sum() >= FEWEST}
    where = {name: place for place, name in enumerate(quantities)}
    joined = [[name for name in names if name in able] for names in together]
    sets = [[name] for name in quantities if name in able] + [j for j in joined if len(j) > 1]
    kinds = len(sets) * (_SHAPES + len(groups or {}))
    candidates = [
        replace(one, forms=one.forms * kinds)
        for names in sets
        for one in _candidates(count, tuple(where[n] for n in names), groups or {})
    ]
    found: list[tuple[_Candidate, float]] = []
    while candidates and len(found) < _MOST:
        scores = [columns.score(one) for one in candidates]
        best = int(np.argmax(scores))
        if scores[best] < _SURE:
            break
        found.append((candidates.pop(best), scores[best]))
        for column in found[-1][0].columns:
            columns.patterns[column].append(found[-1][0].pattern)
    told = [_change(columns, one, score, quantities) for one, score in found]
    return tuple(sorted(told, key=lambda change: -change.score))


def _candidates(
    count: int, columns: tuple[int, ...], groups: Mapping[str, Sequence[str]]
) -> Iterator[_Candidate]:
    order = np.arange(count)
    for place in order:
        yield _Candidate("one", columns, (order == place).astype(float), count)
    for place in order[_EDGE : count - _EDGE + 1]:
        yield _Candidate("step", columns, (order >= place).astype(float), count - 2 * _EDGE + 1)
    if len(columns) > 1:
        return  # an instrument is off for a day or from a day on
    yield _Candidate("drift", columns, order / max(1, count - 1), 1)
    for tag, members in groups.items():
        names = sorted({name for name in members if name})
        for name in names[1:] if len(names) == 2 else names:
            inside = np.array([member == name for member in members])
            if _EDGE <= inside.sum() <= count - _EDGE:
                group = (tag, name)
                yield _Candidate("group", columns, inside.astype(float), len(names), group)


def _change(columns: _Columns, one: _Candidate, score: float, quantities: Sequence[str]) -> Change:
    amount, error = columns.common(one)
    free = columns.free(one.columns[0])
    half = float(stdtrit(max(2, free), 0.95)) * error
    return Change(
        one.shape,
        tuple(quantities[c] for c in one.columns),
        tuple(int(p) for p in np.flatnonzero(one.pattern > 0)),
        amount,
        amount - half,
        amount + half,
        score,
        one.group,
    )
