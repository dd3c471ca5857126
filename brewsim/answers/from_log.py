"""What a batch log says on the page: each reading beside this house's ordinary band."""

from collections.abc import Sequence
from dataclasses import dataclass

from brewsim.answers.odd_causes import OddCause
from brewsim.answers.run_charts import RunChart
from brewsim.logbook.house import house_of, with_house
from brewsim.study.inference.attribution import Attribution, attribute
from brewsim.study.inference.experimental_design import Spread, spreads
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.predictive_check import Surprise
from brewsim.study.model.problem import Problem

RARE = 0.05
"""A reading is odd where fewer than 1 batch in 20 deviates more; a log of 24 has one by chance."""
_LONG = 24
"""Readings of a log from which on fewer are odd, so that chance alone makes about one."""
_WIDE = 1.645
"""Half widths of nine in ten, in standard deviations of a normal spread."""


@dataclass(frozen=True)
class ReadingInHouse:
    """One reading beside what was first forecast and what an ordinary batch of this house reads.

    `low`, `high` hold nine in ten of this house's readings; `in_house` is the chance that an
    ordinary batch deviates as much, None where too few were brewed; `cause` is what explains it.
    """

    surprise: Surprise
    cause: Attribution
    low: float
    high: float
    in_house: float | None

    @property
    def ordinary(self) -> float:
        """What an ordinary batch of this house reads."""
        return self.cause.ordinary

    @property
    def chance(self) -> float:
        """The chance of deviating as much, the less likely of house and first forecast."""
        first = self.surprise.chance
        return first if self.in_house is None else min(self.in_house, first)

    @property
    def odd(self) -> bool:
        """Whether so few batches deviate more that it is worth a second look."""
        return self.chance < RARE


@dataclass(frozen=True)
class FromLog:
    """A log learned from: every reading in its house, and the problem with what was learned.

    `charts` are its readings in time, `plain` what is plainly odd in them; see `in_time`.
    """

    learned: Learned
    readings: tuple[ReadingInHouse, ...]
    scatter: tuple[Spread, ...]
    batches: int
    charts: tuple[RunChart, ...] = ()
    plain: tuple[OddCause, ...] = ()

    @property
    def odd(self) -> tuple[ReadingInHouse, ...]:
        """The odd readings, the least likely first; in a long log only about one is by chance."""
        rare = RARE * min(1.0, _LONG / max(1, len(self.readings)))
        return tuple(sorted((r for r in self.readings if r.chance < rare), key=lambda r: r.chance))


def from_log(learned: Learned, *, seed: int = 1) -> FromLog:
    """Put every reading of a learned log beside its house; counts of tasters are left out."""
    scatter = tuple(spreads(learned, learned.problem, seed))
    surprises, found = iter(learned.surprises), []
    for batch in learned.batches:
        seen = [(reading, next(surprises)) for reading in batch.readings]
        usual = [s for r, s in seen if r.known is None and not r.trials]
        if usual:
            causes = attribute(learned, batch.id, seed=seed)
            found += [_in_house(s, c, scatter) for s, c in zip(usual, causes, strict=True)]
    return FromLog(learned, tuple(found), scatter, len(learned.batches))


def _in_house(surprise: Surprise, cause: Attribution, scatter: Sequence[Spread]) -> ReadingInHouse:
    own = next((s.expected for s in scatter if s.quantity == cause.outcome), 0.0)
    half = _WIDE * own if own > 0 else (surprise.high - surprise.low) / 2
    low, high = cause.ordinary - half, cause.ordinary + half
    return ReadingInHouse(surprise, cause, low, high, cause.chance(scatter))


def after_log(problem: Problem, log: FromLog) -> Problem:
    """Return a recipe's problem with what its log taught in place of the priors' knowledge."""
    return with_house(problem, house_of(log.learned))
