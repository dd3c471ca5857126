"""What to turn for the targets, fewest knobs first, in sentences."""

from collections.abc import Iterator, Sequence

from brewsim.answers.fewest_moves import FewestMoves, PlainMove
from brewsim.answers.kept import LeftOut
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import listed
from brewsim.quantities.format import heading, number
from brewsim.study.model.problem import Problem
from brewsim.study.steering.fewest_knobs import MOST_PAIRED, WORTH_TURNING
from brewsim.wording.move_words import moved_words, of_fifty, stopped_sentences
from brewsim.wording.paired import change_words


def fewest_sentences(found: FewestMoves) -> Iterator[str]:
    """Yield the move with the fewest knobs, the nearest useful one, and a lever nobody listed."""
    now, problem = of_fifty(found.today.chance), found.problem
    chosen, nearest = found.chosen, found.nearest
    if chosen is None:
        more = number(DOTS * WORTH_TURNING, 0)
        yield (
            f"As it stands, {now} of {DOTS} batches land in all targets, and no knob of yours is "
            f"worth turning: none adds {more} batches of {DOTS} beyond its error."
        )
    else:
        yield (
            f"Fewest knobs: turn {moved_words(problem, chosen.settings)}. Then {_there(chosen)} of "
            f"{DOTS} batches land in all targets, as it stands {now}."
        )
        yield from _changed(problem, chosen)
    if nearest is not None:
        yield (
            f"The nearest useful move: {moved_words(problem, nearest.settings)}; then "
            f"{_there(nearest)} of {DOTS}."
        )
    yield from untried_sentences(found)
    yield from stopped_sentences(problem, found.stopped)
    if found.floors:
        sides = listed([outcome_of(name).label for name in found.floors])
        yield f"Kept noticeable in every setting: {sides}."
    if found.unlisted is not None:
        yield (
            f"Not among your knobs; I tried it: {moved_words(problem, found.unlisted.settings)}, "
            f"alone; then {_there(found.unlisted)} of {DOTS}."
        )


def _there(move: PlainMove) -> str:
    return of_fifty((move.chance, move.gain[1]))


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
