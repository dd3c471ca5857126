"""What changed over a log: a slow drift, and steady differences between groups of batches.

A series is what was read less what an ordinary batch would read. It is a level, plus a random walk
in time, plus an offset for every label of every group (a tank, a brewer), plus scatter. How wide
walk and offsets are beside the scatter is not known: their posterior is summed over a grid that
holds "none at all" with half the weight, scatter and level are integrated in closed form. So a
difference is pooled partially, and a walk follows a jump at a date as well as a slow change.
Source: Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., chapter 5 (from memory).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy import special

from brewsim.dims import FloatArray
from brewsim.study.model.replicates import Flags

DRAWS = 2048
_WALKS = (0.0, 0.5, 1.0, 2.0, 4.0)
_OFFSETS = (0.0, 0.7, 2.0, 6.0)
"""Standard deviations of a whole walk and of offsets, in those of the scatter."""
_LEVEL = 10.0
_CLIPPED = 4.5
"""Standard deviations (from the median deviation) beyond which one reading counts no further."""


@dataclass(frozen=True)
class Series:
    """Deviations (n,), days of each (n,), labels by group, and the least scatter to expect."""

    values: FloatArray
    days: FloatArray
    groups: Mapping[str, Sequence[str]]
    least: float


@dataclass(frozen=True)
class Changed:
    """Posterior draws, (draws,) each, on the scale of the series.

    `drift` is the walk from the first batch to the last, `level` where a next batch is before any
    offset, `offsets` those by group and label, `scatter` the standard deviation of one batch.
    `drifts` and `differs` are the chances that there is any drift, or any difference in a group.
    """

    drift: FloatArray
    level: FloatArray
    offsets: Mapping[str, Mapping[str, FloatArray]]
    scatter: FloatArray
    drifts: float
    differs: Mapping[str, float]

    def next_value(self, labels: Mapping[str, str], rng: np.random.Generator) -> FloatArray:
        """Return draws of the next deviation of a batch with these labels, (draws,).

        A label that was not seen gets an offset like those seen.
        """
        total = self.level + self.scatter * rng.standard_normal(len(self.level))
        for group, label in labels.items():
            known = self.offsets.get(group, {})
            if label in known:
                total = total + known[label]
            elif known:
                total = (
                    total
                    + np.stack(list(known.values()))[
                        rng.integers(len(known), size=len(total)), np.arange(len(total))
                    ]
                )
        return np.asarray(total)


def changed(series: Series, seed: int = 1) -> Changed:
    """Return what the series says of drift and offsets; three values are the least it needs."""
    rng = np.random.default_rng(seed)
    values, place = _clipped(series.values), _place(series.days)
    labels = {name: sorted(set(given) - {""}) for name, given in series.groups.items()}
    marks = {name: _marks(series.groups[name], labels[name]) for name in labels}
    fits = list(_fits(values, place, marks, series.least))
    weights = special.softmax([fit.log_weight for fit in fits])
    counts = rng.multinomial(DRAWS, weights)
    drawn = [fit.draw(rng, count) for fit, count in zip(fits, counts, strict=True) if count]
    table = np.concatenate(drawn, axis=1)
    rows = iter(table[3:])
    offsets = {name: {label: next(rows) for label in labels[name]} for name in labels}
    keys = list(labels)
    return Changed(
        drift=table[1],
        level=table[0],
        offsets=offsets,
        scatter=table[2],
        drifts=_share(weights, [fit.ratios[0] > 0 for fit in fits]),
        differs={
            name: _share(weights, [fit.ratios[1 + i] > 0 for fit in fits])
            for i, name in enumerate(keys)
        },
    )


def _share(weights: FloatArray, which: Sequence[bool]) -> float:
    return float(weights[np.array(which)].sum())


def _clipped(values: FloatArray) -> FloatArray:
    middle = np.median(values)
    reach = _CLIPPED * 1.4826 * np.median(np.abs(values - middle))
    return np.clip(values, middle - reach, middle + reach) if reach > 0 else values


def _place(days: FloatArray) -> FloatArray:
    """Return times from 0 (the first batch) to 1 (the last)."""
    span = np.ptp(days)
    return (days - days.min()) / span if span > 0 else np.linspace(0.0, 1.0, len(days))


def _marks(given: Sequence[str], labels: Sequence[str]) -> Flags:
    return np.array([[one == label for label in labels] for one in given])


@dataclass(frozen=True)
class _Fit:
    """One width of walk and offsets: its weight, and the posterior of what is asked.

    Asked are next level, drift and offsets: `middle` (k,) and `root` (k, k) in units of the
    scatter, whose square is inverse gamma with `shape` and `rate`.
    """

    ratios: tuple[float, ...]
    log_weight: float
    middle: FloatArray
    root: FloatArray
    shape: float
    rate: float

    def draw(self, rng: np.random.Generator, count: int) -> FloatArray:
        """Return level, drift, scatter, then offsets, (k + 1, count)."""
        scatter = np.sqrt(self.rate / rng.gamma(self.shape, size=count))
        noise = self.root @ rng.standard_normal((len(self.middle), count))
        found = self.middle[:, None] + scatter * noise
        return np.concatenate([found[:2], scatter[None], found[2:]])


def _fits(
    values: FloatArray, place: FloatArray, marks: Mapping[str, Flags], least: float
) -> Iterator[_Fit]:
    count = len(values)
    middle = values.mean()
    walk = np.minimum(place[:, None], place)
    after = 1.0 + 1.0 / max(1, count - 1)
    wide = [np.asarray(mark, dtype=float) for mark in marks.values()]
    for ratios in product(_WALKS, *(_OFFSETS for _ in wide)):
        squares = np.square(ratios)
        covariance = np.eye(count) + _LEVEL**2 + squares[0] * walk
        for square, mark in zip(squares[1:], wide, strict=True):
            covariance += square * mark @ mark.T
        level = _LEVEL**2 + squares[0] * place
        parts = [s * mark.T for s, mark in zip(squares[1:], wide, strict=True)]
        cross = np.concatenate([np.stack([level, squares[0] * place]), *parts])
        own = np.diag(
            np.concatenate(
                [
                    [_LEVEL**2 + squares[0] * after, squares[0]],
                    *(np.full(mark.shape[1], s) for s, mark in zip(squares[1:], wide, strict=True)),
                ]
            )
        )
        own[0, 1] = own[1, 0] = squares[0]
        solved = np.linalg.solve(
            covariance, np.concatenate([(values - middle)[:, None], cross.T], axis=1)
        )
        rate = least**2 + 0.5 * float((values - middle) @ solved[:, 0])
        shape = 1.0 + 0.5 * count
        left = own - cross @ solved[:, 1:]
        size, vectors = np.linalg.eigh(0.5 * (left + left.T))
        found = cross @ solved[:, 0]
        found[0] += middle
        yield _Fit(
            tuple(ratios),
            float(
                -0.5 * np.linalg.slogdet(covariance)[1] - shape * np.log(rate) + _log_prior(ratios)
            ),
            found,
            vectors * np.sqrt(np.maximum(size, 0.0)),
            shape,
            rate,
        )


def _log_prior(ratios: Sequence[float]) -> float:
    """Half for none at all, the rest shared alike by the other widths."""
    others = (len(_WALKS) - 1, *(len(_OFFSETS) - 1 for _ in ratios[1:]))
    return float(sum(np.log(0.5 / n if r else 0.5) for r, n in zip(ratios, others, strict=True)))
