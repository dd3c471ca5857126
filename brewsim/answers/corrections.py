"""What can still be done on a brew day to bring an outcome back to its plan, and how much of it."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from brewsim.dims import FloatArray
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import value
from brewsim.quantities.gravity import pair_of
from brewsim.study.model.common_random_numbers import Evaluator, Settings
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.sweep import current_setting, quantiles

EXTRACT = "Dry malt extract"
LONGEST_BOIL_MIN = 180.0
"""Most minutes a boil is drawn out by [assumption]."""
SHORTEST_BOIL_MIN = 30.0
"""A boil is never cut below this, nor below its longest timed hops [assumption]."""
_BOIL, _SOLID, _WATER, _LATE = "boil", "extract", "water", "hops boil along"
_CLOSE, _SLIGHT = 1e-4, 0.005
_SMALLEST = {"min": 0.5, "kg": 0.005, "L": 0.05}
"""Less than this is shown as none."""
_NAMES = {
    _BOIL: "boiling longer or shorter",
    _SOLID: f"adding {EXTRACT.lower()}",
    _WATER: "diluting with water",
}


@dataclass(frozen=True)
class Band:
    """Low, median (`middle`) and high of an outcome, nine in ten between low and high."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Correction:
    """One thing that can still be done: how much of it, whether it reaches the plan, and then.

    `moves` says whether any amount of it moves the aim at all.
    """

    name: str
    amount: float
    unit: str
    reaches: bool
    outcomes: Mapping[str, Band]
    remark: str = ""
    moves: bool = True


class _Solved(NamedTuple):
    """An amount, whether it meets the plan, and whether any amount moves the aim."""

    amount: float
    reaches: bool
    moves: bool = True


def with_dials(problem: Problem) -> Problem:
    """Return the problem with a knob for each correction, as far as it can be made."""
    dials = [
        Knob(_BOIL, "boil", "boil_time_min", None, 0.0, LONGEST_BOIL_MIN, unit="min"),
        Knob(_WATER, "water", "topup_l", None, 0.0, np.inf, unit="L"),
    ]
    row = _extract_row(problem)
    dials.append(Knob(_SOLID, EXTRACT, "sugar_mass_kg", row, 0.0, np.inf, unit="kg"))
    times = problem.fixed["hop_boil_time_min"]
    dials += [
        Knob(f"{_LATE} {i}", "", "hop_boil_time_min", i, 0.0, LONGEST_BOIL_MIN)
        for i, minutes in enumerate(times[:, 0])
        if minutes > 0
    ]
    return replace(problem, knobs=tuple(k for k in dials if k.quantity in problem.fixed))


def _extract_row(problem: Problem) -> int:
    labels = problem.row_labels["sugar"]
    masses = problem.fixed["sugar_mass_kg"][:, 0]
    return next(i for i, label in enumerate(labels) if label == EXTRACT and masses[i] == 0)


class Work:
    """One batch after its readings: what a setting does to it, and how far it is off the plan."""

    def __init__(self, evaluator: Evaluator, aim: str, wanted: float, planned: Problem) -> None:
        self.evaluator, self.aim, self.wanted = evaluator, aim, wanted
        self.problem, self.planned = evaluator.problem, planned
        self.dials = {knob.id: knob for knob in self.problem.knobs}
        self.rows = {name: outcome_of(name, planned.units) for name in evaluator.outcomes}

    @property
    def met(self) -> bool:
        """Whether the aim is where it was planned, to a digit more than it is shown with."""
        row = self.rows[self.aim]
        if row.decimals is None:
            return abs(self.off({})) < _SLIGHT * abs(self.wanted)
        return abs(self.off({})) * row.per_model < 0.05 * 10.0**-row.decimals

    def bands(self, settings: Settings) -> dict[str, Band]:
        """Return every outcome at a setting."""
        return bands_of(self.evaluator.at(settings))

    def off(self, settings: Settings) -> float:
        """Return the median of the aim less the planned one."""
        return float(np.median(self.evaluator.at(settings)[self.aim])) - self.wanted

    def now(self, dial: str) -> float:
        """Return where a dial stands."""
        return float(current_setting(self.problem, self.dials[dial]))


def bands_of(values: Mapping[str, FloatArray]) -> dict[str, Band]:
    """Return low, median and high of each outcome."""
    table = quantiles(np.stack(list(values.values())), np.array([0.05, 0.5, 0.95]))
    return {name: Band(*map(float, table[:, i])) for i, name in enumerate(values)}


def corrections(work: Work, measured: Iterable[str]) -> tuple[list[Correction], list[str]]:
    """Return the corrections still possible after these readings, and remarks.

    What comes before a reading cannot be judged by what the model computes before it.
    """
    label, known = work.rows[work.aim].label, set(measured)
    after = {dial: _after(work, dial, known) for dial in _NAMES if dial in work.dials}
    left = [dial for dial, reading in after.items() if not reading]
    if left and known.intersection(pair_of(work.aim)):
        told = "is measured and nothing moves it any more; aim at what comes after it, such as"
        return [], [f"{label} {told} --aim alcohol"]
    if left and work.met:
        return [], [f"{label} is where it was planned; nothing is to be done about it"]
    found = [c for c in _possible(work, left) if not c.reaches or c.amount >= _SMALLEST[c.unit]]
    return found, [_not_judged(after)] if len(left) < len(after) else []


