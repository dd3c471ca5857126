"""Midway through a brew day: readings in place of what was computed, and what can still be done."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from pydantic_core import ValidationError
from scipy.optimize import brentq

from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.recipe.pose import posed
from brewsim.recipe.priors import Priors
from brewsim.recipe.schema import Recipe, Sugar
from brewsim.recipe.stated import Phrase, Stated
from brewsim.recipe.tables import read_given
from brewsim.study.common import CommonDraws, Evaluator, Settings
from brewsim.study.knobs import current_setting, quantiles
from brewsim.study.problem import Knob, Problem
from brewsim.study.sampling import Plan, rows_for

EXTRACT = "Dry malt extract"
SHOWN = (
    "original_gravity_sg",
    "fermenter_volume_l",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
)
LONGEST_BOIL_MIN = 180.0
"""Most minutes a boil is drawn out by [assumption]."""
SHORTEST_BOIL_MIN = 30.0
"""A boil is never cut below this, nor below its longest timed hops [assumption]."""
_BOIL, _SOLID, _WATER, _LATE = "boil", "extract", "water", "hops boil along"
_CLOSE = 1e-4
_NOTHING = Stated("0 kg", Phrase("exactly", 0.0), "kg", "kg")


@dataclass(frozen=True)
class Band:
    """Low, middle and high of an outcome, nine in ten between low and high (model units)."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Correction:
    """One thing that can still be done: how much of it, whether it reaches the plan, and then."""

    name: str
    amount: float
    unit: str
    reaches: bool
    outcomes: Mapping[str, Band]
    remark: str = ""


@dataclass(frozen=True)
class Midway:
    """The plan, what the readings leave of it, and the corrections that are left.

    `spread_left` is the width of each outcome's interval over the planned one.
    """

    aim: str
    readings: tuple[str, ...]
    plan: Mapping[str, Band]
    now: Mapping[str, Band]
    spread_left: Mapping[str, float]
    corrections: tuple[Correction, ...]


def midway(
    recipe: Recipe,
    readings: Mapping[str, str],
    priors: Priors,
    *,
    aim: str = "original_gravity_sg",
    draws: int = 4096,
    seed: int = 1,
) -> Midway:
    """Return what is left of the plan after readings, and what brings the middle back to it.

    `readings` are phrases by quantity ("preboil_gravity_sg": "1.038 ± 0.001"); what the recipe
    states in [given] and the model would compute counts as a reading too. The plan is the recipe
    without them. `aim` is the outcome whose middle is to be as planned. Everything is on common
    draws. Raises InputError for a reading that is none or cannot be read.
    """
    stated = _read(recipe, readings)
    planned, _ = posed(_without(recipe), priors)
    computed = {name for name in recipe.given if name in _computed(planned)}
    known = computed | set(stated)
    if not known:
        fault = "no reading: give one with --reading, or state what was measured in [given]"
        raise InputError(recipe.name, [fault])
    measured = recipe.model_copy(update={"given": {**recipe.given, **stated}})
    before = planned
    if computed != set(recipe.given):
        before = posed(_without(measured, known), priors)[0]
    after = _with_dials(posed(_with_extract(measured), priors)[0])
    plan = Plan(8, rows_for(draws), seed)
    common = CommonDraws([before, after], plan, by_kind=True)
    outcomes = tuple(dict.fromkeys((*SHOWN, aim)))
    wanted = Evaluator(before, common, outcomes).at()
    work = _Work(Evaluator(after, common, outcomes), aim, float(np.median(wanted[aim])))
    then, now = _bands(wanted), work.bands({})
    return Midway(
        aim=aim,
        readings=tuple(sorted(known)),
        plan=then,
        now=now,
        spread_left={name: _width(now[name]) / _width(then[name]) for name in outcomes},
        corrections=tuple(_corrections(work)),
    )


def _read(recipe: Recipe, readings: Mapping[str, str]) -> dict[str, Stated]:
    try:
        return read_given(dict(readings))
    except ValidationError as error:
        told = [f"reading {fault['loc'][0]}: {fault['msg']}" for fault in error.errors()]
        raise InputError(recipe.name, told) from None


def _without(recipe: Recipe, names: set[str] | None = None) -> Recipe:
    """Return the recipe without some of what it states in [given]; without names, all of it."""
    kept = {n: s for n, s in recipe.given.items() if names is not None and n not in names}
    return recipe.model_copy(update={"given": kept})


def _computed(problem: Problem) -> set[str]:
    return {*problem.graph.nodes, "preboil_volume_l"}


