"""Why measured batches came out as they did, in sentences a brewer reads.

Everything is computed once, as data; the command line and the page print it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scipy.special import ndtr

from brewsim.dims import FloatArray
from brewsim.logbook.log import Log
from brewsim.logbook.own_instruments import Instruments
from brewsim.priors.instruments import reads
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import Outcome, outcome_of
from brewsim.quantities.format import amount, changed, lower, odds, value, with_unit
from brewsim.study.inference.attribution import Attribution, Share, attribute
from brewsim.study.inference.experimental_design import (
    Candidate,
    Gain,
    Spread,
    in_batch,
    separating,
    spreads,
    teaching,
    two_brews,
)
from brewsim.study.inference.predictive_check import Surprise, in_thousand
from brewsim.study.inference.update import Learned
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem

KIND_TITLES = {
    "knowledge": "always here",
    "lot": "lot",
    "batch": "this brew",
    "instrument": "instrument",
    "measurement": "reading",
}
"""What a kind of cause is called, in the order they are shown."""
_ODD = 0.1
_TELLS = 0.93
_SEPARATES = 0.9
_TEACHES = 0.985
_LARGE = 0.15


@dataclass(frozen=True)
class Explained:
    """One reading of one batch: its surprise, and its causes against the house and the recipe."""

    surprise: Surprise
    house: Attribution
    recipe: Attribution
    apart: tuple[tuple[str, str, Gain | None], ...]
    house_chance: float | None = None
    """Chance that an ordinary batch of this house is as far from its middle; None if not known."""

    @property
    def step(self) -> float:
        """How far the reading is from what an ordinary batch of this house would read."""
        return self.house.deviation - sum(s.estimate for s in self.house.shares if s.returns)

    @property
    def odd(self) -> bool:
        """Whether the batch differs from an ordinary one of this house by more than usual."""
        moved = [s for s in self.house.shares if s.kind in ("lot", "batch") and _clear(s)]
        chances = [c for c in (self.surprise.chance, self.house_chance) if c is not None]
        return min(chances) < _ODD or bool(moved)

    def by_kind(self) -> dict[str, float]:
        """Return the deviation from the recipe's promise by kind; the parts add up to it."""
        found = dict.fromkeys(KIND_TITLES, 0.0)
        for share in self.recipe.shares:
            found[share.kind] += share.estimate
        return found

    def returns(self) -> float:
        """Return the part of the deviation that the next batch has too."""
        return sum(share.estimate for share in self.recipe.shares if share.returns)


@dataclass(frozen=True)
class Explanation:
    """All readings of a log explained, observed scatter, and which reading would teach most."""

    learned: Learned
    readings: tuple[Explained, ...]
    spreads: tuple[Spread, ...]
    teaching: tuple[tuple[str, Gain], ...]
    remarks: tuple[str, ...]


def _clear(share: Share) -> bool:
    return share.low > 0 or share.high < 0


def candidates(problem: Problem, priors: Priors) -> list[Candidate]:
    """Return the readings a brewer could take of this beer, by the most usual instrument."""
    instruments = Instruments(priors)
    found: dict[str, Candidate] = {}
    for name in instruments.in_order():
        kind = instruments.kind_of(name)
        for quantity in reads(kind):
            if quantity in found or quantity not in problem.graph or problem.graph.axes(quantity):
                continue
            bias, noise = (priors.of(kind, part) for part in ("bias", "noise"))
            if bias is not None and noise is not None:
                found[quantity] = Candidate(
                    quantity,
                    name,
                    noise.distribution.standard_deviation,
                    bias.distribution.standard_deviation,
                    kind.tags.get("scale") == "log",
                )
    return list(found.values())


def _seen(learned: Learned) -> Iterator[tuple[Batch, list[tuple[Reading, Surprise]]]]:
    """Yield every batch with its readings, each beside how it compares with what was expected."""
    surprises = iter(learned.surprises)
    for batch in learned.batches:
        yield batch, [(reading, next(surprises)) for reading in batch.readings]


