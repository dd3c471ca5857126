"""Knobs for a recipe that names none."""

from collections.abc import Iterator

import numpy as np

from brewsim.beer.knobs_stated import MASH
from brewsim.beer.lines import dosed
from brewsim.beer.rows import Lists
from brewsim.beer.statements import Statements
from brewsim.quantities.conversion import Unit, scale_of
from brewsim.quantities.dimensions import kind_of
from brewsim.recipe.keys import keys_of, turnable
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem

_LISTS = (
    ("precursor", "precursor_dose_g_l", 1.0),
    ("hop", "hop_mass_g", 1.0),
    ("dry_hop", "dry_hop_mass_g", 1.0),
    ("malt", "malt_mass_kg", 0.25),
)
"""List, its amount, and how far a knob offered on it reaches either way, as a share of today."""


def offered(statements: Statements, lists: Lists, problem: Problem) -> Iterator[Knob]:
    """Yield knobs for a recipe that names none, in its units.

    Doses from none to twice as much, a quarter less or more of the heaviest malt, and the mash.
    """
    for axis, quantity, reach in _LISTS:
        rows = list(range(len(lists.rows.get(axis, ()))))
        if axis == "malt":
            rows = sorted(rows, key=lambda row: -problem.fixed_at(quantity, row))[:1]
        for place in rows:
            if problem.fixed_at(quantity, place) > 0:
                yield amount_knob(statements, lists, problem, axis, quantity, place, reach)
    if MASH in problem.fixed and lists.rows.get("malt"):
        yield _mash(statements, problem)


def amount_knob(
    statements: Statements,
    lists: Lists,
    problem: Problem,
    axis: str,
    quantity: str,
    place: int,
    reach: float,
) -> Knob:
    """Return a knob on the amount of a row, in the unit of its line.

    `reach` is how far it goes either way, as a share of today's amount.
    """
    row = lists.rows[axis][place]
    kind, number = row.origin
    line = statements.lines[kind][number]
    (key,) = (key for key in keys_of(kind) if key.name == line.amount_key)
    base = key.measures.unit if key.measures is not None else ""
    unit = (line.amount.unit if line.amount is not None else "") or base
    per_shown, _ = scale_of(Unit(unit, kind_of(base)), base)
    per_shown *= dosed(key, 1.0, statements.volume.value)
    now = problem.fixed_at(quantity, place)
    return Knob(
        id=f"{kind} {number + 1} {key.name}",
        label=f"{row.label}: {key.knob}",
        quantity=quantity,
        row=place,
        low=(1 - reach) * now,
        high=(1 + reach) * now,
        step=_step(now / per_shown) * per_shown,
        unit=unit,
        per_shown=per_shown,
        today=now,
    )


def _mash(statements: Statements, problem: Problem) -> Knob:
    now, stated = problem.fixed_at(MASH), statements.stated(MASH)
    unit = "°F" if stated is not None and stated.unit == "°F" else "°C"
    per_shown, zero = scale_of(Unit(unit, kind_of("°C")), "°C")
    reach, step = (5.0, 1.0) if unit == "°F" else (3.0, 0.5)
    return Knob(
        id="mash",
        label=turnable()["", "mash"][0].knob,
        quantity=MASH,
        low=now - reach * per_shown,
        high=now + reach * per_shown,
        step=step * per_shown,
        unit=unit,
        per_shown=per_shown,
        zero=zero,
        today=now,
    )


def _step(now: float) -> float:
    """Return a step a scale can weigh: about a fiftieth of the dose, rounded to 1, 2 or 5."""
    power = 10.0 ** np.floor(np.log10(now / 50))
    return float(next(power * k for k in (1, 2, 5, 10) if power * k >= now / 50 - 1e-12))
