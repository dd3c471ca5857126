"""What to brew after a tasted batch, in sentences: folds of the beer in the glass."""

from collections.abc import Iterator

from brewsim.answers.next_beer import NextBeer
from brewsim.logbook.wished import AMOUNTS
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import DOTS, fiftieths, percent
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import number
from brewsim.study.steering.fewest_knobs import WORTH_TURNING
from brewsim.study.steering.origin import Origin
from brewsim.study.steering.relative_steering import Ends, RelativeMove, first_wished
from brewsim.wording.lessons import unlisted_sentences
from brewsim.wording.move_words import (
    SLIGHT,
    amount_of,
    decimals,
    fold,
    moved_words,
    of_fifty,
    stopped_sentences,
)

_NAMES = {quantity: name for name, quantity in AMOUNTS.items()}
_MOST, _NONE = 0.5, 0.05
LEAST_TOLD = 0.02
"""A source is told where it may bring this share."""


def next_beer_sentences(answer: NextBeer) -> Iterator[str]:
    """Yield what to turn, what was asked, what comes of it, and what it costs."""
    yield from verdict_sentences(answer)
    yield from asked_sentences(answer)
    yield from rest_sentences(answer)


def verdict_sentences(answer: NextBeer) -> Iterator[str]:
    """Yield what to turn and how many next brews would then be as wished."""
    steering, problem = answer.steering, answer.question.problem
    chosen, unchanged = steering.chosen, steering.unchanged
    if steering.nearest is None:
        yield (
            f"No knob of this recipe helps: of {DOTS} next brews {of_fifty(unchanged.all_met)} "
            "would be what you wish as it was brewed, and no more than "
            f"{of_fifty(steering.best.all_met)} at the best settings found."
        )
        return
    yield f"Turn {moved_words(problem, chosen.settings)}."
    yield (
        f"Of {DOTS} next brews {of_fifty(chosen.all_met)} would then be what you wish with the "
        f"rest held, of {DOTS} brewed again as it was {of_fifty(unchanged.all_met)}. Had only the "
        f"knobs been other in {steering.start} itself: {of_fifty(chosen.same_wort)}. The rest is "
        "what brews differ by when nothing is turned."
    )


def rest_sentences(answer: NextBeer) -> Iterator[str]:
    """Yield where that leaves the beer, what it costs, the nearest useful move, their words."""
    steering, problem = answer.steering, answer.question.problem
    chosen = steering.chosen
    yield from left_out_sentences(answer)
    if steering.nearest is None:
        yield from _reach(answer, steering.unchanged)
        yield from _in_the_way(answer)
        yield from unlisted_sentences(answer)
        return
    yield from _reach(answer, chosen)
    yield from _costs(answer, chosen)
    yield from stopped_sentences(problem, answer.stopped)
    nearest = steering.nearest
    if nearest.settings != chosen.settings:
        yield (
            f"The nearest useful move: {moved_words(problem, nearest.settings)}; then "
            f"{of_fifty(nearest.all_met)} of {DOTS} next brews."
        )
        yield from _reach(answer, nearest)
    yield from unlisted_sentences(answer)
    yield from _their_words(answer)


def left_out_sentences(answer: NextBeer) -> Iterator[str]:
    """Say in how many draws an outcome had no value, so that no span of it rests on them."""
    steering = answer.steering
    move = steering.unchanged if steering.nearest is None else steering.chosen
    for name, count in move.left_out.items():
        yield (
            f"{capital(outcome_of(name).label)} against {steering.start} had no value in {count:,} "
            "draws: they count as not wished, and no span rests on them."
        )


def _in_the_way(answer: NextBeer) -> Iterator[str]:
    """Say why no knob helps: what is held forbids it, no knob reaches, or brews differ too much."""
    freely = answer.steering.freely
    if freely is None:
        return
    now = answer.steering.unchanged.wish[0]
    wish = next(iter(answer.aims.wishes))
    if freely.wish[0] >= now + WORTH_TURNING:
        moved = moved_words(answer.question.problem, freely.settings)
        yield (
            f"Conflict: {moved} would bring {of_fifty(freely.wish)} of {DOTS} next brews to the "
            f"wish alone, but not with the rest held ({of_fifty(freely.all_met)}). Say under "
            "[hold] what may change."
        )
    elif freely.same_wort[0] < now + WORTH_TURNING:
        yield f"Range: no knob here moves {wish} enough."
    else:
        yield (
            f"Spread: had only the knobs been other in {answer.steering.start} itself, "
            f"{of_fifty(freely.same_wort)} of {DOTS} would be as wished; brews differ by more "
            "than that gains."
        )


