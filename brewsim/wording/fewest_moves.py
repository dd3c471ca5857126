"""What to turn for the targets, fewest knobs first, in sentences."""

from collections.abc import Iterator, Sequence

from brewsim.answers.fewest_moves import FewestMoves, PlainMove
from brewsim.answers.kept import LeftOut
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import heading, number
from brewsim.study.model.problem import Problem
from brewsim.study.steering.fewest_knobs import MOST_PAIRED
from brewsim.wording.knobs import knob_words
from brewsim.wording.move_words import moved_words, of_fifty
from brewsim.wording.paired import change_words


def fewest_sentences(problem: Problem, found: FewestMoves) -> Iterator[str]:
    """Yield the move with the fewest knobs, the nearest useful one, and a lever nobody listed."""
    now = of_fifty(found.now.chance)
    if found.nearest is None:
        yield f"As it stands, {now} of {DOTS} batches land in all targets, and no knob here helps."
    else:
        yield (
            f"Fewest knobs: turn {moved_words(problem, found.chosen.settings)}. Then "
            f"{of_fifty(found.chosen.chance)} of {DOTS} batches land in all targets, as it stands "
            f"{now}."
        )
        yield from _changed(problem, found.chosen)
        if found.nearest.settings != found.chosen.settings:
            yield (
                f"The nearest useful move: {moved_words(problem, found.nearest.settings)}; then "
                f"{of_fifty(found.nearest.chance)} of {DOTS}."
            )
    yield from untried_sentences(found)
    if found.stopped:
        yield (
            f"{capital(listed(found.stopped))} stops at a quarter of what it is, so that the beer "
            f'keeps its source of aroma; a line "{found.stopped[0]}" = "at least ..." under '
            "[limits] lets it go further."
        )
    if found.floors:
        sides = listed([outcome_of(name).label for name in found.floors])
        yield f"Kept noticeable in every setting: {sides}."
    lever = found.unlisted
    if lever is not None:
        yield (
            f"Not among your knobs; I tried it: {lever.knob.label} "
            f"{knob_words(lever.knob, lever.now)} → {knob_words(lever.knob, lever.setting)}, "
            f"alone, would land {number(DOTS * lever.gain, 0)} of {DOTS} more than now."
        )


def untried_sentences(found: FewestMoves) -> Iterator[str]:
    """Say it where of many knobs some were not tried together with others."""
    if found.alone:
        yield (
            f"Of so many knobs, the {MOST_PAIRED} that do most alone were tried together, "
            f"{found.alone} others alone; --knob names those to try."
        )


def _changed(problem: Problem, move: PlainMove) -> Iterator[str]:
    """Say what a move does to a batch in which all else is the same."""
    told = []
    for name, ends in move.changes.items():
        look = outcome_of(name, problem.units)
        scale = problem.scales.get(name, "linear")
        if len(set(ends)) > 1:
            told.append(f"{heading(look)} {change_words(look, scale, ends)}")
    if told:
        yield f"In a batch where all else is the same, nine in ten: {'; '.join(told)}."


def left_out_sentences(problem: Problem, left_out: Sequence[LeftOut]) -> Iterator[str]:
    """Say which choices are not advised, and what they would leave."""
    for one in left_out:
        knob, label = problem.knob(one.knob).label, outcome_of(one.outcome).label
        yield (
            f"Not advised: {knob} {one.choice}, which would leave {number(one.share, 2)} times the "
            f"{label}: another beer."
        )


def asking_sentences(left_out: Sequence[LeftOut]) -> Iterator[str]:
    """Say how a choice that is not advised is asked for."""
    for one in left_out:
        yield f'--knob "{one.knob}" or a line of it under [limits] asks for {one.choice}.'
