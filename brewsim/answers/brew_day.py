"""Midway through a brew day: readings in place of what was computed, and what can still be done."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.answers.corrections import (
    EXTRACT,
    Band,
    Correction,
    Work,
    bands_of,
    corrections,
    with_dials,
)
from brewsim.beer.plausibility import refuse_before_sugars
from brewsim.beer.pose import posed
from brewsim.beer.unknown_names import IN_GLOSSARY
from brewsim.dims import FloatArray
from brewsim.errors import InputError, did_you_mean
from brewsim.logbook.house import House, with_house
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import OUTCOMES, outcome_of, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.format import value, with_unit
from brewsim.quantities.gravity import extract_of, is_density, pair_of
from brewsim.quantities.measured_value import read_value, refuse_impossible
from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.schema import Recipe, Sugar
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan

GRAVITY, EXTRACT_OF_IT = "original_gravity_sg", "original_extract_plato"
_BESIDE = ("fermenter_volume_l", "alcohol_by_volume_fraction", "bitterness_ibu")
_HARDLY = 0.001
"""Chance by the plan below which a reading is doubted, as it is in a batch's explanation."""
_NOTHING = Stated("0 kg", Phrase("exactly", 0.0), "kg", "kg")


@dataclass(frozen=True)
class Midway:
    """The plan, what the readings leave of it, and the corrections that are left.

    `spread_left` is the width of each outcome's interval over the planned one, 1 without one.
    `remarks` says why there is no correction, or not every one. `doubts` names the readings that
    are hardly possible by the plan. `shown` are the outcomes in the terms of the recipe: its
    extract in °P or its gravity, of which the others hold both.
    """

    aim: str
    readings: tuple[str, ...]
    plan: Mapping[str, Band]
    now: Mapping[str, Band]
    spread_left: Mapping[str, float]
    corrections: tuple[Correction, ...]
    remarks: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()


DRAWS = 4096
"""Simulated batches behind the plan and what is left of it."""


def midway(
    recipe: Recipe,
    readings: Mapping[str, str],
    priors: Priors,
    *,
    aim: str = "original_gravity_sg",
    draws: int = DRAWS,
    seed: int = 1,
    house: House | None = None,
    planned: Problem | None = None,
) -> Midway:
    """Return what is left of the plan after readings, and what brings the median back to it.

    `readings` are phrases by quantity or plain name ("preboil_gravity": "1.038 ± 0.001"; °P is
    of the extract, °Bx what a refractometer shows of wort); what the recipe states in [given] and
    the model would compute counts as a reading too. The plan is the recipe without them. `aim` is
    the outcome whose median is to be as planned; a recipe that speaks of °P is aimed at its
    extract. Plan and rest are as the house has learned, if one is given; `planned` is the plan
    where it was posed before (`plan_of`). Everything is on common draws. Raises InputError for a
    reading that is none or cannot be read, for readings that leave no beer that can be, and for an
    aim that is none.
    """

    def brewed(one: Recipe) -> Problem:
        problem = posed(one, priors)[0]
        return problem if house is None else with_house(problem, house, priors)

    planned = planned or brewed(_without(recipe))
    stated = _read(recipe, readings, planned)
    _check(planned, aim)
    computed = {name for name in recipe.given if name in _computed(planned)}
    known = computed | set(stated)
    if not known:
        fault = "no reading: give one with --reading, or state what was measured in [given]"
        raise InputError(recipe.name, [fault])
    measured = recipe.model_copy(update={"given": {**recipe.given, **stated}})
    measured = _without(measured, _overruled(recipe, planned, stated))
    before = planned
    if computed != set(recipe.given):
        before = brewed(_without(measured, known))
    after = with_dials(brewed(_with_extract(measured)))
    plan = Plan.of(draws, seed)
    common = CommonDraws([before, after], plan, by_kind=True)
    wort = _wort(planned, known, aim)
    aim = wort if aim == GRAVITY else aim
    outcomes = tuple(dict.fromkeys((GRAVITY, EXTRACT_OF_IT, *_BESIDE, aim)))
    wanted = Evaluator(before, common, outcomes).at()
    work = Work(Evaluator(after, common, outcomes), aim, float(np.median(wanted[aim])), planned)
    then, now = bands_of(wanted), work.bands({})
    doubts = list(_doubts(before, after, common, known))
    shown = tuple(dict.fromkeys((wort, *_BESIDE, aim)))
    _refuse_no_beer(recipe, work, {name: now[name] for name in shown}, doubts)
    found, remarks = corrections(work, known)
    return Midway(
        aim=aim,
        readings=tuple(sorted(known)),
        plan=then,
        now=now,
        spread_left={name: _left(now[name], then[name]) for name in outcomes},
        corrections=tuple(found),
        remarks=tuple(remarks),
        doubts=tuple(doubts),
        shown=shown,
    )


def plan_of(recipe: Recipe, priors: Priors) -> Problem:
    """Return the plan of a recipe without readings; raises InputError."""
    return posed(_without(recipe), priors)[0]


def _read(recipe: Recipe, readings: Mapping[str, str], planned: Problem) -> dict[str, Stated]:
    """Return what was read, by quantity; raises InputError with every fault."""
    found: dict[str, Stated] = {}
    names: dict[str, str] = {}
    faults = []
    for name, text in readings.items():
        try:
            quantity, stated = _reading(name, text, planned)
        except ValueError as error:
            faults.append(f"reading {name}: {error}")
            continue
        first = names.setdefault(extract_of(quantity), name)
        if first != name:
            faults.append(f"reading {name}: {first} is there too, and is the same; keep one")
        found[quantity] = stated
    if faults:
        raise InputError(recipe.name, faults)
    return found