def asked_sentences(answer: NextBeer) -> Iterator[str]:
    """Yield what is wished of the next beer, what is held, and what that sets aside."""
    aims = answer.aims
    wishes = listed([f"{name} {aims.said.get(name, '')}".strip() for name in aims.wishes])
    held = []
    for name in aims.holds:
        if name not in aims.said:
            held.append(f"{outcome_of(name).label} as targeted")
        elif name in aims.default:
            held.append(f"{name} ({aims.said[name]})")
        else:
            held.append(f"{name} {aims.said[name]}")
    kept = f" Held: {listed(held)}." if held else " Nothing else is held."
    yield f"From {aims.start.id}, with {wishes} wished for.{kept}"
    if aims.set_aside:
        names = listed([outcome_of(name).label for name in aims.set_aside])
        yield f"What is targeted for {names} is set aside: the wish and the holds decide that."


def _reach(answer: NextBeer, move: RelativeMove) -> Iterator[str]:
    """Say where the wished outcomes stand against the tasted batch, in both brews."""
    start = answer.steering.start
    for aim in answer.aims.wishes.values():
        quantity = amount_of(aim)
        if quantity not in move.folds:
            continue
        same, following = move.folds[quantity]
        name = capital(_NAMES.get(quantity, outcome_of(quantity).label))
        if quantity == AMOUNTS["bitterness"]:
            told = f"{_step(following)} against {start}; in the same wort {_step(same)}"
            yield f"{name} in the next brew: {told}."
            continue
        yield (
            f"{name} in the next brew against {start}: {fold(following)}; in the same wort: "
            f"{fold(same)}."
        )


def _step(ends: Ends) -> str:
    low, middle, high = (number(v, 1) for v in (ends.low, ends.middle, ends.high))
    return f"{middle} IBU ({low} to {high}, nine in ten)"


def _costs(answer: NextBeer, move: RelativeMove) -> Iterator[str]:
    """Say what a move does to all that was not wished."""
    told = []
    wished = {amount_of(a) for a in answer.aims.wishes.values()}
    for quantity in answer.question.about:
        if quantity in wished or quantity not in move.folds:
            continue
        same, _ = move.folds[quantity]
        row = outcome_of(quantity, answer.question.problem.units)
        name = _NAMES.get(quantity, row.label)
        if answer.question.problem.scales.get(quantity, "linear") != "linear":
            if abs(same.middle - 1) >= SLIGHT:
                told.append(f"{name} {number(same.middle, decimals(same.middle))} times")
            continue
        change = same.middle * row.per_model
        text = number(change, (row.decimals or 0) + (0 if row.decimals else 1))
        if text.strip("−0.") != "":
            sign = "" if text.startswith("−") else "+"
            told.append(f"{name} {sign}{text} {row.unit}")
    if told:
        yield f"What it does to the rest, in the same wort: {listed(told)}."
    yield from _misses(answer, move)


def _misses(answer: NextBeer, move: RelativeMove) -> Iterator[str]:
    """Say how often a brew goes the wrong way, or much too far down."""
    wishes, start = answer.aims.wishes, answer.steering.start
    quantity = first_wished(answer.question.wishes, answer.question.wanted)
    first = next((n for n, aim in wishes.items() if aim.outcome == quantity), next(iter(wishes)))
    folds = answer.question.problem.scales.get(quantity, "linear") != "linear"
    ends = move.folds.get(quantity)
    if ends is None:
        return
    if ends[0].middle > (1.0 if folds else 0.0):
        told = [(1 - move.not_less, f"{first} no more than in {start} in")]
    else:
        told = [(move.not_less, f"{first} no less than in {start} in")]
        if folds:
            told.append((move.below_third, "below about a third in"))
    counts = [(number(DOTS * share, 0), text) for share, text in told]
    if any(count != "0" for count, _ in counts):
        said = ", ".join(f"{text} {count}" for count, text in counts)
        yield f"It may also miss, of {DOTS}: {said}."


def _their_words(answer: NextBeer) -> Iterator[str]:
    """Say it where the fold that is wished would still not please those who tasted."""
    found = answer.still_too_much
    if found is None:
        return
    start = answer.steering.start
    ends = listed([f"{_up_to(e)} for {t}" for t, e in found.just_right.items()])
    yield f"By their words just right lies, in folds of the thiols of {start}, at {ends}."
    if found.too_much > _MOST:
        yield (
            "By that, what you wish would still be too much for most. A blend ladder settles it: "
            "mix it with a plain beer in several shares and write which was just right."
        )


def _up_to(ends: Ends) -> str:
    low, middle, high = (number(v, None) for v in (ends.low, ends.middle, ends.high))
    return f"{high} or less" if ends.low < _NONE else f"{middle} ({low} to {high})"


def origin_sentences(came: Origin | None) -> Iterator[str]:
    """Say where the tasted batch's thiols came from."""
    if came is None or not came.sources:
        return
    parts = [
        f"{s.label} {percent(s.mean)} ({percent(s.low)} to {percent(s.high)}; the largest in "
        f"{fiftieths(s.largest[0], 0)} of {DOTS})"
        for s in came.sources
        if s.high >= LEAST_TOLD
    ]
    yield f"Where the thiols of {came.batch} came from, nine in ten: {'; '.join(parts)}."
    yield (
        "A share is where they came from, not what leaving it out would do: the rows of the moves "
        "say that."
    )
