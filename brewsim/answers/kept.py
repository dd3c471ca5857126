"""What advice keeps of a beer: its sources of aroma, and the sides of a ratio it aims at."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np

from brewsim.answers.ratio_sides import sides_of
from brewsim.beer.knob_limits import LEAST_KEPT, kept_present, limited
from brewsim.errors import InputError
from brewsim.recipe.schema import Recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.sweep import current_setting

_ROWS = 256


@dataclass(frozen=True)
class LeftOut:
    """A choice that is not advised: what it would leave of a side of a ratio, as a share."""

    knob: str
    choice: str
    outcome: str
    share: float


@dataclass(frozen=True)
class Kept:
    """A problem whose knobs go no further than advice may, and the choices that were left out."""

    problem: Problem
    left_out: tuple[LeftOut, ...] = ()


def kept(recipe: Recipe, problem: Problem, asked: Collection[str] = (), *, seed: int = 1) -> Kept:
    """Return the problem with the recipe's limits on its knobs, and with what the beer is about.

    No source of aroma goes below a quarter of what it is, and no choice takes a side of a ratio
    that is aimed at below a quarter of today's: a ratio is not met by another beer. A knob with a
    limit of its own is left alone, and so is a choice whose knob is `asked` for.

    Raises
    ------
        InputError: with every fault of the limits.
    """
    knobs, faults = limited(problem, recipe.limits)
    if faults:
        raise InputError(recipe.name, [text for _, text in faults])
    narrow = [*kept_present(recipe, problem, knobs, recipe.limits)]
    allowed = {*recipe.limits, *asked}
    gone = tuple(
        _too_little(problem, [k for k in narrow if k.choices and k.id not in allowed], seed)
    )
    without = {(one.knob, one.choice) for one in gone}
    left = [
        replace(k, choices=tuple(c for c in k.choices if (k.id, c.label) not in without))
        for k in narrow
    ]
    moving = tuple(k for k, was in zip(left, narrow, strict=True) if _moves(k, was))
    return Kept(replace(problem, knobs=moving), gone)


def _moves(knob: Knob, was: Knob) -> bool:
    return len(knob.choices) > 1 or not was.choices or len(was.choices) == len(knob.choices)


def _too_little(problem: Problem, choosers: list[Knob], seed: int) -> Iterator[LeftOut]:
    names = sides_of(problem)
    if not names or not choosers:
        return
    usual = without_events(problem)
    values = Evaluator(usual, CommonDraws([usual], Plan(8, _ROWS, seed)), names)
    today = values.at({})
    for knob in choosers:
        now = current_setting(problem, knob)
        for choice in knob.choices:
            if choice.label == now:
                continue
            there = values.at({knob.id: choice.label})
            with np.errstate(all="ignore"):
                shares = {n: float(np.nanmedian(there[n] / today[n])) for n in names}
            least = min(shares, key=lambda n: shares[n])
            if shares[least] < LEAST_KEPT:
                yield LeftOut(knob.id, choice.label, least, shares[least])
