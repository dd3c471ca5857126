"""What the page can answer without a server: every knob's settings, worked out beforehand.

One knob moves at a time, the others stay as the recipe has them, because only that was computed.
All settings share their draws; they are moved so that today's setting gives the very figures of
the page, which leaves only the sampling error of a difference on common draws.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.wording.content import Outcome, Tried, WhatIf, WhatIfKnob
from brewsim.wording.scales import is_logged
from brewsim.wording.sentences import expectation_pattern, target_words

_STEPS = 100
_MOST_STEPS = 400
_NUMBERS = ("low", "middle", "high")


def what_if(
    problem: Problem,
    turned: Iterable[xr.Dataset],
    outcomes: Sequence[Outcome],
    joint: float | None = None,
) -> WhatIf:
    """Return every knob of `turn` ready to be moved; `outcomes` and `joint` are today's figures.

    `joint` is the chance of landing in every target, None when that is not told.
    """
    knobs = tuple(_knob(problem.knob(d.attrs["knob"]), d, outcomes, joint) for d in turned)
    return WhatIf(tuple(knob for knob in knobs if knob.moved))


def _knob(
    knob: Knob, data: xr.Dataset, outcomes: Sequence[Outcome], joint: float | None
) -> WhatIfKnob:
    settings = data["setting"].to_numpy().tolist()
    choices: tuple[str, ...] = ()
    if isinstance(data.attrs["current"], str):
        choices = tuple(map(str, settings))
        at, now = np.arange(len(choices), dtype=float), float(choices.index(data.attrs["current"]))
    else:
        at = np.array([knob.as_shown(setting) for setting in settings])
        now = knob.as_shown(data.attrs["current"])
    place = int(np.searchsorted(at, now))
    there = place < len(at) and bool(np.isclose(at[place], now))
    along = at if there else np.insert(at, place, now)
    moved = {
        outcome.name: found
        for outcome in outcomes
        if outcome.name in data["outcome"].to_numpy()
        and (found := _tried(data, outcome, at, along, place))
    }
    return WhatIfKnob(
        label=str(data.attrs["label"]),
        unit=str(data.attrs["unit"]),
        settings=tuple(along.tolist()),
        now=place,
        places=() if choices else _places(knob, float(along[place])),
        decimals=knob.decimals,
        choices=choices,
        joint=_joint(data["joint"].to_numpy(), joint, at, along, place),
        moved=moved,
    )


def _places(knob: Knob, today: float) -> tuple[float, ...]:
    """Return where a dial stops: at the knob's steps or finely along it, and at today's setting."""
    low, high = knob.as_shown(knob.low), knob.as_shown(knob.high)
    steps = int((knob.high - knob.low) / knob.step + 1e-9) if knob.step > 0 else 0
    if 0 < steps <= _MOST_STEPS:
        found = low + np.arange(steps + 1) * (knob.step / knob.per_shown)
    else:
        found = np.linspace(low, high, _STEPS + 1)
    found = np.round(found, knob.decimals)
    apart = np.abs(found - today) > 0.5 * 10.0**-knob.decimals
    return tuple(sorted({*found[apart].tolist(), today}))


def _tried(
    data: xr.Dataset, outcome: Outcome, at: FloatArray, along: FloatArray, place: int
) -> Tried | None:
    """Return an outcome's figures at every setting, or None where the knob does not move it."""
    row, look = data.sel(outcome=outcome.name), outcome.look
    names = [row[key].to_numpy()[None, :] for key in _NUMBERS]
    table = np.concatenate([*names, row["dots"].to_numpy()]) * look.per_model
    today = np.array([outcome.low, outcome.middle, outcome.high, *outcome.dots])
    if not np.isfinite(table).all():
        return None
    logged = is_logged(outcome.scale, look, min(float(table.min()), float(today.min())))
    if logged:
        table, today = np.log2(table), np.log2(today)
    table = np.stack([np.interp(along, at, line) for line in table])
    moved = table - table[:, place, None]
    if not np.abs(moved).max() > _smallest(outcome, logged):
        return None
    table = today[:, None] + moved
    table = np.exp2(table) if logged else table
    digits = None if look.decimals is None and not look.fold else (look.decimals or 2) + 3
    shown = [[_short(value, digits) for value in line] for line in table.T.tolist()]
    low, middle, high = (tuple(line[i] for line in shown) for i in range(3))
    return Tried(low, middle, high, tuple(tuple(line[3:]) for line in shown))


def _smallest(outcome: Outcome, logged: bool) -> float:
    """Return the change, on the axis' own scale, below which no printed figure can change."""
    if logged or outcome.look.fold or outcome.look.decimals is None:
        return 0.01
    return 0.1 * 10.0**-outcome.look.decimals


def _short(value: float, digits: int | None) -> float:
    return float(f"{value:.5g}") if digits is None else round(value, digits)


def _joint(
    chance: FloatArray, today: float | None, at: FloatArray, along: FloatArray, place: int
) -> tuple[float, ...]:
    """Return the joint chance at every setting; today's is the page's own, 0 and 1 stay put."""
    if today is None or not np.isfinite(chance).all():
        return ()
    told = np.interp(along, at, chance)
    base = float(told[place])
    room = base * (1 - base)
    if room > 0:
        told = told + (today - base) * np.minimum(1.0, told * (1 - told) / room)
    told[place] = today
    return tuple(round(value, 6) for value in np.clip(told, 0.0, 1.0).tolist())


def as_json(found: WhatIf, outcomes: Sequence[Outcome], targets: int) -> str:
    """Return what the page's script needs, as compact JSON."""
    places = {outcome.name: str(i) for i, outcome in enumerate(outcomes)}
    content = {
        "targets": targets,
        "outcomes": [_outcome(outcome) for outcome in outcomes],
        "knobs": [_packed(knob, places) for knob in found.knobs],
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def _outcome(outcome: Outcome) -> dict[str, Any]:
    look, target = outcome.look, outcome.target
    return {
        "said": expectation_pattern(look),
        "decimals": look.decimals,
        "figures": look.figures,
        "fold": look.fold,
        "logged": is_logged(outcome.scale, look, min(outcome.dots)),
        "target": None if target is None else [target.lower, target.upper],
        "wanted": "" if target is None else target_words(target, look),
        "low": outcome.low,
        "middle": outcome.middle,
        "high": outcome.high,
        "dots": outcome.dots,
    }


def _packed(knob: WhatIfKnob, places: Mapping[str, str]) -> dict[str, Any]:
    return {
        "unit": knob.unit,
        "settings": knob.settings,
        "now": knob.now,
        "places": knob.places,
        "start": knob.start,
        "decimals": knob.decimals,
        "choices": knob.choices,
        "joint": knob.joint,
        "moved": {
            places[name]: {
                "low": tried.low,
                "middle": tried.middle,
                "high": tried.high,
                "dots": tried.dots,
            }
            for name, tried in knob.moved.items()
            if name in places
        },
    }
