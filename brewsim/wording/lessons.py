"""What to do next in order to learn, in sentences: only what is worth a batch is told as such."""

import math
from collections.abc import Iterator, Mapping

from brewsim.answers.next_beer import NextBeer
from brewsim.logbook.wished import AMOUNTS
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, counted
from brewsim.quantities.format import number
from brewsim.study.steering.worth_next import Lesson
from brewsim.wording.move_words import amount_of, decimals, moved_words

_ENOUGH = 0.96
"""With so many landing anyway there is nothing to learn for."""
_MOST = 3
"""So many ways to learn are told."""
_FAIR = 0.5
"""A brew that lands less often than this share of the chosen one is proposed for want of others."""


def lesson_sentences(answer: NextBeer) -> Iterator[str]:
    """Yield what cannot be learned away, then what tasting is worth to the brew that follows."""
    if not answer.lessons or all(x.without >= _ENOUGH for x in answer.lessons):
        return
    start = answer.steering.start
    yield from _scatter(answer)
    paying = sorted((x for x in answer.lessons if x.pays), key=lambda x: -x.gain[0])
    told: list[Lesson] = []
    for lesson in paying:
        if all(lesson.trial != other.trial for other in told):
            told.append(lesson)
    if not told:
        yield (
            f"To learn: nothing that {counted(_people(answer), 'taster')} could say of {start} in "
            "a blend ladder, or of the next brew in words, side by side, split, or with a source "
            f"left out, adds a batch of {DOTS} beyond its own error. It hardly pays for the brew "
            "after; do it for the answer itself."
        )
        return
    fair = [lesson for lesson in told if _lands(answer, lesson)]
    for lesson in (fair or told)[:_MOST]:
        yield _pays(answer, lesson)
    yield "Serve in random order, coded."


def _lands(answer: NextBeer, lesson: Lesson) -> bool:
    """Return whether what is brewed to learn is itself no poor beer beside the one chosen."""
    if lesson.lands is None:
        return True
    return lesson.lands[0] >= _FAIR * answer.steering.chosen.all_met[0]


def _people(answer: NextBeer) -> int:
    return min(lesson.asked for lesson in answer.lessons)


def _scatter(answer: NextBeer) -> Iterator[str]:
    """Say how much brews of one recipe differ: no answer takes that away."""
    aim = next(iter(answer.aims.wishes.values()))
    quantity, start = amount_of(aim), answer.steering.start
    problem = answer.question.problem
    if problem.scales.get(quantity, "linear") == "linear":
        return
    _, again = answer.steering.unchanged.folds[quantity]
    low, high = (number(v, decimals(v)) for v in (again.low, again.high))
    name = next((n for n, q in AMOUNTS.items() if q == quantity), quantity)
    yield (
        f"What no answer takes away: brewed again as it was, {name} would come out {low} to "
        f"{high} times {start}, nine in ten."
    )


def _pays(answer: NextBeer, lesson: Lesson) -> str:
    gain, error = DOTS * lesson.gain[0], max(1, math.ceil(DOTS * lesson.gain[1] - 0.05))
    worth = f"{number(gain, 0)} (± {error}) more of {DOTS}"
    without = f"{number(DOTS * lesson.without, 0)} without"
    if lesson.trial is None:
        return (
            f"To learn before the next brew: {_asked(answer, lesson)}; then the next brew lands "
            f"{worth} ({without})."
        )
    how = f"brew {_brewed(answer, lesson.trial.settings)}"
    if lesson.trial.beside is not None:
        other = {k: v for k, v in lesson.trial.beside.items() if lesson.trial.settings.get(k) != v}
        how += f", ferment a part of its wort with {moved_words(answer.question.problem, other)}"
    chance = 0.0 if lesson.lands is None else lesson.lands[0]
    return (
        f"To learn: {how}, and ask for {_asked(answer, lesson)}; then the brew after lands {worth} "
        f"({without}). That brew itself: {number(DOTS * chance, 0)} of {DOTS}."
    )


def _brewed(answer: NextBeer, settings: Mapping[str, float | str]) -> str:
    if not settings:
        return "it again as it was"
    if settings == answer.steering.chosen.settings:
        return "what is chosen above"
    return f"with {moved_words(answer.question.problem, settings)}"


def _asked(answer: NextBeer, lesson: Lesson) -> str:
    start = answer.steering.start
    if lesson.kind == "ladder":
        return (
            f"a blend ladder of {start} in a plain beer, a quarter, half, three quarters and the "
            f"whole, {counted(lesson.asked, 'taster')}"
        )
    if lesson.kind == "words":
        return f"a word on it from {counted(lesson.asked, 'taster')}"
    beside = f"beside {start}" if lesson.kind == "pair" else "of both parts"
    return f"{counted(lesson.asked, 'answer')} which is stronger, {beside}"


def unlisted_sentences(answer: NextBeer) -> Iterator[str]:
    """Say it where a lever that is none of the knobs does better than any of them alone."""
    move = answer.steering.unlisted
    if move is not None:
        moved = capital(moved_words(answer.question.problem, move.settings))
        yield (
            f"Not among your knobs; I tried it: {moved}, alone; then "
            f"{number(DOTS * move.all_met[0], 0)} of {DOTS} next brews."
        )