def _not_judged(after: Mapping[str, str]) -> str:
    """Return which corrections come before which readings, and what to give instead."""
    late = {dial: reading for dial, reading in after.items() if reading}
    names = " and ".join(_NAMES[dial] for dial in late) if len(late) < len(after) else "nothing"
    readings = " and ".join(dict.fromkeys(outcome_of(reading).label for reading in late.values()))
    told = "can be judged: all of it comes" if names == "nothing" else "is not judged: it comes"
    return (
        f"{names} {told} before the reading of {readings}; to see what it would do, give what was "
        "read earlier instead, such as preboil_gravity"
    )


def _after(work: Work, dial: str, known: Iterable[str]) -> str:
    """Return a reading that a correction would have moved, or nothing."""
    graph, moved = work.planned.graph, work.dials[dial].quantity
    return next((name for name in sorted(known) if moved in graph.upstream([name])), "")


def _possible(work: Work, dials: Sequence[str]) -> Iterator[Correction]:
    if _BOIL in dials:
        yield from _boil(work)
    if _SOLID in dials:
        yield _amount(work, _SOLID, f"add {EXTRACT.lower()}", _most_extract(work))
    if _WATER in dials:
        yield _amount(work, _WATER, "dilute with water after the boil", _most_water(work))


def _boil(work: Work) -> Iterator[Correction]:
    """Yield the boil's correction, with timed hops kept to the end, and with hops already in."""
    now = work.now(_BOIL)
    timed = {dial: work.now(dial) for dial in work.dials if dial.startswith(_LATE)}
    low = min(now, max([SHORTEST_BOIL_MIN, *timed.values()]))
    high = _dry(work, now)

    def moved(extra: float) -> dict[str, float]:
        return {_BOIL: now + extra}

    solved = _solved(work, moved, low - now, high - now)
    extra = solved.amount
    name = "boil longer" if extra >= 0 else "boil shorter"
    first = _correction(work, name, "min", solved, moved(extra))
    if extra <= 0 or not timed:
        told = "timed hops go in as many minutes before the end as planned" if timed else ""
        yield replace(first, remark=told)
        return
    along = {dial: minutes + extra for dial, minutes in timed.items()}
    second = _correction(work, name, "min", solved, {**moved(extra), **along})
    if _alike(work, first, second):
        yield first
        return
    yield replace(first, remark="timed hops go in as many minutes before the end as planned")
    yield replace(second, remark="if the timed hops are in already and boil along")


def _correction(
    work: Work, name: str, unit: str, solved: _Solved, settings: Settings
) -> Correction:
    bands = work.bands(settings)
    return Correction(name, abs(solved.amount), unit, solved.reaches, bands, moves=solved.moves)


def _alike(work: Work, first: Correction, second: Correction) -> bool:
    """Whether two corrections read the same, as their outcomes are shown."""

    def shown(found: Correction) -> list[str]:
        return [
            value(work.rows[name], end)
            for name, band in found.outcomes.items()
            for end in (band.low, band.middle, band.high)
        ]

    return shown(first) == shown(second)


def _dry(work: Work, now: float) -> float:
    """Return the longest boil that leaves half of the wort in the kettle, at most 180 min more."""
    gone = float(np.median(work.evaluator.problem.fixed["evaporation_l_h"])) / 60
    volume = work.bands({})["fermenter_volume_l"].middle
    return now + min(LONGEST_BOIL_MIN, 0.5 * volume / max(gone, _CLOSE))


def _most_extract(work: Work) -> float:
    return 0.3 * work.bands({})["fermenter_volume_l"].middle


def _most_water(work: Work) -> float:
    return work.bands({})["fermenter_volume_l"].middle


def _amount(work: Work, dial: str, name: str, most: float) -> Correction:
    start = work.now(dial)

    def moved(amount: float) -> dict[str, float]:
        return {dial: start + amount}

    solved = _solved(work, moved, 0.0, most)
    return _correction(work, name, work.dials[dial].unit, solved, moved(solved.amount))


def _solved(
    work: Work, moved: Callable[[float], Mapping[str, float]], low: float, high: float
) -> _Solved:
    """Return the amount between low and high that meets the plan, or the end nearest to it."""

    def off(amount: float) -> float:
        return work.off(moved(amount))

    ends = off(low), off(high)
    if ends[0] == ends[1]:
        return _Solved(0.0, reaches=False, moves=False)
    if ends[0] * ends[1] > 0:
        nearest = low if abs(ends[0]) <= abs(ends[1]) else high
        return _Solved(nearest, reaches=False)
    return _Solved(float(brentq(off, low, high, xtol=_CLOSE, rtol=1e-6)), reaches=True)