def explained(learned: Learned, log: Log, priors: Priors, *, seed: int = 1) -> Explanation:
    """Explain every reading of a log from what was learned from it."""
    problem = learned.problem
    possible = candidates(problem, priors)
    found: list[Explained] = []
    for batch, seen in _seen(learned):
        usual = [(r, s) for r, s in seen if r.known is None and not r.trials]
        names = tuple(dict.fromkeys(r.quantity for r, _ in usual))
        if not names:
            continue
        own = attribute(learned, batch.id, seed=seed)
        whole = attribute(learned, batch.id, against="recipe", seed=seed)
        new = [c for c in possible if c.quantity not in names and c.quantity in batch.problem.graph]
        values = in_batch(learned, batch, [c.quantity for c in new], seed)
        for (_, surprise), house, recipe in zip(usual, own, whole, strict=True):
            apart = tuple(
                (a, b, _apart(house, a, b, values, new)) for a, b, _ in house.inseparable[:2]
            )
            found.append(Explained(surprise, house, recipe, apart))
    scatter = spreads(learned, problem, seed)
    found = [_against_scatter(one, scatter) for one in found]
    wanted = [o for o in problem.outcomes if problem.graph.upstream([o]) & _touched(learned)]
    return Explanation(
        learned,
        tuple(found),
        scatter,
        tuple(_taught(learned, problem, wanted, possible, seed)),
        (*log.remarks, *learned.remarks),
    )


def _against_scatter(one: Explained, scatter: Sequence[Spread]) -> Explained:
    for spread in scatter:
        if spread.quantity == one.house.outcome and spread.expected > 0:
            return replace(one, house_chance=float(2 * ndtr(-abs(one.step) / spread.expected)))
    return one


def _touched(learned: Learned) -> set[str]:
    """Return the quantities whose knowledge was learned about."""
    return {name.partition(" @")[0].partition(" | ")[0] for name in learned.draws}


def _apart(
    own: Attribution,
    first: str,
    second: str,
    values: Mapping[str, FloatArray],
    new: Sequence[Candidate],
) -> Gain | None:
    credit = {factor: row for (factor, _), row in own.credits.items()}
    gain = separating(credit[first] - credit[second], values, new)
    return gain if gain is not None and gain.left < _SEPARATES else None


def _taught(
    learned: Learned,
    problem: Problem,
    wanted: Sequence[str],
    possible: Sequence[Candidate],
    seed: int,
) -> list[tuple[str, Gain]]:
    names = sorted({*wanted, *(c.quantity for c in possible)})
    brews = two_brews(learned, problem, names, seed)
    read = {(r.quantity) for b in learned.batches for r in b.readings}
    new = [c for c in possible if c.quantity not in read]
    found = []
    for outcome in wanted:
        gain = teaching(brews[outcome], brews, new)
        if gain is not None and gain.left < _TEACHES:
            found.append((outcome, gain))
    return found


# sentences ---------------------------------------------------------------------------------------
def sentences(one: Explained, units: Mapping[str, str] | None = None) -> list[str]:
    """Return what was expected and measured, how odd that is, and why; one reading of a batch.

    `units` are those of `Problem.units`.
    """
    row = outcome_of(one.house.outcome, units)
    seen = one.surprise
    first = (
        f"{seen.batch}, {row.label}: measured {value(row, seen.value)}, expected "
        f"{value(row, seen.low)} to {with_unit(row, value(row, seen.high))} (middle "
        f"{value(row, seen.expected)}). {odds(seen.chance)}"
    )
    told = [first]
    if one.odd:
        told += _why(one, row)
        told += [_pair(one, *pair) for pair in one.apart]
    return told


