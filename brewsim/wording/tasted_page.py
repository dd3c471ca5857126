"""The first screen after a tasting: what to turn from the beer in the glass."""

import math

from brewsim.answers.next_beer import NextBeer
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, counted
from brewsim.quantities.format import number
from brewsim.study.model.problem import Problem
from brewsim.study.steering.relative_steering import RelativeMove
from brewsim.wording.lessons import lesson_sentences
from brewsim.wording.move_rows import move_table, moves_told
from brewsim.wording.move_words import amount_of, as_shown, moved_words, of_fifty, short_moved_words
from brewsim.wording.next_beer import (
    LEAST_TOLD,
    asked_sentences,
    origin_sentences,
    rest_sentences,
    verdict_sentences,
)
from brewsim.wording.page_parts import (
    Action,
    FirstScreen,
    MoveRow,
    OriginRow,
    Pictures,
    TastedBeer,
)
from brewsim.wording.parts import Danger

_FIRST = ("as it was", "nearest useful", "chosen")
"""Moves of the first screen."""


def tasted_beer(answer: NextBeer) -> TastedBeer:
    """Return the answer to a wish as the page shows it."""
    steering, problem = answer.steering, answer.question.problem
    aim = next(iter(answer.aims.wishes.values()))
    quantity = amount_of(aim)
    folds = problem.scales.get(quantity, "linear") != "linear"
    wished = (getattr(aim, "low", -math.inf), getattr(aim, "high", math.inf))
    moves = moves_told(answer)
    return TastedBeer(
        start=steering.start,
        label=capital(outcome_of(quantity).label),
        unit=f"times {steering.start}" if folds else outcome_of(quantity).unit,
        folds=folds,
        window=wished if folds and all(map(math.isfinite, wished)) else None,
        moves=tuple(_row(capital(n), m, quantity) for n, m in moves if n in _FIRST),
        sentences=(*asked_sentences(answer), *rest_sentences(answer)),
        table=move_table(answer),
        verdict=tuple(verdict_sentences(answer)),
        rows=tuple(_row(_told(problem, n, m), m, quantity) for n, m in moves),
        origin=_origin(answer),
        came=tuple(origin_sentences(answer.origin)),
        lessons=tuple(lesson_sentences(answer)),
    )


def _told(problem: Problem, name: str, move: RelativeMove) -> str:
    where = moved_words(problem, move.settings)
    return capital(where if name == "alone" else f"{name}: {where}" if move.settings else name)


def _row(label: str, move: RelativeMove, quantity: str) -> MoveRow:
    same, ends = move.folds[quantity]
    count = f"{number(DOTS * move.all_met[0], 0)} of {DOTS}"
    return MoveRow(label, ends.low, ends.middle, ends.high, count, (same.low, same.high))


def _origin(answer: NextBeer) -> tuple[OriginRow, ...]:
    if answer.origin is None:
        return ()
    return tuple(
        OriginRow(
            source.label,
            source.mean,
            source.low,
            source.high,
            f"{number(DOTS * source.largest[0], 0)} of {DOTS}",
        )
        for source in answer.origin.sources
        if source.high >= LEAST_TOLD
    )


def tasted_screen(answer: NextBeer, caution: Danger | None) -> FirstScreen:
    """Return the first screen of a page whose log has a tasted batch."""
    steering, problem = answer.steering, answer.question.problem
    wish = " and ".join(
        f"{name} {answer.aims.said.get(name, '')}".strip() for name in answer.aims.wishes
    )
    chosen, unchanged = steering.chosen, steering.unchanged
    now, then = (number(DOTS * move.all_met[0], 0) for move in (unchanged, chosen))
    if steering.nearest is None:
        verdict = f"{capital(wish)}: no knob helps; {now} of {DOTS} next brews would be there."
        return FirstScreen(verdict, f"{now} of {DOTS}", "", Pictures(), (), (), caution)
    turned = counted(len(chosen.settings), "knob")
    verdict = (
        f"{capital(wish)}: {then} of {DOTS} next brews get there with {turned} turned, {now} "
        "brewed again as it was."
    )
    actions = [
        Action(
            f"Turn {short_moved_words(problem, chosen.settings)}",
            f"Of {DOTS}: {of_fifty(chosen.all_met)}, the rest held.",
            as_shown(problem, chosen.settings),
            joint=chosen.all_met[0],
            brief=f"Turn {short_moved_words(problem, chosen.settings)}",
        )
    ]
    nearest = steering.nearest
    if nearest.settings != chosen.settings:
        actions.append(
            Action(
                f"Or least: {short_moved_words(problem, nearest.settings)}",
                f"Of {DOTS}: {of_fifty(nearest.all_met)}.",
                as_shown(problem, nearest.settings),
                joint=nearest.all_met[0],
                brief=f"Or least: {short_moved_words(problem, nearest.settings)}: "
                f"{number(DOTS * nearest.all_met[0], 0)} of {DOTS}",
            )
        )
    why = (
        f"Had only the knobs been other in {steering.start} itself: "
        f"{of_fifty(chosen.same_wort)} of {DOTS}. The rest is what brews differ by."
    )
    return FirstScreen(
        verdict, f"{then} of {DOTS}", "", Pictures(), tuple(actions), (why,), caution
    )