def _with_extract(recipe: Recipe) -> Recipe:
    """Return the recipe with a kettle addition of dry malt extract, of which there is none yet."""
    sugar = Sugar.model_validate({"name": EXTRACT, "mass": "1 kg"})
    sugars = (*recipe.sugar, sugar.model_copy(update={"mass": _NOTHING}))
    return recipe.model_copy(update={"sugar": sugars, "knobs": {}})


def _with_dials(problem: Problem) -> Problem:
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


class _Work:
    """One batch after its readings: what a setting does to it, and how far it is off the plan."""

    def __init__(self, evaluator: Evaluator, aim: str, wanted: float) -> None:
        self.evaluator, self.aim, self.wanted = evaluator, aim, wanted
        self.problem = evaluator.problem
        self.dials = {knob.id: knob for knob in self.problem.knobs}

    def bands(self, settings: Settings) -> dict[str, Band]:
        return _bands(self.evaluator.at(settings))

    def off(self, settings: Settings) -> float:
        """Return the middle of the aim less the planned one."""
        return float(np.median(self.evaluator.at(settings)[self.aim])) - self.wanted

    def now(self, dial: str) -> float:
        """Return where a dial stands."""
        return float(current_setting(self.problem, self.dials[dial]))


def _bands(values: Mapping[str, FloatArray]) -> dict[str, Band]:
    table = quantiles(np.stack(list(values.values())), np.array([0.05, 0.5, 0.95]))
    return {name: Band(*map(float, table[:, i])) for i, name in enumerate(values)}


def _width(band: Band) -> float:
    return band.high - band.low


# what can be done --------------------------------------------------------------------------------
def _corrections(work: _Work) -> Iterator[Correction]:
    if _BOIL in work.dials:
        yield from _boil(work)
    if _SOLID in work.dials:
        yield _amount(work, _SOLID, f"add {EXTRACT.lower()}", _most_extract(work))
    if _WATER in work.dials:
        yield _amount(work, _WATER, "dilute with water after the boil", _most_water(work))


def _boil(work: _Work) -> Iterator[Correction]:
    """Yield the boil's correction, with timed hops kept to the end, and with hops already in."""
    now = work.now(_BOIL)
    timed = {dial: work.now(dial) for dial in work.dials if dial.startswith(_LATE)}
    low = min(now, max([SHORTEST_BOIL_MIN, *timed.values()]))
    high = _dry(work, now)

    def moved(extra: float) -> dict[str, float]:
        return {_BOIL: now + extra}

    extra, reaches = _solved(work, moved, low - now, high - now)
    name = "boil longer" if extra >= 0 else "boil shorter"
    remark = "timed hops go in as many minutes before the end as planned" if timed else ""
    yield Correction(name, abs(extra), "min", reaches, work.bands(moved(extra)), remark)
    if extra > 0 and timed:
        along = {dial: minutes + extra for dial, minutes in timed.items()}
        yield Correction(
            name,
            extra,
            "min",
            reaches,
            work.bands({**moved(extra), **along}),
            "if the timed hops are in already and boil along",
        )


def _dry(work: _Work, now: float) -> float:
    """Return the longest boil that leaves half of the wort in the kettle, at most 180 min more."""
    gone = float(np.median(work.evaluator.problem.fixed["evaporation_l_h"])) / 60
    volume = work.bands({})["fermenter_volume_l"].middle
    return now + min(LONGEST_BOIL_MIN, 0.5 * volume / max(gone, _CLOSE))


def _most_extract(work: _Work) -> float:
    return 0.3 * work.bands({})["fermenter_volume_l"].middle


def _most_water(work: _Work) -> float:
    return work.bands({})["fermenter_volume_l"].middle


def _amount(work: _Work, dial: str, name: str, most: float) -> Correction:
    start = work.now(dial)

    def moved(amount: float) -> dict[str, float]:
        return {dial: start + amount}

    amount, reaches = _solved(work, moved, 0.0, most)
    return Correction(name, amount, work.dials[dial].unit, reaches, work.bands(moved(amount)))


def _solved(
    work: _Work, moved: Callable[[float], Mapping[str, float]], low: float, high: float
) -> tuple[float, bool]:
    """Return the amount between low and high that meets the plan, or the end nearest to it."""

    def off(amount: float) -> float:
        return work.off(moved(amount))

    ends = off(low), off(high)
    if ends[0] * ends[1] > 0:
        nearest = low if abs(ends[0]) <= abs(ends[1]) else high
        return nearest, False
    return float(brentq(off, low, high, xtol=_CLOSE, rtol=1e-6)), True