def count_sentences(explanation: Explanation) -> list[str]:
    """Return what was expected of every count of tasters, and how odd the count is."""
    return [
        f"{batch.id}, {reading.label}: {reading.value:g} of {reading.trials}, expected "
        f"{told.low:.0f} to {told.high:.0f}. {odds(told.chance)}"
        for batch, seen in _seen(explanation.learned)
        for reading, told in seen
        if reading.trials
    ]


def _why(one: Explained, row: Outcome) -> list[str]:
    house = one.house
    own, step = [s for s in house.shares if not s.returns], one.step
    ordinary = house.reached - step
    least = _LARGE * max(abs(step), *(abs(s.estimate) for s in own))
    parts = [
        f"{lower(s.label)} {changed(row, s.estimate)} ({changed(row, s.low)} to "
        f"{changed(row, s.high)})"
        for s in own[:4]
        if abs(s.estimate) >= least
    ]
    kinds = "; ".join(
        f"{KIND_TITLES[kind]} {changed(row, part)}" for kind, part in one.by_kind().items()
    )
    told = "" if one.house_chance is None else f" {odds(one.house_chance)}"
    same = value(row, ordinary) == value(row, house.reached)
    causes = "" if same or not parts else f" Causes: {'; '.join(parts)}."
    against_house = (
        f"   An ordinary batch of this house would read {value(row, ordinary)}; this one differs "
        f"by {with_unit(row, changed(row, step))}.{told}{causes}"
    )
    against_recipe = (
        f"   Against the recipe's promise, every input at its middle "
        f"({value(row, one.recipe.reference)}), "
        f"{changed(row, one.recipe.deviation)}: {kinds}. Of that, {changed(row, one.returns())} "
        "comes back in the next reading."
    )
    return [against_house, against_recipe]


def _pair(one: Explained, first: str, second: str, gain: Gain | None) -> str:
    labels = {s.factor: s.label for s in one.house.shares}
    told = (
        f"   These readings cannot tell “{labels[first]}” and “{labels[second]}” apart; "
        "the sum of the two is better known than either."
    )
    if gain is None:
        return f"{told} No single further reading would tell them apart."
    name = outcome_of(gain.candidate.quantity).label
    return f"{told} A reading of {name} ({gain.candidate.instrument}) would help most."


def spread_sentence(one: Spread, units: Mapping[str, str] | None = None) -> str:
    """Return observed against expected scatter of one quantity."""
    row = outcome_of(one.quantity, units)
    fits = _scatter_words(one)
    return (
        f"{row.label}: {one.count} batches scatter by {with_unit(row, amount(row, one.observed))} "
        f"(standard deviation); expected {amount(row, one.expected)}: {amount(row, one.brew)} from "
        f"brew to brew, {amount(row, one.reading)} from reading to reading. {fits} What "
        f"is still not known moves all batches together by {amount(row, one.known)}."
    )


def _scatter_words(one: Spread) -> str:
    """Say how odd a scatter is, and what to look at: a reading cannot make it too small."""
    if one.chance > _ODD:
        return "That is as expected."
    if one.observed < one.expected:
        side, advice = "less", "The spread that is assumed from brew to brew is too wide."
    else:
        side = "more"
        advice = "Check the readings that are furthest out; else that spread is too narrow."
    odd = f"{in_thousand(one.chance)} such logs are as odd"
    return f"That is {side} than expected: {odd}. {advice}"


def teaching_sentences(explanation: Explanation) -> list[str]:
    """Return which one further reading per batch would narrow the next forecast most."""
    found = [
        f"{outcome_of(outcome).label}: {outcome_of(g.candidate.quantity).label} by "
        f"{g.candidate.instrument}, once, would leave {100 * g.left:.0f} % of the spread"
        for outcome, g in explanation.teaching
    ]
    if not found:
        nothing = (
            "No single further reading per batch would narrow the next forecast by more than "
            f"{100 * (1 - _TEACHES):.1f} %: what these readings combine is already known."
        )
        return [nothing]
    return [f"{text}." for text in found]
