"""Why measured batches came out as they did, in sentences a brewer reads."""

from collections.abc import Mapping

from brewsim.answers.explanation import ODD, TEACHES, Explained, Explanation, seen_in
from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.chances import odds, percent
from brewsim.quantities.english import lower
from brewsim.quantities.format import number, reading, spread, step, value, with_unit
from brewsim.study.inference.attribution import Attribution
from brewsim.study.inference.experimental_design import Gain, Spread
from brewsim.study.inference.predictive_check import in_thousand

KIND_TITLES = {
    "knowledge": "always here",
    "lot": "lot",
    "batch": "this brew",
    "instrument": "instrument",
    "measurement": "reading",
}
"""What a kind of cause is called."""
_LARGE = 0.15
_MOST_CAUSES = 4


def sentences(one: Explained, units: Mapping[str, str] | None = None) -> list[str]:
    """Return what was expected and measured, how unusual that is, and why; one reading of a batch.

    `units` are those of `Problem.units`.
    """
    row = outcome_of(one.house.outcome, units)
    seen = one.seen.surprise
    first = (
        f"{seen.batch}, {row.label}: measured {reading(row, seen.value)}, expected "
        f"{value(row, seen.low)} to {with_unit(row, value(row, seen.high))} (median "
        f"{value(row, seen.expected)}). {odds(seen.chance)}"
    )
    told = [first]
    if one.odd:
        gains = {(a, b): gain for a, b, gain in one.apart}
        told.append(against_house(one.house, row, one.seen.in_house))
        told.append(_against_recipe(one, row))
        told += pair_sentences(one.house, gains)
    return told


def count_sentences(explanation: Explanation) -> list[str]:
    """Return what was expected of every count of tasters, and how unusual the count is."""
    return [
        f"{batch.id}, {read.label}: {number(read.value, 0)} of {read.trials}, expected "
        f"{number(told.low, 0)} to {number(told.high, 0)}. {odds(told.chance)}"
        for batch, seen in seen_in(explanation.learned)
        for read, told in seen
        if read.trials
    ]


def against_house(one: Attribution, row: Quantity, chance: float | None) -> str:
    """Say what an ordinary batch of this house would read, and which causes explain the rest.

    `chance` is that of an ordinary batch to deviate as much. What shows as equal has no causes.
    """
    if not differs(one, row):
        return "An ordinary batch of this house would read the same."
    least = _LARGE * max(abs(one.step), *(abs(s.estimate) for s in one.own))
    parts = [
        f"{lower(s.label)} {step(row, s.estimate)} ({step(row, s.low)} to {step(row, s.high)})"
        for s in one.own[:_MOST_CAUSES]
        if abs(s.estimate) >= least
    ]
    told = "" if chance is None else f" {odds(chance)}"
    causes = f" Causes: {'; '.join(parts)}." if parts else ""
    return (
        f"An ordinary batch of this house would read {value(row, one.ordinary)}; this one differs "
        f"by {with_unit(row, step(row, one.step))}.{told}{causes}"
    )


def differs(one: Attribution, row: Quantity) -> bool:
    """Tell whether the reading shows as another than that of an ordinary batch."""
    return value(row, one.ordinary) != value(row, one.reached)


def _against_recipe(one: Explained, row: Quantity) -> str:
    kinds = "; ".join(
        f"{KIND_TITLES[kind]} {step(row, part)}" for kind, part in one.by_kind().items()
    )
    return (
        f"Against the recipe's promise, every input at its median "
        f"({value(row, one.recipe.reference)}), "
        f"{step(row, one.recipe.deviation)}: {kinds}. Of that, {step(row, one.returns())} "
        "comes back in the next reading."
    )


def pair_sentences(
    one: Attribution, gains: Mapping[tuple[str, str], Gain | None] | None = None
) -> list[str]:
    """Name the causes that the readings cannot tell apart, and the reading that would.

    `gains` are those further readings by pair, for the pairs to name; without them all are named
    and nothing is said of a further reading.
    """
    labels = {share.factor: share.label for share in one.shares}
    told = []
    for first, second, _ in one.inseparable:
        if gains is not None and (first, second) not in gains:
            continue
        sentence = (
            f"These readings cannot tell “{labels.get(first, first)}” and "
            f"“{labels.get(second, second)}” apart; the sum of the two is better known than either."
        )
        told.append(sentence if gains is None else f"{sentence} {_help(gains[first, second])}")
    return told


def _help(gain: Gain | None) -> str:
    if gain is None:
        return "No single further reading would tell them apart."
    name = outcome_of(gain.candidate.quantity).label
    return f"A reading of {name} ({gain.candidate.instrument}) would help most."


def spread_sentence(one: Spread, units: Mapping[str, str] | None = None) -> str:
    """Return observed against expected scatter of one quantity."""
    row = outcome_of(one.quantity, units)
    fits = _scatter_words(one)
    return (
        f"{row.label}: {one.count} batches scatter by {with_unit(row, spread(row, one.observed))} "
        f"(standard deviation); expected {spread(row, one.expected)}: {spread(row, one.brew)} from "
        f"brew to brew, {spread(row, one.reading)} from reading to reading. {fits} What "
        f"is still not known moves all batches together by {spread(row, one.known)}."
    )


def _scatter_words(one: Spread) -> str:
    """Say how unusual a scatter is, and what to look at: a reading cannot make it too small."""
    if one.chance > ODD:
        return "That is as expected."
    if one.observed < one.expected:
        side, advice = "less", "The spread that is assumed from brew to brew is too wide."
    else:
        side = "more"
        advice = "Check the readings that deviate most; else that spread is too narrow."
    odd = f"{in_thousand(one.chance)} such logs are as unusual"
    return f"That is {side} than expected: {odd}. {advice}"


def teaching_sentences(explanation: Explanation) -> list[str]:
    """Return which one further reading per batch would narrow the next forecast most."""
    found = [
        f"{outcome_of(outcome).label}: {outcome_of(g.candidate.quantity).label} by "
        f"{g.candidate.instrument}, once, would leave {percent(g.left)} of the spread"
        for outcome, g in explanation.teaching
    ]
    if not found:
        nothing = (
            "No single further reading per batch would narrow the next forecast by more than "
            f"{number(100 * (1 - TEACHES), 1)} %: what these readings combine is already known."
        )
        return [nothing]
    return [f"{text}." for text in found]
