"""Limits put on knobs for one question: "precursor 1 dose" = "at least 0.5 g/L"."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.quantities.format import number
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.faults import Fault, in_words
from brewsim.recipe.schema import Recipe
from brewsim.recipe.timing import HopTime
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.sweep import current_setting
from brewsim.units import unit_of

LEAST_KEPT = 0.25
"""Share of a source of aroma that advice keeps: two doublings less is hardly the same beer."""
_AROMA_MINUTES = 15.0
_SLACK = 1e-9


def limited(
    problem: Problem, limits: Mapping[str, Written]
) -> tuple[tuple[Knob, ...], list[Fault]]:
    """Return the problem's knobs with the limits put on them, and the faults of the limits."""
    knobs = {knob.id: knob for knob in problem.knobs}
    faults: list[Fault] = []
    for name, text in limits.items():
        line = line_of(text)
        try:
            if name not in knobs:
                near = did_you_mean(name, knobs) or f" There is: {', '.join(knobs) or 'none'}."
                raise ValueError(f"there is no knob {name}.{near}")  # noqa: TRY301 - told below
            knobs[name] = _limited(problem, knobs[name], text)
        except ValueError as error:
            faults.append((line, in_words(line, f"limits {name}", str(error))))
    return tuple(knobs.values()), faults


def _limited(problem: Problem, knob: Knob, text: Written) -> Knob:
    now = current_setting(problem, knob)
    if knob.choices:
        return _left(knob, str(now), text)
    stated = read_phrase(text, unit_of(knob.quantity) or "")
    phrase = stated.phrase
    low, high = knob.low, knob.high
    if phrase.kind in ("at_least", "range90", "uniform") and phrase.low is not None:
        low = max(low, phrase.low)
    if phrase.kind in ("at_most", "range90", "uniform") and phrase.high is not None:
        high = min(high, phrase.high)
    if (low, high) == (knob.low, knob.high) and phrase.kind not in (
        "at_least",
        "at_most",
        "range90",
        "uniform",
    ):
        raise ValueError(f"“{text}” is no limit; write at least, at most, or a range")
    if low > high:
        raise ValueError(f"“{text}” leaves nothing of the knob's own range")
    slack = _SLACK * max(1.0, abs(float(now)))
    if not low - slack <= float(now) <= high + slack:
        shown = f"{number(knob.as_shown(float(now)), knob.decimals)} {knob.unit}"
        raise ValueError(f"“{text}” excludes {shown}, where it stands now; change the recipe first")
    return replace(knob, low=low, high=high)


def _left(knob: Knob, now: str, text: Written) -> Knob:
    words = [" ".join(part.split()).lower() for part in str(text).split(",")]
    labels = [choice.label for choice in knob.choices]
    for word in words:
        if word not in labels:
            near = did_you_mean(word, labels) or f" There is: {', '.join(labels)}."
            raise ValueError(f"“{word}” is no choice of it.{near}")
    if now not in words:
        raise ValueError(f"“{text}” excludes {now}, where it stands now; change the recipe first")
    return replace(knob, choices=tuple(c for c in knob.choices if c.label in words))


def kept_present(
    recipe: Recipe, problem: Problem, knobs: Sequence[Knob], asked: Collection[str] = ()
) -> Iterator[Knob]:
    """Yield the knobs, those on a source of aroma kept above a quarter of what it is today.

    A beer without one of its sources is another beer. `asked` are knobs with limits of their own,
    which are left alone.
    """
    sources = aroma_sources(recipe, knobs)
    for knob in knobs:
        now = current_setting(problem, knob)
        if knob.id not in sources or knob.id in asked or isinstance(now, str) or now <= 0:
            yield knob
            continue
        yield replace(knob, low=stepped_up(knob, min(LEAST_KEPT * now, knob.high)))


def stopped(
    recipe: Recipe, problem: Problem, settings: Mapping[str, float | str]
) -> tuple[str, ...]:
    """Return the ids of knobs that a move takes as low as a source of aroma may go."""
    knobs = {knob.id: knob for knob in problem.knobs}
    sources = aroma_sources(recipe, problem.knobs) - recipe.limits.keys()
    found = []
    for name in sorted(sources & settings.keys()):
        now, value = current_setting(problem, knobs[name]), settings[name]
        if isinstance(now, str) or isinstance(value, str):
            continue
        step = max(knobs[name].step, _SLACK)
        if 0 < value < LEAST_KEPT * now + step:
            found.append(name)
    return tuple(found)


def aroma_sources(recipe: Recipe, knobs: Sequence[Knob]) -> frozenset[str]:
    """Return the ids of knobs on how much of a source of aroma is taken.

    Hops are one unless they are boiled for longer than a quarter of an hour; precursors are.
    """
    found = set()
    for knob in knobs:
        kind, *rest = knob.id.split()
        if kind not in ("hop", "precursor") or rest[-1:] not in (["mass"], ["rate"], ["dose"]):
            continue
        row = _row_of(getattr(recipe, kind), " ".join(rest[:-1]))
        if row is not None and (kind == "precursor" or not _boiled_long(row.when)):
            found.add(knob.id)
    return frozenset(found)


def bittering_knob(recipe: Recipe, knobs: Sequence[Knob]) -> Knob | None:
    """Return the first knob on a hop that is boiled for its bitterness, None without one."""
    for knob in knobs:
        kind, *rest = knob.id.split()
        if kind == "hop" and rest[-1:] == ["mass"]:
            row = _row_of(recipe.hop, " ".join(rest[:-1]))
            if row is not None and _boiled_long(row.when):
                return knob
    return None


def _row_of(rows: Sequence[Any], which: str) -> Any:  # noqa: ANN401 - a Hop or a Precursor
    if which.isdecimal() and 1 <= int(which) <= len(rows):
        return rows[int(which) - 1]
    named = [row for row in rows if getattr(row, "variety", getattr(row, "name", "")) == which]
    return named[0] if len(named) == 1 else None


def _boiled_long(when: HopTime) -> bool:
    if when.step == "first wort":
        return True
    minutes = when.time.value if when.time is not None else 0.0
    return when.step == "boil" and minutes > _AROMA_MINUTES


def stepped_up(knob: Knob, least: float) -> float:
    """Return the first of a knob's steps that is no less than a setting."""
    if least <= knob.low:
        return knob.low
    if knob.step <= 0:
        return least
    steps = -(-(least - knob.low) // knob.step)
    return min(knob.low + steps * knob.step, knob.high)
