"""Midway through a brew day: readings in place of what was computed, and what can still be done."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from pydantic_core import ValidationError

from brewsim.errors import InputError, did_you_mean
from brewsim.recipe.corrections import (
    EXTRACT,
    Band,
    Correction,
    Work,
    bands_of,
    corrections,
    with_dials,
)
from brewsim.recipe.kinds import model_unit_of
from brewsim.recipe.outcomes import OUTCOMES, TWINS, quantity_of
from brewsim.recipe.own_units import read_as_written
from brewsim.recipe.pose import posed
from brewsim.recipe.possible import refuse_before_sugars, refuse_impossible
from brewsim.recipe.priors import Priors
from brewsim.recipe.refractometer import wort_shown
from brewsim.recipe.schema import Recipe, Sugar
from brewsim.recipe.stated import Phrase, Stated
from brewsim.recipe.tables import read_given
from brewsim.study.common import CommonDraws, Evaluator
from brewsim.study.problem import Problem
from brewsim.study.sampling import Plan, rows_for

SHOWN = (
    "original_gravity_sg",
    "fermenter_volume_l",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
)
_NOTHING = Stated("0 kg", Phrase("exactly", 0.0), "kg", "kg")


@dataclass(frozen=True)
class Midway:
    """The plan, what the readings leave of it, and the corrections that are left.

    `spread_left` is the width of each outcome's interval over the planned one. `remarks` says why
    there is no correction, or not every one.
    """

    aim: str
    readings: tuple[str, ...]
    plan: Mapping[str, Band]
    now: Mapping[str, Band]
    spread_left: Mapping[str, float]
    corrections: tuple[Correction, ...]
    remarks: tuple[str, ...] = ()


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

    `readings` are phrases by quantity or plain name ("preboil_gravity": "1.038 ± 0.001"; °P is
    of the extract, °Bx what a refractometer shows of wort); what the recipe states in [given] and
    the model would compute counts as a reading too. The plan is the recipe without them. `aim` is
    the outcome whose middle is to be as planned. Everything is on common draws. Raises InputError
    for a reading that is none or cannot be read, and for an aim that is none.
    """
    stated = _read(recipe, readings)
    planned, _ = posed(_without(recipe), priors)
    _check(recipe, planned, stated, aim)
    computed = {name for name in recipe.given if name in _computed(planned)}
    known = computed | set(stated)
    if not known:
        fault = "no reading: give one with --reading, or state what was measured in [given]"
        raise InputError(recipe.name, [fault])
    measured = recipe.model_copy(update={"given": {**recipe.given, **stated}})
    before = planned
    if computed != set(recipe.given):
        before = posed(_without(measured, known), priors)[0]
    after = with_dials(posed(_with_extract(measured), priors)[0])
    plan = Plan(8, rows_for(draws), seed)
    common = CommonDraws([before, after], plan, by_kind=True)
    outcomes = tuple(dict.fromkeys((*SHOWN, aim)))
    wanted = Evaluator(before, common, outcomes).at()
    work = Work(Evaluator(after, common, outcomes), aim, float(np.median(wanted[aim])), planned)
    then, now = bands_of(wanted), work.bands({})
    found, remarks = corrections(work, known)
    return Midway(
        aim=aim,
        readings=tuple(sorted(known)),
        plan=then,
        now=now,
        spread_left={name: _width(now[name]) / _width(then[name]) for name in outcomes},
        corrections=tuple(found),
        remarks=tuple(remarks),
    )


def _read(recipe: Recipe, readings: Mapping[str, str]) -> dict[str, Stated]:
    """Return what was read, by quantity; raises InputError with every fault."""
    found: dict[str, Stated] = {}
    faults = []
    for name, text in readings.items():
        try:
            quantity, stated = _reading(name, text)
        except ValueError as error:
            faults.append(f"reading {name}: {error}")
            continue
        if quantity in found:
            faults.append(f"reading {name}: {quantity} is there twice; keep one")
        found[quantity] = stated
    if faults:
        raise InputError(recipe.name, faults)
    return found


def _reading(name: str, text: str) -> tuple[str, Stated]:
    """Return what was read and of what; raises ValueError with the fault in words."""
    quantity = quantity_of(name)
    if model_unit_of(quantity) is None:
        raise ValueError(f"there is no quantity {name}.{did_you_mean(name, OUTCOMES)}")
    if quantity in TWINS:
        quantity, _ = read_as_written(quantity, text)
    stated = wort_shown(quantity, _given(quantity, text))
    refuse_impossible(quantity, stated.value, text)
    return quantity, stated


def _given(quantity: str, text: str) -> Stated:
    try:
        return read_given({quantity: text})[quantity]
    except ValidationError as error:
        raise ValueError(error.errors()[0]["msg"]) from None


def _check(recipe: Recipe, planned: Problem, stated: Mapping[str, Stated], aim: str) -> None:
    """Raise InputError where a reading or the aim is none of this recipe."""
    for quantity in stated:
        try:
            refuse_before_sugars(quantity, planned)
        except ValueError as error:
            raise InputError(recipe.name, [f"reading {quantity}: {error}"]) from None
    if aim not in planned.graph.nodes or planned.graph.axes(aim):
        near = did_you_mean(aim, [*OUTCOMES, *planned.outcomes])
        near = near or f" There is: {', '.join(OUTCOMES)}."
        raise InputError("--aim", [f"there is no outcome “{aim}” of this recipe.{near}"])


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


def _width(band: Band) -> float:
    return band.high - band.low
