"""An outcome along one knob, with what is said of it."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import xarray as xr

from brewsim.constants import WANTED_CHANCE
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import about_fifty
from brewsim.quantities.format import number
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.landing import landing, own_settings
from brewsim.wording.knobs import chances_wanted
from brewsim.wording.outcomes import Looks, limits_of
from brewsim.wording.parts import Limits
from brewsim.wording.sentences import target_words

_MOVED = 0.15
"""A knob is told of where it moves the middle by this share of the widest interval."""


@dataclass(frozen=True, slots=True)
class KnobCurve:
    """An outcome along one knob, in shown units; `bracket` is the stretch that lands.

    For a choice, `choices` names the settings and `settings` counts them from 0; `decimals` is how
    finely a setting is told.
    """

    knob: str
    unit: str
    outcome: str
    look: Quantity
    scale: str
    settings: tuple[float, ...]
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]
    target: Limits | None = None
    chance: tuple[float, ...] | None = None
    bracket: tuple[float, float] | None = None
    current: float | None = None
    choices: tuple[str, ...] = ()
    decimals: int = 1
    sentence: str = ""


def knob_curves(
    problem: Problem, turned: Iterable[xr.Dataset], looks: Looks, wanted: float = WANTED_CHANCE
) -> tuple[KnobCurve, ...]:
    """Return a curve for each knob and each targeted outcome that the knob moves."""
    return tuple(
        _curve(problem, data, name, looks[name], wanted)
        for data in turned
        for name in problem.targets
        if name in looks and _moves(data, name)
    )


def _moves(data: xr.Dataset, name: str) -> bool:
    row = data.sel(outcome=name)
    middle = row["middle"].to_numpy()
    reach = float((row["high"] - row["low"]).max())
    return bool(np.ptp(middle) > _MOVED * reach)


def _curve(
    problem: Problem, data: xr.Dataset, name: str, look: Quantity, wanted: float
) -> KnobCurve:
    row = data.sel(outcome=name)
    target = problem.targets[name]
    knob = None if isinstance(data.attrs["current"], str) else problem.knob(data.attrs["knob"])
    settings, choices, current = _along(knob, data)
    low, middle, high = (
        tuple((row[key].to_numpy() * look.per_model).tolist()) for key in ("low", "middle", "high")
    )
    curve = KnobCurve(
        knob=str(data.attrs["label"]),
        unit=str(data.attrs["unit"]),
        outcome=name,
        look=look,
        scale=problem.scales.get(name, "linear"),
        settings=settings,
        low=low,
        middle=middle,
        high=high,
        target=limits_of((target.lower, target.upper), look),
        chance=tuple(row["in_target"].to_numpy().tolist()),
        bracket=_landing(knob, row, wanted) if knob else None,
        current=current,
        choices=choices,
        decimals=knob.decimals if knob else 0,
    )
    there = data["setting"].to_numpy().tolist()
    own = own_settings(knob, there) if knob else list(range(len(there)))
    return _with_sentence(curve, wanted, own)


def _landing(knob: Knob, row: xr.Dataset, wanted: float) -> tuple[float, float] | None:
    found = landing(knob, row["setting"].to_numpy().tolist(), row["in_target"].to_numpy(), wanted)
    return (knob.as_shown(found.low), knob.as_shown(found.high)) if found else None


def _along(knob: Knob | None, data: xr.Dataset) -> tuple[tuple[float, ...], tuple[str, ...], float]:
    settings, current = data["setting"].to_numpy().tolist(), data.attrs["current"]
    if knob is None:
        places = tuple(float(i) for i in range(len(settings)))
        return places, tuple(map(str, settings)), places[settings.index(current)]
    return tuple(map(knob.as_shown, settings)), (), knob.as_shown(current)


def _with_sentence(curve: KnobCurve, wanted: float, own: list[int]) -> KnobCurve:
    chance = np.array(curve.chance)
    best = own[int(np.nanargmax(chance[own]))]
    name, at_best = curve.look.title, setting_words(curve, curve.settings[best])
    share = about_fifty(float(chance[best]), 0.0, wanted)
    aim = target_words(curve.target, curve.look) if curve.target else ""
    if curve.bracket:
        low, high = (setting_words(curve, end) for end in curve.bracket)
        span = f"at {low}" if low == high else f"from {low} to {high}"
        sentence = f"{name}: {span} it is {aim} in at least {chances_wanted(wanted)}."
    elif chance[best] >= wanted:
        sentence = f"{name}: at {at_best} it is {aim}: {share}."
    else:
        sentence = (
            f"{name}: this knob alone does not reach {chances_wanted(wanted)} for {aim}. "
            f"Its best is {share}, at {at_best}."
        )
    fields = {key: getattr(curve, key) for key in curve.__dataclass_fields__}
    return KnobCurve(**{**fields, "sentence": sentence})


def setting_words(curve: KnobCurve, value: float) -> str:
    """Return a setting of a curve's knob with its unit, or the choice."""
    if curve.choices:
        return curve.choices[round(value)]
    return f"{number(value, curve.decimals)} {curve.unit}".strip()
