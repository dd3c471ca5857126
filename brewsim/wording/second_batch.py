"""One tasted batch against the one before: recipe, ordinary scatter, and what neither explains."""

from collections.abc import Iterator

from brewsim.logbook.tasting_answers import WORDS
from brewsim.quantities.chances import about_fifty
from brewsim.quantities.format import number
from brewsim.study.inference.predictive_check import OddAnswer
from brewsim.study.inference.sensory_answers import InFront, Pair, Word
from brewsim.study.steering.relative_steering import Ends
from brewsim.study.steering.second_batch import ODD, SecondBatch


def second_batch_sentences(one: SecondBatch) -> Iterator[str]:
    """Yield what the change of recipe explains of a batch's thiols, and whether more is needed."""
    yield (
        f"{one.second} against {one.first}, thiols: {_fold(one.change)}, which is recipe "
        f"{_fold(one.settings)} times brew {_fold(one.brew)}. Two brews of one recipe differ by "
        f"{_fold(one.ordinary)}, nine in ten."
    )
    rare = [odd for odd in one.answers if odd.chance < ODD]
    if one.odd:
        yield (
            f"Such a brew part is odd: {about_fifty(one.chance)} pairs of ordinary brews differ "
            "as much. Look for what else was otherwise."
        )
    elif not rare:
        yield "No other cause is needed: brew it once more before you turn anything."
    for odd in rare:
        yield (
            f"A rare answer: {_said(odd)}; {about_fifty(odd.chance)} answers as rare were "
            "expected before it was given."
        )


def _fold(ends: Ends) -> str:
    low, middle, high = (number(v, 2) for v in (ends.low, ends.middle, ends.high))
    return f"{middle}× ({low} to {high})"


def _said(odd: OddAnswer) -> str:
    answer, expected = odd.answer, odd.expected
    if isinstance(answer, Word) and isinstance(expected, Word):
        told = f"“{WORDS[answer.place]}”, where “{WORDS[expected.place]}” was likeliest"
    elif isinstance(answer, InFront) and isinstance(expected, InFront):
        told = f"{answer.attributes[answer.chosen]}, where "
        told += f"{expected.attributes[expected.chosen]} was likeliest"
    elif isinstance(answer, Pair) and isinstance(expected, Pair):
        told = f"{answer.count} of {answer.asked}, where {expected.count} was likeliest"
    else:
        told = "not the likeliest answer"
    who = f" by {answer.taster}" if answer.taster else ""
    return f"{answer.label}{who}: {told}"
