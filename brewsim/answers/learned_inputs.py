"""What a house knows now: every input it learned about, before and after, as a next batch meets it.

The interval is of the next batch's value: what is known now, and the scatter that returns.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from brewsim.logbook.house import House
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.english import counted, lower
from brewsim.quantities.format import number, value, with_unit
from brewsim.study.model.batch import latent_names
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.scatter import EVERYTHING, SCATTER, learned_scale, scale_of

_ENDS = (0.05, 0.5, 0.95)
_NARROWER, _MOVED = 0.97, 0.15
_KNOWN_BIAS = 0.8
_GRID = 64


@dataclass(frozen=True)
class Known:
    """One input before and after: low, middle, high of nine in ten next batches, model units.

    `left` is the spread that is left (1: nothing learned), `moved` the step of the middle in
    standard deviations of before; both of the normal score.
    """

    id: str
    label: str
    quantity: str
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    left: float
    moved: float


def known_now(problem: Problem) -> list[Known]:
    """Return what `problem.learned` changed, the most first; instruments come last."""
    house = problem.learned
    if not isinstance(house, House):
        return []
    found = [k for f in problem.factors if (k := _known(f, house)) is not None]
    found.sort(key=lambda k: k.left - abs(k.moved))
    return found


def biases(house: House) -> list[tuple[str, float, float]]:
    """Return (instrument, middle, spread) of what was learned of instruments, in prior sds."""
    found = []
    for name in sorted(n for n in house.draws if n.endswith(" @bias")):
        middle, spread = float(house.draws[name].mean()), float(house.draws[name].std())
        if spread < _KNOWN_BIAS or abs(middle) > spread:
            instrument, _, quantity = name.removesuffix(" @bias").partition(", ")
            told = f"{instrument} ({outcome_of(quantity).label})" if quantity else instrument
            found.append((told, middle, spread))
    return found


def scatter_sentence(house: House) -> str:
    """Return how much this brewery's batches scatter beside the usual one's; empty if not known.

    It is that of a typical input: the geometric mean over all whose scatter was learned.
    """
    common = house.draws.get(EVERYTHING)
    owns = [drawn for name, drawn in house.draws.items() if name.endswith(SCATTER)]
    owns = [drawn for drawn in owns if drawn is not common]
    if common is None or not owns:
        return ""
    each = [np.log(scale_of(common, drawn)) for drawn in owns]
    low, middle, high = (
        number(float(end), 2) for end in np.exp(np.quantile(np.mean(each, axis=0), _ENDS))
    )
    return f"from batch to batch its inputs scatter {middle} times the usual ({low} to {high})"


def _known(factor: Factor, house: House) -> Known | None:
    total, fresh = np.zeros(len(house.replicate)), np.zeros(len(house.replicate))
    scale = learned_scale(factor, house.draws)
    touched = scale is not None
    for kind, name in latent_names(factor, "next").items():
        share = dict(factor.kinds.items())[kind]
        drawn = house.draws.get(name)
        if drawn is None:
            fresh += share if kind != "batch" or scale is None else share * scale**2
        else:
            touched = True
            total = total + np.sqrt(share) * drawn
    if not touched:
        return None
    grid = ndtri((np.arange(_GRID) + 0.5) / _GRID) if fresh.any() else np.zeros(1)
    scores = (total[:, None] + np.sqrt(fresh)[:, None] * grid).ravel()
    left, moved = float(scores.std()), float(scores.mean())
    if left > _NARROWER and abs(moved) < _MOVED:
        return None
    low, middle, high = np.quantile(scores, _ENDS)
    before = factor.distribution.from_score(ndtri(np.array(_ENDS)))
    after = factor.distribution.from_score(np.array([low, middle, high]))
    return Known(
        factor.id,
        factor.label,
        factor.quantity,
        (float(before[0]), float(before[1]), float(before[2])),
        (float(after[0]), float(after[1]), float(after[2])),
        left,
        moved,
    )


def known_sentence(known: Known, batches: int) -> str:
    """Return what is now known of one input, in words."""
    row = outcome_of(known.quantity)
    spans = [
        f"{value(row, ends[0])} to {with_unit(row, value(row, ends[2]))} (median "
        f"{value(row, ends[1])})"
        for ends in (known.before, known.after)
    ]
    return f"{lower(known.label)}: {spans[1]} after {counted(batches, 'batch')}, {spans[0]} before"
