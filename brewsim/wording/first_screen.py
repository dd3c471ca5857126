"""The first screen: will it land, what to do, why, and what to beware of."""

from collections.abc import Mapping, Sequence

import numpy as np

from brewsim.answers.everything import Everything
from brewsim.answers.fifty import Fifty
from brewsim.answers.sources import SpreadSources
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, percent
from brewsim.quantities.english import lower
from brewsim.quantities.format import printed, with_unit
from brewsim.study.model.problem import Problem
from brewsim.wording.actions import actions_of
from brewsim.wording.outcomes import Looks, limits_of
from brewsim.wording.page_parts import FirstScreen, Pictures, Strip
from brewsim.wording.parts import Danger, Limits
from brewsim.wording.scales import is_logged
from brewsim.wording.sentences import plain_input, target_words

_WORDS = (
    (48, "As good as certain to land"),
    (40, "Likely to land"),
    (30, "More likely to land than not"),
    (20, "May land or miss"),
    (8, "Unlikely to land"),
    (0, "Very unlikely to land"),
)
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six")
_EDGE = 0.15
"""Part of the spread within which a median counts as standing on the edge of its target."""
Shown = Mapping[str, tuple[float, float, float]]


def pictures_of(problem: Problem, fifty: Fifty, summary: Shown, looks: Looks) -> Pictures:
    """Return the strips of the fifty batches, the target that is met least often first."""
    strips = [
        _strip(problem, name, fifty, summary[name], looks[name])
        for name in fifty.names
        if name in summary and name in looks
    ]
    strips.sort(key=lambda strip: DOTS if strip.count is None else strip.count)
    together = () if fifty.together is None else tuple(bool(b) for b in fifty.together)
    aimed = sum(strip.count is not None for strip in strips)
    if not aimed:
        key = "Fifty batches. ▲ median. No target is set."
    elif aimed == 1:
        key = "Fifty batches: discs land, diamonds miss. ▲ median."
    else:
        key = (
            f"Fifty batches, the same in each row. Dark: {_all(aimed)}. "
            "Pale: this one. ◇ misses. ▲ median."
        )
    return Pictures(tuple(strips), together, key)


def _strip(
    problem: Problem, name: str, fifty: Fifty, figures: tuple[float, float, float], look: Quantity
) -> Strip:
    values = tuple((fifty.values[name] * look.per_model).tolist())
    target = problem.targets.get(name)
    limits = None if target is None else limits_of((target.lower, target.upper), look)
    inside = tuple(bool(b) for b in fifty.inside[name]) if name in fifty.inside else ()
    low, middle, high = (value * look.per_model for value in figures)
    count = sum(inside) if inside else None
    logged = is_logged(problem.scales.get(name, "linear"), look, min(values))
    return Strip(
        name, look, logged, values, inside, limits, low, middle, high, count,
        _heading(look, limits, count, (low, high)),
    )  # fmt: skip


def _heading(
    look: Quantity, limits: Limits | None, count: int | None, ends: tuple[float, float]
) -> str:
    if limits is None or count is None:
        low, high = (printed(look, end) for end in ends)
        return f"{low} to {with_unit(look, high)}"
    return f"{count} of {DOTS} {_inside(limits)}{with_unit(look, target_words(limits, look))}"


def _inside(limits: Limits) -> str:
    return "inside " if limits.lower is not None and limits.upper is not None else ""


def first_screen(
    found: Everything, pictures: Pictures, looks: Looks, dangers: Sequence[Danger]
) -> FirstScreen:
    """Return the first screen of a page that plans a beer."""
    verdict, figure, beside, brief = _verdict(pictures, looks, found)
    top = next((d for d in dangers if d.place == "top" and d.short), None)
    why = _why(found, pictures, looks)
    return FirstScreen(
        verdict,
        figure,
        beside,
        pictures,
        actions_of(found, looks),
        why[:1],
        top,
        brief,
        why[1:],
    )


def _verdict(pictures: Pictures, looks: Looks, found: Everything) -> tuple[str, str, str, str]:
    aimed = [strip for strip in pictures.strips if strip.count is not None]
    if not aimed:
        name = next(iter(looks))
        row = found.summary.sel(outcome=name)
        look = looks[name]
        low, high = (printed(look, float(row[k]) * look.per_model) for k in ("low", "high"))
        told = f"{look.title} {low} to {with_unit(look, high)}, nine batches in ten"
        return f"No target is set. {told}.", "", "", ""
    count = sum(pictures.together)
    words = next(text for least, text in _WORDS if count >= least)
    what = "the target" if len(aimed) == 1 else f"{_all(len(aimed))} targets"
    verb = "meets" if count == 1 else "meet"
    figure = f"{count} of {DOTS}"
    missed = f"{DOTS - count} miss" if count < DOTS else "none misses"
    told = f"{words}: {figure} batches {verb} {what}, {missed}."
    return told, figure, _edge(aimed), f"{lower(words)}, {figure} {verb} {what}."


def _all(count: int) -> str:
    return "both" if count == 2 else f"all {_NUMBERS[min(count, 6)]}"


def _edge(aimed: Sequence[Strip]) -> str:
    """Say where the median of the worst target lies, if it stands outside or on an edge."""
    worst = aimed[0]
    if worst.target is None or worst.count is None or worst.count > 40:
        return ""
    reach = _EDGE * (worst.high - worst.low)
    middle, lower_end, upper = worst.middle, worst.target.lower, worst.target.upper
    look = worst.look
    there = f"median {printed(look, middle)}"
    for end, side, sign in ((lower_end, "lower", 1), (upper, "upper", -1)):
        if end is None:
            continue
        past = sign * (end - middle)
        if past > reach:
            way = "below" if sign > 0 else "above"
            return f"{look.title} lies {way} its target: {there}."
        if abs(past) <= reach:
            return f"{look.title} sits on the {side} edge: {there}."
    return ""


def _why(found: Everything, pictures: Pictures, looks: Looks) -> tuple[str, ...]:
    aimed = [s.name for s in pictures.strips if s.count is not None and s.name in found.sources]
    if not aimed:
        return ()
    source = found.sources[aimed[0]]
    return main_driver(source, looks[aimed[0]], found.removable)


def main_driver(
    source: SpreadSources, look: Quantity, removable: Mapping[str, Mapping[str, float]]
) -> tuple[str, ...]:
    """Say which input drives a target most and what can be done about it, then in fewer words."""
    if not source.rows:
        return (f"No single input stands out in {look.label}.",)
    row = source.rows[0]
    does = {
        "turn": "You can turn it.",
        "measure": "You can measure it.",
        "nobody": "Nobody controls it.",
    }[row.mark]
    if row.mark == "measure":
        taken = removable.get(row.factor, {}).get(source.outcome, 0.0)
        if taken >= 0.01:
            does = f"Measuring it before the brew takes away {percent(taken)}."
    what, share = lower(plain_input(row.label)), percent(row.share)
    told = f"Why: {what} makes {share} of the spread of {look.label}."
    return f"{told} {does}", told, f"Why: {share} of that spread is {what}."


def summary_figures(found: Everything) -> dict[str, tuple[float, float, float]]:
    """Return low, median and high of every outcome that has an interval, model units."""
    names = found.summary["outcome"].to_numpy().tolist()
    figures = {}
    for name in names:
        row = found.summary.sel(outcome=name)
        triple = tuple(float(row[key].item()) for key in ("low", "median", "high"))
        if np.isfinite(triple).all():
            figures[name] = (triple[0], triple[1], triple[2])
    return figures
