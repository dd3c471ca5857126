"""Every mass, time and temperature of a recipe as a knob, also those it does not name as one."""

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from brewsim.beer.hop_rows import lists_of
from brewsim.beer.knob_limits import LEAST_KEPT, stepped_up
from brewsim.beer.knobs_offered import amount_knob
from brewsim.beer.statements import Statements, resolve
from brewsim.quantities.conversion import Unit, scale_of
from brewsim.quantities.dimensions import kind_of
from brewsim.recipe.schema import Recipe
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem

_AMOUNTS = (
    ("malt", "malt_mass_kg"),
    ("sugar", "sugar_mass_kg"),
    ("hop", "hop_mass_g"),
    ("dry_hop", "dry_hop_mass_g"),
    ("precursor", "precursor_dose_g_l"),
)
"""Lists, and the quantity of their amounts."""
_HEAVIEST_REACH = 0.25
"""The heaviest malt makes the beer: it is tried a quarter less or more."""


class _Setting(NamedTuple):
    """A setting of the whole brew: how far it is tried either way, and its limits."""

    quantity: str
    key: str
    label: str
    reach: float
    step: float
    low: float
    high: float


_SETTINGS = (
    _Setting("mash_set_temperature_c", "mash", "mash temperature", 3.0, 0.5, 60.0, 75.0),
    _Setting("boil_time_min", "boil", "length of the boil", 30.0, 5.0, 30.0, 180.0),
    _Setting(
        "fermentation_temperature_c",
        "yeast temperature",
        "fermentation temperature",
        3.0,
        0.5,
        4.0,
        40.0,
    ),
    _Setting("stand_set_temperature_c", "", "temperature of the hop stand", 10.0, 1.0, 50.0, 100.0),
)


def unlisted_knobs(recipe: Recipe, problem: Problem) -> tuple[Knob, ...]:
    """Return a knob for each mass, time and temperature that is none yet and moves a target.

    Amounts go from a quarter to twice as much, the heaviest malt a quarter less or more: nobody
    named them to be turned, let alone left out. A recipe that runs its wort off to a volume keeps
    that volume.
    """
    listed = {(k.quantity, k.row) for k in problem.knobs}
    listed |= {(name, None) for k in problem.knobs for c in k.choices for name in c.fixed}
    above = problem.graph.upstream([*problem.targets])
    made = (*_amounts(resolve(recipe), problem), *_settings(problem))
    return tuple(
        k for k in made if not {(k.quantity, k.row), (k.quantity, None)} & listed
        and k.quantity in above and k.high > k.low
    )  # fmt: skip


def _amounts(statements: Statements, problem: Problem) -> Iterator[Knob]:
    lists = lists_of(statements)
    for axis, quantity in _AMOUNTS:
        if quantity not in problem.fixed:
            continue
        rows = lists.rows.get(axis, ())
        heaviest = int(np.argmax(problem.fixed[quantity][:, 0])) if axis == "malt" and rows else -1
        for place in range(len(rows)):
            if problem.fixed_at(quantity, place) > 0:
                reach = _HEAVIEST_REACH if place == heaviest else 1.0
                knob = amount_knob(statements, lists, problem, axis, quantity, place, reach)
                least = LEAST_KEPT * problem.fixed_at(quantity, place)
                yield replace(knob, low=max(knob.low, stepped_up(knob, least)))


def _settings(problem: Problem) -> Iterator[Knob]:
    for one in _SETTINGS:
        if one.quantity not in problem.fixed:
            continue
        now = problem.fixed_at(one.quantity)
        model = "min" if one.quantity.endswith("_min") else "°C"
        unit = problem.units.get(one.quantity, model)
        per_shown, zero = scale_of(Unit(unit, kind_of(model)), model)
        yield Knob(
            id=one.key or one.quantity,
            label=one.label,
            quantity=one.quantity,
            low=min(now, max(one.low, now - one.reach)),
            high=max(now, min(one.high, now + one.reach)),
            step=one.step,
            unit=unit,
            per_shown=per_shown,
            zero=zero,
            today=now,
        )
