"""Moves from a tasted batch as the rows of one table and of one picture."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from brewsim.answers.next_beer import NextBeer
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS
from brewsim.quantities.format import number
from brewsim.study.model.problem import Problem
from brewsim.study.steering.aims import Fold
from brewsim.study.steering.relative_steering import Ends, RelativeMove
from brewsim.wording.knobs import knob_words
from brewsim.wording.move_words import amount_of, decimals, moved_words, of_fifty, short_label
from brewsim.wording.parts import Table

_HELPS, _MOST_ALONE = 0.02, 4
"""A knob alone has a row where it adds a batch of 50; so many of them at most."""


@dataclass(frozen=True)
class FoldRow:
    """A move in a picture: its words, folds in the same wort and the next brew, what lands."""

    label: str
    same: Ends
    following: Ends
    lands: str


@dataclass(frozen=True)
class FoldPicture:
    """Moves on an axis in folds of a tasted batch; `window` is the wish in doublings."""

    title: str
    start: str
    what: str
    wish: str
    window: tuple[float, float] | None
    rows: tuple[FoldRow, ...]


def fold_picture(answer: NextBeer) -> FoldPicture | None:
    """Return the moves as rows of a picture; None where the first wish is not in folds."""
    name, aim = next(iter(answer.aims.wishes.items()))
    quantity = amount_of(aim)
    if answer.question.problem.scales.get(quantity, "linear") == "linear":
        return None
    window = (aim.low, aim.high) if isinstance(aim, Fold) else None
    problem = answer.question.problem
    rows = []
    for label, move in moves_told(answer):
        folds = move.folds[quantity]
        where = moved_words(problem, move.settings) if move.settings else label
        rows.append(FoldRow(where, *folds, f"{of_fifty(move.all_met)} of {DOTS}"))
    start = answer.steering.start
    title = f"{name} against {start}, as it was and after each move"
    return FoldPicture(title, start, name, answer.aims.said.get(name, ""), window, tuple(rows))


def move_table(answer: NextBeer) -> Table:
    """Return one row a move: folds in both brews, and how many of 50 land."""
    problem = answer.question.problem
    told = [_row(answer, n, m, _short(problem, m.settings)) for n, m in moves_told(answer)]
    quantity = amount_of(next(iter(answer.aims.wishes.values())))
    folds = problem.scales.get(quantity, "linear") != "linear"
    unit = "×" if folds else outcome_of(quantity, problem.units).unit
    header = (
        "move",
        f"same wort, {unit}",
        f"next brew, {unit}",
        "wish",
        "with holds",
        f"in {answer.steering.start} itself",
    )
    first = next(iter(answer.aims.wishes))
    title = f"Moves from {answer.steering.start}: {first}, and how many of 50"
    return Table(title, header, tuple(told))


def moves_told(answer: NextBeer) -> list[tuple[str, RelativeMove]]:
    """Return what is told: as it was, the two moves, single knobs that help, another lever."""
    steering = answer.steering
    rows = [("as it was", steering.unchanged)]
    if steering.nearest is not None:
        if steering.nearest.settings != steering.chosen.settings:
            rows.append(("nearest useful", steering.nearest))
        rows.append(("chosen", steering.chosen))
    least = steering.unchanged.all_met[0] + _HELPS
    helping = [move for move in steering.alone if move.all_met[0] >= least]
    rows += [("alone", move) for move in helping[:_MOST_ALONE]]
    if steering.unlisted is not None:
        rows.append(("not among your knobs", steering.unlisted))
    seen: list[object] = []
    told = []
    for label, move in rows:
        if label == "alone" and move.settings in seen:
            continue
        seen.append(dict(move.settings))
        told.append((label, move))
    return told


def _short(problem: Problem, settings: Mapping[str, float | str]) -> str:
    """Return settings by the labels of their knobs: "Fuggle, mash 23 g; powder 2.2 g/L"."""
    knobs = ((problem.knob(name), value) for name, value in settings.items())
    parts = (f"{short_label(knob)} {knob_words(knob, value)}" for knob, value in knobs)
    return "; ".join(parts) or "nothing"


def _row(answer: NextBeer, label: str, move: RelativeMove, where: str) -> tuple[str, ...]:
    aim = next(iter(answer.aims.wishes.values()))
    quantity = amount_of(aim)
    same, following = move.folds[quantity]
    folds = answer.question.problem.scales.get(quantity, "linear") != "linear"
    name = label if where == "nothing" else f"{label}: {where}" if label != "alone" else where
    counts = [f"{number(DOTS * c[0], 0)}" for c in (move.wish, move.all_met, move.same_wort)]
    error = max(1, math.ceil(DOTS * move.all_met[1] - 0.05))
    counts[1] += f" ± {error}"
    return (name, _ends(same, folds=folds), _ends(following, folds=folds), *counts)


def _ends(ends: Ends, *, folds: bool) -> str:
    places = (number(v, decimals(v) if folds else 1) for v in (ends.low, ends.middle, ends.high))
    low, middle, high = places
    return f"{middle} ({low}-{high})" if folds else f"{middle} ({low} to {high})"