def _reading(name: str, text: str, planned: Problem) -> tuple[str, Stated]:
    """Return what was read and of what; raises ValueError with the fault in words."""
    quantity, graph = quantity_of(name), planned.graph
    if not text:
        raise ValueError('write name = value, such as "preboil_gravity = 1.038 ± 0.001"')
    if model_unit_of(quantity) is None or quantity not in graph:
        near = did_you_mean(name, [*OUTCOMES, *graph.nodes, *graph.inputs])
        raise ValueError(f"there is no quantity {name}.{near or IN_GLOSSARY}")
    if graph.axes(quantity):
        kind = graph.axes(quantity)[0].replace("_", " ")
        raise ValueError(f"it is one number for each {kind}; write it into the recipe's own line")
    quantity, stated = read_value(quantity, text)
    refuse_before_sugars(quantity, planned)
    return quantity, stated


def _check(planned: Problem, aim: str) -> None:
    """Raise InputError where the aim is no outcome of this recipe."""
    if aim not in planned.graph.nodes or planned.graph.axes(aim):
        near = did_you_mean(aim, [*OUTCOMES, *planned.outcomes])
        near = near or f" There is: {', '.join(OUTCOMES)}."
        raise InputError("--aim", [f"there is no outcome “{aim}” of this recipe.{near}"])


def _wort(planned: Problem, known: Iterable[str], aim: str) -> str:
    """Return the gravity of the wort or its extract: what is aimed at, or else what was read."""
    spoken = [name for name in (aim, *planned.targets, *sorted(known)) if is_density(name)]
    told = [name for name in spoken if name != GRAVITY or name in planned.targets]
    return EXTRACT_OF_IT if told and model_unit_of(told[0]) == "°P" else GRAVITY


def _doubts(
    before: Problem, after: Problem, common: CommonDraws, known: Iterable[str]
) -> Iterator[str]:
    """Yield a sentence for every reading that is hardly possible by the plan.

    Plan and reading are held against each other on different replicates: what was planned and what
    was read may be off by the same factor, and are not off by it alike.
    """
    names = [name for name in sorted(known) if name in before.graph and name in after.graph]
    planned, read = (Evaluator(problem, common, names).at() for problem in (before, after))
    for name in names:
        other = np.roll(read[name], common.plan.rows)
        below = (np.sum(planned[name] <= other) + 0.5) / (common.size + 1)
        if np.ptp(planned[name]) > 0 and 2 * min(below, 1 - below) < _HARDLY:
            row = outcome_of(name, before.units)
            low, middle, high = (value(row, x) for x in _three(planned[name]))
            yield (
                f"{row.label} {with_unit(row, value(row, _three(read[name])[1]))} is hardly "
                f"possible by the plan ({middle}; nine in ten {low} to {with_unit(row, high)}): "
                "check the reading"
            )


def _three(values: FloatArray) -> list[float]:
    band = bands_of({"": values})[""]
    return [band.low, band.middle, band.high]


def _refuse_no_beer(
    recipe: Recipe, work: Work, now: Mapping[str, Band], doubts: Sequence[str]
) -> None:
    """Raise InputError where the readings leave the median of an outcome where none can be."""
    for name, band in now.items():
        row = work.rows[name]
        told = with_unit(row, value(row, band.middle))
        try:
            refuse_impossible(name, band.middle, told)
        except ValueError as error:
            what = f"these readings leave no beer: {error}"
            raise InputError(recipe.name, [*doubts, what]) from None


def _without(recipe: Recipe, names: set[str] | None = None) -> Recipe:
    """Return the recipe without some of what it states in [given]; without names, all of it."""
    kept = {n: s for n, s in recipe.given.items() if names is not None and n not in names}
    return recipe.model_copy(update={"given": kept})


def _overruled(recipe: Recipe, planned: Problem, stated: Iterable[str]) -> set[str]:
    """Return what the recipe states in [given] that acts only through what was read since."""
    nodes, left = planned.graph.nodes, [row.quantity for row in OUTCOMES.values()]
    read = {twin for name in stated for twin in pair_of(name)}
    acting: set[str] = set()
    while left:
        quantity = left.pop()
        if quantity not in acting and quantity not in read:
            acting.add(quantity)
            left += nodes[quantity].needs if quantity in nodes else ()
    before = planned.graph.upstream([name for name in read if name in nodes])
    return {name for name in recipe.given if name in before - acting - read}


def _computed(problem: Problem) -> set[str]:
    return {*problem.graph.nodes, "preboil_volume_l"}


def _with_extract(recipe: Recipe) -> Recipe:
    """Return the recipe with a kettle addition of dry malt extract, of which there is none yet."""
    sugar = Sugar.model_validate({"name": EXTRACT, "mass": "1 kg"})
    sugars = (*recipe.sugar, sugar.model_copy(update={"mass": _NOTHING}))
    return recipe.model_copy(update={"sugar": sugars, "knobs": {}})


def _left(now: Band, then: Band) -> float:
    """Return the width of a band over the planned one; 1 where the plan had none."""
    return _width(now) / _width(then) if _width(then) > 0 else 1.0


def _width(band: Band) -> float:
    return band.high - band.low
