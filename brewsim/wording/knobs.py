"""What knobs can do for all targets, in sentences and a table."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from brewsim.quantities.chances import DOTS, about_fifty, fiftieths
from brewsim.quantities.english import capital, listed, lower
from brewsim.quantities.format import number, value
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.steering.fewest_knobs import WORTH_TURNING
from brewsim.study.steering.steering import Move, SingleKnob, Steered
from brewsim.wording.content import Panel
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table

_NOWHERE = "cannot reach"


def chances_wanted(chance: float) -> str:
    """Return a wanted chance as it was asked for: "40 of 50", "47.5 of 50"."""
    return f"{fiftieths(chance)} of {DOTS}"


def steered_panel(
    problem: Problem,
    steered: Steered,
    looks: Looks,
    today: tuple[float, float] | None = None,
    faint: Mapping[str, float] | None = None,
) -> Panel:
    """Say what the knobs can do for all targets: today, each alone, together, what stops it.

    `today` is the chance and error shown elsewhere, so that one page gives one figure; `faint`
    the middles of a lead's sides that are not noticed today.
    """
    wanted = chances_wanted(steered.wanted)
    now = about_fifty(*(today or (steered.now.chance, steered.now.chance_error)), steered.wanted)
    sentences = [f"As the recipe stands, {now} batches meet all targets."]
    if steered.now.chance >= steered.wanted:
        return Panel((*sentences, f"That is {wanted} or more: no knob has to move."))
    able = [single.label for single in steered.singles if single.reaches]
    alone = listed(able) if able else "No knob"
    sentences.append(f"{capital(alone)} alone can bring that to {wanted}.")
    if len(steered.singles) > 1:
        sentences += [_together(problem, steered, wanted), *_faint(problem, faint or {})]
    if not steered.reaches:
        sentences += _in_the_way(problem, steered, looks)
    rows = tuple(
        (one.label, one.today, one.there, one.at, one.share) for one in _alone(problem, steered)
    )
    header = ("knob", "today", f"settings with {wanted}", "nearest, or else best", "chance there")
    alone_table = Table("Each knob alone, for all targets together", header, rows)
    notes = [problem.knob(single.knob).note for single in steered.singles]
    return Panel((*sentences, *steered.remarks, *filter(None, notes)), (alone_table,))


def steered_sentences(
    problem: Problem,
    steered: Steered,
    looks: Looks,
    today: tuple[float, float] | None = None,
    faint: Mapping[str, float] | None = None,
) -> tuple[str, ...]:
    """Say the same as `steered_panel` in sentences alone, for where there is no table."""
    panel = steered_panel(problem, steered, looks, today, faint)
    alone = [
        f"{one.label} alone: {one.there}; nearest at {one.at}, with {one.share}."
        if one.reaches
        else f"{one.label} alone: {one.there}; its best setting, {one.at}, gives {one.share}."
        for one in (_alone(problem, steered) if panel.tables else ())
    ]
    beside = beside_lines(problem, [single.knob for single in steered.singles])
    return (*panel.sentences[:1], *alone, *panel.sentences[1:], *beside)


def beside_lines(problem: Problem, knobs: Sequence[str]) -> list[str]:
    """Say which lines of a recipe go with these knobs when they are moved."""
    found = dict.fromkeys(problem.knob(knob).beside for knob in knobs)
    return [f"Write with it, under {table}: {line}" for table, line in found if line]


class _Alone(NamedTuple):
    """What one knob alone can do, in words."""

    label: str
    today: str
    there: str
    at: str
    share: str
    reaches: bool


def _alone(problem: Problem, steered: Steered) -> list[_Alone]:
    return [_single(problem, single, steered.wanted) for single in steered.singles]


def _single(problem: Problem, single: SingleKnob, wanted: float) -> _Alone:
    knob = problem.knob(single.knob)
    today = knob_words(knob, _today(problem, knob))
    best = " and ".join(knob_words(knob, value) for value in single.move.settings.values())
    there = best if single.reaches else f"{_NOWHERE} {chances_wanted(wanted)}"
    if single.bracket is not None:
        ends = {knob_words(knob, end): None for end in (single.bracket.low, single.bracket.high)}
        there = " to ".join(ends)
    share = about_fifty(single.move.chance, single.move.chance_error, wanted)
    return _Alone(capital(single.label), today, there, best or today, share, single.reaches)


def _today(problem: Problem, knob: Knob) -> float | str:
    """Return where a knob stands: model units, or its choice."""
    if knob.choices:
        return knob.current or knob.choices[0].label
    return problem.fixed_at(knob.quantity, knob.row)


def _together(problem: Problem, steered: Steered, wanted: str) -> str:
    move = steered.smallest or steered.best
    share = about_fifty(move.chance, move.chance_error, steered.wanted)
    where = _settings(problem, move) or "the recipe as it stands"
    if steered.reaches:
        return f"The smallest change that reaches {wanted}: {where}; with {share}."
    if move.chance - steered.now.chance < WORTH_TURNING:
        return (
            f"All knobs together do not reach {wanted}, and none is worth turning: the best "
            f"settings found give {share}."
        )
    return f"All knobs together do not reach {wanted}. The best is {where}; with {share}."


def _faint(problem: Problem, faint: Mapping[str, float]) -> list[str]:
    """Say it where a side of a lead is not noticed today: steering cannot mend that."""
    if not faint:
        return []
    told = [
        f"{lower(problem.graph.label(name))} ({number(middle, None)})"
        for name, middle in faint.items()
    ]
    aims = listed([f"at least 2 of {lower(problem.graph.label(name))}" for name in faint])
    sentence = (
        f"Too faint: the median of {listed(told)} is below 1 odour unit, which half of a "
        f"panel does not notice. A lead says nothing of how much there is: aim for {aims} as well."
    )
    return [sentence]


def _settings(problem: Problem, move: Move) -> str:
    return "; ".join(
        f"{problem.knob(key).label} {knob_words(problem.knob(key), value)}"
        for key, value in move.settings.items()
        if value != _today(problem, problem.knob(key))
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
            f"Range: {problem.knob(place.knob).label} alone moves the median of "
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
            most = "just under" if steered.wanted <= round(DOTS * share) / DOTS else "at most"
            sentences.append(
                f"Spread: wherever the median of {looks[name].label} was put, {most} "
                f"{fiftieths(share, 0)} of {DOTS} batches would land. Knobs cannot mend that; "
                "knowing more can."
            )
    return sentences
