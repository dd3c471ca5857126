"""Why measured batches came out as they did, as data: surprises, causes, what to read next."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from brewsim.answers.from_log import ReadingInHouse, from_log
from brewsim.dims import FloatArray
from brewsim.logbook.log import Log
from brewsim.logbook.own_instruments import Instruments
from brewsim.priors.instruments import instrument_of, reads
from brewsim.priors.library import Priors
from brewsim.study.inference.attribution import Attribution, Share, attribute
from brewsim.study.inference.experimental_design import (
    Candidate,
    Gain,
    Spread,
    in_batch,
    separating,
    teaching,
    two_brews,
)
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.predictive_check import Surprise
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem

KINDS = ("knowledge", "lot", "batch", "instrument", "measurement")
"""Kinds of causes, in the order they are shown."""
ODD = 0.1
"""Chance below which a reading or a scatter is odd."""
_TELLS = 0.93
_SEPARATES = 0.9
TEACHES = 0.985
"""A reading that leaves more of the spread than this teaches nothing."""


@dataclass(frozen=True)
class Explained:
    """One reading of one batch: beside its house, its causes against the recipe's promise.

    `apart` are pairs of its causes that the readings cannot tell apart, each with the further
    reading that would separate them best.
    """

    seen: ReadingInHouse
    recipe: Attribution
    apart: tuple[tuple[str, str, Gain | None], ...]

    @property
    def house(self) -> Attribution:
        """Its causes against an ordinary batch of this house."""
        return self.seen.cause

    @property
    def odd(self) -> bool:
        """Whether the batch differs from an ordinary one of this house by more than usual."""
        moved = [s for s in self.house.shares if s.kind in ("lot", "batch") and _clear(s)]
        return self.seen.chance < ODD or bool(moved)

    def by_kind(self) -> dict[str, float]:
        """Return the deviation from the recipe's promise by kind; the parts add up to it."""
        found = dict.fromkeys(KINDS, 0.0)
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
            one = instrument_of(priors, kind, quantity)
            if one.bias and one.noise:
                found[quantity] = Candidate(quantity, name, one.noise, one.bias, one.logged)
    return list(found.values())


def seen_in(learned: Learned) -> Iterator[tuple[Batch, list[tuple[Reading, Surprise]]]]:
    """Yield every batch with its readings, each beside how it compares with what was expected."""
    surprises = iter(learned.surprises)
    for batch in learned.batches:
        yield batch, [(reading, next(surprises)) for reading in batch.readings]


def explained(learned: Learned, log: Log, priors: Priors, *, seed: int = 1) -> Explanation:
    """Explain every reading of a log from what was learned from it."""
    problem = learned.problem
    possible = candidates(problem, priors)
    house = from_log(learned, seed=seed)
    found: list[Explained] = []
    for batch in learned.batches:
        here = [one for one in house.readings if one.cause.batch == batch.id]
        if not here:
            continue
        names = {one.cause.outcome for one in here}
        whole = attribute(learned, batch.id, against="recipe", seed=seed)
        new = [c for c in possible if c.quantity not in names and c.quantity in batch.problem.graph]
        values = in_batch(learned, batch, [c.quantity for c in new], seed)
        for seen, recipe in zip(here, whole, strict=True):
            pairs = seen.cause.inseparable[:2]
            apart = tuple((a, b, _apart(seen.cause, a, b, values, new)) for a, b, _ in pairs)
            found.append(Explained(seen, recipe, apart))
    wanted = [o for o in problem.outcomes if problem.graph.upstream([o]) & _touched(learned)]
    return Explanation(
        learned,
        tuple(found),
        house.scatter,
        tuple(_taught(learned, problem, wanted, possible, seed)),
        (*log.remarks, *learned.remarks),
    )


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
        if gain is not None and gain.left < TEACHES:
            found.append((outcome, gain))
    return found
