"""What knobs can do: curves along each, and sentences on what steering found."""

from collections.abc import Iterable

import numpy as np
import xarray as xr

from brewsim.constants import WANTED_CHANCE
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import in_hundred
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import number, value
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.landing import landing, own_settings
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.steering.steering import Move, SingleKnob, Steered
from brewsim.wording.content import KnobCurve, Panel, Table
from brewsim.wording.outcomes import Looks, limits_of
from brewsim.wording.sentences import target_words

_LEAD = "thiol_lead"
_SIDES = {"thiol_activity": "thiol activity", "hop_aroma_activity": "hop aroma activity"}
"""The two sides of that lead, in odour units: 1 is what half of a panel notices."""
_FEW_ROWS = 256
_MOVED = 0.15
"""A knob has a chart where it moves the middle by this share of the widest interval."""


_NOWHERE = "cannot get there"
_WORTH_TURNING = 0.03
"""Chance a change of settings must add to be told; less is lost in a brew day."""


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
    share = in_hundred(float(chance[best]), 0.0, wanted)
    aim = target_words(curve.target, curve.look) if curve.target else ""
    if curve.bracket:
        low, high = (setting_words(curve, end) for end in curve.bracket)
        span = f"at {low}" if low == high else f"from {low} to {high}"
        sentence = f"{name}: {span} it is {aim} in at least {_chances(wanted)}."
    elif chance[best] >= wanted:
        sentence = f"{name}: at {at_best} it is {aim}: {share}."
    else:
        sentence = (
            f"{name}: this knob alone does not reach {_chances(wanted)} for {aim}. "
            f"Its best is {share}, at {at_best}."
        )
    fields = {key: getattr(curve, key) for key in curve.__dataclass_fields__}
    return KnobCurve(**{**fields, "sentence": sentence})


def _chances(chance: float) -> str:
    """Return a wanted chance as it was asked for: "8 chances in 10", "58 chances in 100"."""
    of = next((n for n in (10, 100) if abs(n * chance - round(n * chance)) < 1e-9), 1000)
    count = round(of * chance)
    return f"{count} chance{'' if count == 1 else 's'} in {of:,}"


def setting_words(curve: KnobCurve, value: float) -> str:
    """Return a setting of a curve's knob with its unit, or the choice."""
    if curve.choices:
        return curve.choices[round(value)]
    return f"{number(value, curve.decimals)} {curve.unit}".strip()


def steered_panel(
    problem: Problem,
    steered: Steered,
    looks: Looks,
    today: tuple[float, float] | None = None,
) -> Panel:
    """Say what the knobs can do for all targets: today, each alone, together, what stops it.

    `today` is the chance and error shown elsewhere, so that one page gives one figure.
    """
    wanted = _chances(steered.wanted)
    now = in_hundred(*(today or (steered.now.chance, steered.now.chance_error)), steered.wanted)
    sentences = [f"As the recipe stands, all targets are met together with {now}."]
    if steered.now.chance >= steered.wanted:
        return Panel((*sentences, f"That is {wanted} or more: no knob has to move."))
    able = [single.label for single in steered.singles if single.reaches]
    alone = listed(able) if able else "No knob"
    sentences.append(f"{capital(alone)} alone can bring that to {wanted}.")
    if len(steered.singles) > 1:
        sentences += [_together(problem, steered, wanted), *_faint(problem, steered)]
    if not steered.reaches:
        sentences += _in_the_way(problem, steered, looks)
    rows = tuple(_single(problem, single, steered.wanted) for single in steered.singles)
    header = ("knob", "today", f"settings with {wanted}", "nearest, or else best", "chance there")
    alone_table = Table("Each knob alone, for all targets together", header, rows)
    notes = [problem.knob(single.knob).note for single in steered.singles]
    return Panel((*sentences, *steered.remarks, *filter(None, notes)), (alone_table,))


def steered_sentences(problem: Problem, steered: Steered, looks: Looks) -> tuple[str, ...]:
    """Say the same as `steered_panel` in sentences alone, for where there is no table."""
    panel = steered_panel(problem, steered, looks)
    alone = [
        f"{knob} alone: {there}; {_which(there)} at {at}, with {share}."
        for table in panel.tables
        for knob, _, there, at, share in table.rows
    ]
    return (*panel.sentences[:1], *alone, *panel.sentences[1:])


