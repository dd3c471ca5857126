"""The dials of a page: where each stops, what it moves, and how near the surfaces are."""

from collections.abc import Mapping

import numpy as np
import xarray as xr

from brewsim.answers.fifty import Fifty
from brewsim.quantities.english import capital, listed, lower
from brewsim.quantities.format import number
from brewsim.study.model.problem import Problem
from brewsim.study.steering.surfaces import Dial, Surfaces
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import DialRow, Dials, Strip

_STEPS = 100
_MOST_STEPS = 400


def dials_of(
    problem: Problem,
    surfaces: Surfaces | None,
    fifty: Fifty | None,
    strips: tuple[Strip, ...],
    summary: xr.Dataset,
    looks: Looks,
) -> Dials | None:
    """Return every dial of a page, None where there is nothing to turn or to see."""
    if surfaces is None or fifty is None or not strips:
        return None
    rows = dial_rows(surfaces)
    names = [strip.name for strip in strips]
    chances = {n: float(summary.sel(outcome=n)["in_target"]) for n in names if n in problem.targets}
    joint = summary.attrs.get("joint_in_target")
    notes = tuple(dict.fromkeys(k.note for k in problem.knobs if k.note))
    sides = {r.top: 1.0 for r in surfaces.ratios.values()}
    sides |= {r.bottom: 1.0 for r in surfaces.ratios.values()}
    return Dials(
        rows=tuple(rows),
        surfaces=surfaces,
        strips=strips,
        per_model={**{n: looks[n].per_model for n in names}, **sides},
        dots=tuple(fifty.places.tolist()),
        chances=chances,
        joint=None if joint is None or not np.isfinite(joint) else float(joint),
        error=error_words(surfaces, {n: looks[n].label for n in names}),
        notes=notes,
    )


def dial_rows(surfaces: Surfaces) -> list[DialRow]:
    """Return a row for each dial, then for each choice."""
    rows = [_row(dial, surfaces.stops(i)) for i, dial in enumerate(surfaces.dials)]
    rows += [
        DialRow(
            id=knob.id,
            label=capital(knob.label),
            unit="",
            decimals=0,
            places=tuple(float(i) for i in range(len(knob.choices))),
            start=[c.label for c in knob.choices].index(knob.current or knob.choices[0].label),
            low=0.0,
            high=float(len(knob.choices) - 1),
            choices=tuple(c.label for c in knob.choices),
            lines=recipe_lines(knob.id),
            beside=knob.beside,
        )
        for knob in surfaces.choosers
    ]
    return rows


def _row(dial: Dial, stops: tuple[float, ...]) -> DialRow:
    knob = dial.knob
    low, high, now = (knob.as_shown(v) for v in (dial.low, dial.high, dial.now))
    found = [knob.as_shown(dial.setting(place)) for place in stops] if stops else _places(dial)
    apart = [v for v in found if abs(v - now) > 0.5 * 10.0**-knob.decimals]
    places = tuple(sorted({*apart, now}))
    return DialRow(
        id=knob.id,
        label=capital(knob.label),
        unit=knob.unit,
        decimals=knob.decimals,
        places=places,
        start=places.index(now),
        low=low,
        high=high,
        choices=(),
        lines=recipe_lines(knob.id),
        beside=knob.beside,
    )


def _places(dial: Dial) -> list[float]:
    """Return where a dial stops: at its knob's steps, or finely along it."""
    knob = dial.knob
    low, high = knob.as_shown(knob.low), knob.as_shown(knob.high)
    steps = int((knob.high - knob.low) / knob.step + 1e-9) if knob.step > 0 else 0
    if 0 < steps <= _MOST_STEPS:
        found = low + np.arange(steps + 1) * (knob.step / knob.per_shown)
    else:
        found = np.linspace(low, high, _STEPS + 1)
    return [float(v) for v in np.round(found, knob.decimals)]


def recipe_lines(knob: str) -> tuple[str, str]:
    """Return the table of the recipe that holds a knob, as a remark, and its key."""
    words = knob.split()
    if len(words) == 3:
        kind, row, field = words
        return f"[[{kind}]] number {row}", field
    if len(words) == 2:
        return f"[{words[0]}]", words[1]
    return "", words[0]


def error_words(surfaces: Surfaces, labels: Mapping[str, str]) -> str:
    """Say how far the dials' figures are from computed ones, as measured for this page."""
    worst = max(surfaces.errors, key=lambda n: surfaces.errors[n].most)
    most = surfaces.errors[worst].most
    size = "under 0.001" if most < 0.001 else number(most, 3)
    told = (
        f"The dials use a response surface of each of 1,024 batches. On "
        f"{surfaces.settings_checked} settings that the surfaces had not seen, 95 % of all values "
        f"were within {size} of a standard deviation ({lower(labels[worst])} is the furthest)"
    )
    if any(surfaces.points):
        told += (
            f", and the count of batches was at most {number(50 * surfaces.points[2], 2)} of 50 off"
        )
    if surfaces.snapped:
        names = listed([lower(labels[name]) for name in surfaces.snapped])
        told += f". {capital(names)} cannot be followed so: its dials stop at computed settings"
    return f"{told}."
