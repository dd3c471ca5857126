"""What knobs can do: curves along each, and sentences on what steering found."""

from collections.abc import Iterable

import numpy as np
import xarray as xr

from brewsim.report.build import Looks, limits_of
from brewsim.report.content import (
    KnobCurve,
    Look,
)
from brewsim.report.words import (
    in_hundred,
    listed,
    lower,
    number,
    shown,
    target_words,
)
from brewsim.study.knobs import bracket
from brewsim.study.problem import Knob, Problem
from brewsim.study.steering import Move, SingleKnob, Steered

WANTED = 0.8


def knob_curves(
    problem: Problem, turned: Iterable[xr.Dataset], looks: Looks, wanted: float = WANTED
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
    return bool(np.ptp(middle) > 0.02 * reach)


def _curve(problem: Problem, data: xr.Dataset, name: str, look: Look, wanted: float) -> KnobCurve:
    row = data.sel(outcome=name)
    target = problem.targets[name]
    per_shown = float(data.attrs["per_shown"]) or 1.0
    settings, choices, current = _along(data, per_shown)
    chance = row["in_target"].to_numpy()
    found = bracket(settings, chance, wanted) if not choices else None
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
        chance=tuple(chance.tolist()),
        bracket=(found.low, found.high) if found else None,
        current=current,
        choices=choices,
    )
    return _with_sentence(curve, wanted)


def _along(data: xr.Dataset, per_shown: float) -> tuple[tuple[float, ...], tuple[str, ...], float]:
    settings, current = data["setting"].to_numpy().tolist(), data.attrs["current"]
    if isinstance(current, str):
        places = tuple(float(i) for i in range(len(settings)))
        return places, tuple(map(str, settings)), places[settings.index(current)]
    return tuple(value / per_shown for value in settings), (), float(current) / per_shown


def _with_sentence(curve: KnobCurve, wanted: float) -> KnobCurve:
    chance = np.array(curve.chance)
    best = int(np.nanargmax(chance))
    name, at_best = curve.knob, setting_words(curve, curve.settings[best])
    aim = target_words(curve.target, curve.look) if curve.target else ""
    if curve.bracket:
        low, high = (setting_words(curve, end) for end in curve.bracket)
        sentence = f"{name} from {low} to {high} lands {aim} in at least {_tenths(wanted)}."
    elif chance[best] >= wanted:
        sentence = f"{name} {at_best} lands {aim}: {in_hundred(float(chance[best]), 0.0)}."
    else:
        sentence = (
            f"{name} alone does not reach {_tenths(wanted)} for {aim}. "
            f"Its best is {in_hundred(float(chance[best]), 0.0)}, at {at_best}."
        )
    fields = {key: getattr(curve, key) for key in curve.__dataclass_fields__}
    return KnobCurve(**{**fields, "sentence": sentence})


def _tenths(chance: float) -> str:
    return f"{number(10 * chance, 0)} chances in 10"


def setting_words(curve: KnobCurve, value: float) -> str:
    """Return a setting of a curve's knob with its unit, or the choice."""
    if curve.choices:
        return curve.choices[round(value)]
    return _amount(value, curve.unit, curve.settings[-1] - curve.settings[0])


def _amount(value: float, unit: str, span: float) -> str:
    decimals = 0 if span > 20 else 1 if span > 2 else 2
    return f"{number(value, decimals)} {unit}".strip()


def steered_sentences(
    problem: Problem,
    steered: Steered,
    looks: Looks,
    today: tuple[float, float] | None = None,
) -> tuple[str, ...]:
    """Say what the knobs can do for all targets: today, each alone, together, what stops it.

    `today` is the chance and error shown elsewhere, so that one page gives one figure.
    """
    wanted = _tenths(steered.wanted)
    now = in_hundred(*(today or (steered.now.chance, steered.now.chance_error)))
    sentences = [f"As the recipe stands, all targets are met together with {now}."]
    if steered.now.chance >= steered.wanted:
        return (*sentences, f"That is at or above {wanted}: no knob has to move.")
    sentences += [_single(problem, single, wanted) for single in steered.singles]
    if len(steered.singles) > 1:
        sentences.append(_together(problem, steered, wanted))
    if not steered.reaches:
        sentences += _in_the_way(problem, steered, looks)
    return (*sentences, *steered.remarks)


def _single(problem: Problem, single: SingleKnob, wanted: str) -> str:
    knob = problem.knob(single.knob)
    where = " and ".join(_knob_words(knob, value) for value in single.move.settings.values())
    where = where or "today's setting"
    share = in_hundred(single.move.chance, single.move.chance_error)
    if not single.reaches:
        return f"{single.label} alone cannot get there: its best is {share}, at {where}."
    if single.bracket is None:
        return f"{single.label} alone can: {where} gives {share}."
    low, high = (_knob_words(knob, end) for end in (single.bracket.low, single.bracket.high))
    return f"{single.label} alone can: between {low} and {high} it reaches {wanted} or more."


def _together(problem: Problem, steered: Steered, wanted: str) -> str:
    move = steered.smallest or steered.best
    share = in_hundred(move.chance, move.chance_error)
    where = _settings(problem, move) or "the recipe as it stands"
    if steered.reaches:
        return f"The smallest change that reaches {wanted}: {where}, with {share}."
    return f"All knobs together do not reach {wanted}. The best is {where}, with {share}."


def _settings(problem: Problem, move: Move) -> str:
    return listed(
        [
            f"{lower(problem.knob(key).label)} {_knob_words(problem.knob(key), value)}"
            for key, value in move.settings.items()
        ]
    )


def _knob_words(knob: Knob, value: float | str) -> str:
    if isinstance(value, str):
        return value
    per_shown = knob.per_shown or 1.0
    return _amount(value / per_shown, knob.unit, (knob.high - knob.low) / per_shown)


def _in_the_way(problem: Problem, steered: Steered, looks: Looks) -> list[str]:
    ways, sentences = steered.obstacles, []
    for place in ways.locations:
        look = looks[place.outcome]
        low, high, limit = (
            shown(value * look.per_model, look) for value in (place.low, place.high, place.limit)
        )
        if place.low <= place.limit <= place.high:
            continue
        sentences.append(
            f"Range: {problem.knob(place.knob).label} alone moves the middle of "
            f"{lower(look.label)} from {low} to {high}; the target begins at {limit}."
        )
    if ways.gives_way:
        one, other = (lower(looks[name].label) for name in ways.gives_way)
        sentences.append(
            f"Conflict: {one} and {other} each have a setting that suits them, and no setting "
            "suits both."
        )
    for name, share in ways.spread.items():
        if share < steered.wanted:
            sentences.append(
                f"Spread: wherever the middle of {lower(looks[name].label)} is put, at most "
                f"{number(100 * share, 0)} in 100 batches would land. Knobs cannot mend that; "
                "knowing more can."
            )
    return sentences