def _which(there: str) -> str:
    return "best" if there == _NOWHERE else "nearest"


def _single(problem: Problem, single: SingleKnob, wanted: float) -> tuple[str, ...]:
    knob = problem.knob(single.knob)
    today = knob_words(knob, current_setting(problem, knob))
    best = " and ".join(knob_words(knob, value) for value in single.move.settings.values())
    there = best if single.reaches else _NOWHERE
    if single.bracket is not None:
        ends = {knob_words(knob, end): None for end in (single.bracket.low, single.bracket.high)}
        there = " to ".join(ends)
    share = in_hundred(single.move.chance, single.move.chance_error, wanted)
    return (capital(single.label), today, there, best or today, share)


def _together(problem: Problem, steered: Steered, wanted: str) -> str:
    move = steered.smallest or steered.best
    share = in_hundred(move.chance, move.chance_error, steered.wanted)
    where = _settings(problem, move) or "the recipe as it stands"
    if steered.reaches:
        return f"The smallest change that reaches {wanted}: {where}; with {share}."
    if move.chance - steered.now.chance < _WORTH_TURNING:
        return (
            f"All knobs together do not reach {wanted}, and none is worth turning: the best "
            f"settings found give {share}."
        )
    return f"All knobs together do not reach {wanted}. The best is {where}; with {share}."


def _faint(problem: Problem, steered: Steered) -> list[str]:
    """Say it where a lead is reached by settings at which one of its two sides is not noticed."""
    move = steered.smallest or steered.best
    names = [name for name in _SIDES if name in problem.graph and name not in problem.targets]
    if _LEAD not in problem.targets or not names or not move.settings:
        return []
    common = CommonDraws([problem], Plan(rows=_FEW_ROWS))
    values = Evaluator(problem, common, names).at(move.settings)
    middles = {name: float(np.median(y)) for name, y in values.items()}
    faint = {name: middle for name, middle in middles.items() if middle < 1}
    if not faint:
        return []
    told = [f"{_SIDES[name]} ({number(middle)})" for name, middle in faint.items()]
    aims = " and ".join(f'{name} = "at least 2"' for name in faint)
    sentence = (
        f"Too faint: there the middle of {listed(told)} is below 1 odour unit, which half of a "
        f"panel does not notice. A lead says nothing of how much there is: aim at {aims} as well."
    )
    return [sentence]


def _settings(problem: Problem, move: Move) -> str:
    return "; ".join(
        f"{problem.knob(key).label} {knob_words(problem.knob(key), value)}"
        for key, value in move.settings.items()
        if value != current_setting(problem, problem.knob(key))
    )


def knob_words(knob: Knob, value: float | str) -> str:
    """Return a setting of a knob in the unit it is shown in, or the choice."""
    if isinstance(value, str):
        return value
    return f"{number(knob.as_shown(value), knob.decimals)} {knob.unit}".strip()


def _in_the_way(problem: Problem, steered: Steered, looks: Looks) -> list[str]:
    ways, sentences = steered.obstacles, []
    reached = {p.outcome for p in ways.locations if p.low <= p.limit <= p.high}
    for place in ways.locations:
        look = looks[place.outcome]
        low, high, limit = (value(look, at) for at in (place.low, place.high, place.limit))
        if place.outcome in reached or low == high:
            continue
        sentences.append(
            f"Range: {problem.knob(place.knob).label} alone moves the middle of "
            f"{look.label} from {low} to {high}; the target "
            f"{'begins' if place.below else 'ends'} at {limit}."
        )
    if ways.gives_way:
        one, other = (looks[name].label for name in ways.gives_way)
        sentences.append(
            f"Conflict: {one} and {other} each have a setting that suits them, and no setting "
            "suits both."
        )
    moved = {place.outcome for place in ways.locations}
    for name, share in ways.spread.items():
        if share >= steered.wanted and ways.alone[name] < steered.wanted and name not in moved:
            sentences.append(f"Range: no knob here moves {looks[name].label} enough.")
        elif share < steered.wanted:
            most = "just under" if steered.wanted <= round(share, 2) else "at most"
            sentences.append(
                f"Spread: wherever the middle of {looks[name].label} was put, {most} "
                f"{number(100 * share, 0)} in 100 batches would land. Knobs cannot mend that; "
                "knowing more can."
            )
    return sentences
