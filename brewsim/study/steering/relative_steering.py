"""Steer from a tasted batch: which knobs, how far, and how often the next brew would land.

The wish is judged in the next brew, what is held in the same wort: what I turned leaves the rest
as it was, and ordinary scatter is not charged to a knob. A search on some draws finds the
settings; what is reported comes from fresh ones, with t intervals over the replicates, which are
also the groups of chains that learned.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan
from brewsim.study.steering.aims import Aim, Fold, Seen, all_met
from brewsim.study.steering.fewest_knobs import FewestKnobs, Gain
from brewsim.study.steering.relative_draws import RelativeDraws

_SEARCH_ROWS, _CHECK_ROWS = 256, 2048
_FRESH_SEED = 104_729
BEYOND = 0.02
"""A batch in 50 that a lever nobody listed must add to the best knob alone."""
_THIRD = 0.35
"""A fold below which a beer has less than about a third: log2 of it is -1.5."""

Chance = tuple[float, float]
"""A chance and the half width of its 95 % interval."""


@dataclass(frozen=True)
class Ends:
    """Where an outcome stands against the tasted batch: 5, 50 and 95 %.

    A fold for an outcome on a log scale, else a difference.
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class RelativeMove:
    """Settings that differ from the tasted batch, and what comes of them.

    `all_met` is the chance of the wish in the next brew with everything held; `wish` that of the
    wish alone; `same_wort` that of both if only the knobs had been other and all else the same.
    `not_less` is the chance that the first wished outcome is no less than it was, `below_third`
    that it is under a third. `folds` gives (same wort, next brew) by outcome, of the draws that
    have a value; `left_out` counts the others where there are any: draws of the same wort or of
    the next brew without a value, which meet nothing.
    """

    settings: Mapping[str, float | str]
    all_met: Chance
    wish: Chance
    same_wort: Chance
    not_less: float
    below_third: float
    folds: Mapping[str, tuple[Ends, Ends]]
    left_out: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class RelativeSteering:
    """The chosen move, the nearest useful one (None where none helps), and what was tried.

    `alone` holds every knob at its best place by itself; `best` the best of all looked at;
    `unlisted` a lever that is none of the knobs and does better than any of them alone;
    `freely` the best for the wish alone, whatever is held, looked for where no knob helps.
    """

    start: str
    unchanged: RelativeMove
    chosen: RelativeMove
    nearest: RelativeMove | None
    best: RelativeMove
    alone: tuple[RelativeMove, ...]
    looked: int
    unlisted: RelativeMove | None = None
    freely: RelativeMove | None = None


@dataclass(frozen=True)
class Question:
    """What is asked: tasted batches, the one to start from, its problem, wishes and holds.

    `about` are outcomes to report beside the wished and held ones.
    """

    learned: Learned
    tasted: tuple[Batch, ...]
    start: Batch
    problem: Problem
    wishes: tuple[Aim, ...]
    holds: tuple[Aim, ...] = ()
    about: tuple[str, ...] = ()

    @property
    def wanted(self) -> tuple[str, ...]:
        """Quantities the wishes are about."""
        return tuple(dict.fromkeys(name for aim in self.wishes for name in aim.outcomes))

    @property
    def held(self) -> tuple[str, ...]:
        """Quantities the holds are about."""
        return tuple(dict.fromkeys(name for aim in self.holds for name in aim.outcomes))

    def draws(self, plan: Plan, *, whole: bool = False) -> RelativeDraws:
        """Return the paired draws; with `whole`, every outcome in both brews."""
        wanted, held = self.wanted, self.held
        if whole:
            wanted = held = tuple(dict.fromkeys((*self.wanted, *self.held, *self.about)))
        args = (self.learned, self.tasted, self.start, self.problem, wanted, plan)
        return RelativeDraws(*args, held=held)


def search_from(
    question: Question, knobs: Sequence[Knob] | None = None, *, seed: int = 1
) -> FewestKnobs:
    """Return what a search over settings of the next brew has seen, from a tasted batch.

    Args:
        question: what is learned, tasted, wished and held.
        knobs: those that may move; all of the problem without.
        seed: of the draws.

    Raises
    ------
        StudyError: without a wish or a knob.
    """
    if not question.wishes:
        raise StudyError("nothing is wished for")
    moving = list(question.problem.knobs if knobs is None else knobs)
    if not moving:
        raise StudyError("nothing to steer with: the recipe has no knobs")
    return _blank(question, moving, seed).search()


def _blank(question: Question, knobs: Sequence[Knob], seed: int) -> FewestKnobs:
    land = question.draws(Plan(rows=_SEARCH_ROWS, seed=seed))
    return FewestKnobs(question.problem, knobs, lambda settings: _smooth(question, land, settings))


def steer_from(
    question: Question, found: FewestKnobs, others: Sequence[Knob] = (), *, seed: int = 1
) -> RelativeSteering:
    """Return the settings to brew next, judged on fresh draws.

    Args:
        question: what is learned, tasted, wished and held.
        found: what the search saw.
        others: levers of the problem that are none of the knobs, tried alone.
        seed: of the draws.
    """
    report = Report(question, Plan(rows=_CHECK_ROWS, seed=seed + _FRESH_SEED))
    unchanged = report.move({})
    chosen = report.move(found.chosen_by(report.gain))
    nearest = found.nearest_useful(report.gain) if chosen.settings else None
    alone = tuple(report.move(s) for s in found.singles())
    tried = _blank(question, others, seed).search_alone().chosen_by(report.gain) if others else {}
    best_other = report.move(tried) if tried else None
    least = max(move.all_met[0] for move in (unchanged, *alone)) + BEYOND
    if best_other is not None and best_other.all_met[0] < least:
        best_other = None
    freely = None
    if nearest is None:
        alone_wished = replace(question, holds=())
        freely = report.move(
            _blank(alone_wished, tuple(found.knobs.values()), seed).search().best()
        )
    return RelativeSteering(
        start=question.start.id,
        unchanged=unchanged,
        chosen=chosen,
        nearest=None if nearest is None else report.move(found.nearer(nearest, chosen.settings)),
        best=report.move(found.best()),
        alone=alone,
        looked=len(found.seen),
        unlisted=best_other,
        freely=freely,
    )


def _smooth(question: Question, land: RelativeDraws, settings: Settings) -> float:
    now = Seen(land.next_brew(settings), land.tasted, land.score)
    chance = all_met(question.wishes, now, smooth=True)
    if question.holds:
        same = Seen(land.same_wort(settings), land.tasted, land.score)
        chance = chance * all_met(question.holds, same, smooth=True)
    return float(chance.mean())


def first_wished(wishes: Sequence[Aim], wanted: Sequence[str]) -> str:
    """Return the outcome that a move is told to have less or more of than the tasted batch."""
    return next((a.outcome for a in wishes if isinstance(a, Fold)), wanted[0])


class Report:
    """Judges moves on fresh draws."""

    def __init__(self, question: Question, plan: Plan) -> None:
        self.question, self.plan = question, plan
        self.land = question.draws(plan, whole=True)
        self._today = self._met({})

    def gain(self, settings: Settings) -> Gain:
        """Return what settings add to the chance of the wish with everything held."""
        more = self._met(settings) - self._today
        return float(more.mean()), float(half_width(more))

    def _met(self, settings: Settings) -> FloatArray:
        """Return the share of each replicate that meets the wish with everything held."""
        land, question = self.land, self.question
        following = Seen(land.next_brew(settings), land.tasted, land.score)
        met = all_met(question.wishes, following, smooth=False)
        if question.holds:
            turned = Seen(land.same_wort(settings), land.tasted, land.score)
            met = met * all_met(question.holds, turned, smooth=False)
        return self._shares(met)

    def move(self, settings: Settings) -> RelativeMove:
        """Return what comes of settings."""
        land, question = self.land, self.question
        after, same = land.next_brew(settings), land.same_wort(settings)
        following = Seen(after, land.tasted, land.score)
        turned = Seen(same, land.tasted, land.score)
        wish = all_met(question.wishes, following, smooth=False)
        hold = all_met(question.holds, turned, smooth=False)
        at_once = all_met(question.wishes, turned, smooth=False) * hold
        then = land.tasted[question.start.id]
        first = first_wished(question.wishes, question.wanted)
        steps = {n: [self._step(n, brew, then) for brew in (same, after)] for n in after}
        empty = {n: int((~np.isfinite(x) | ~np.isfinite(y)).sum()) for n, (x, y) in steps.items()}
        return RelativeMove(
            settings=dict(settings),
            all_met=self._chance(wish * hold),
            wish=self._chance(wish),
            same_wort=self._chance(at_once),
            not_less=float(np.mean(after[first] >= then[first])),
            below_third=float(np.mean(after[first] < _THIRD * then[first])),
            folds={n: (_ends(x), _ends(y)) for n, (x, y) in steps.items()},
            left_out={n: count for n, count in empty.items() if count},
        )

    def _chance(self, met: FloatArray) -> Chance:
        means = self._shares(met)
        return float(means.mean()), float(half_width(means))

    def _shares(self, met: FloatArray) -> FloatArray:
        shares = np.broadcast_to(met, (self.plan.draws,)).reshape(self.plan.replicates, -1)
        return np.asarray(shares.mean(axis=1))

    def _step(
        self, name: str, now: Mapping[str, FloatArray], then: Mapping[str, FloatArray]
    ) -> FloatArray:
        folds = self.question.problem.scales.get(name, "linear") != "linear"
        with np.errstate(all="ignore"):
            return now[name] / then[name] if folds else now[name] - then[name]


def _ends(step: FloatArray) -> Ends:
    known = step[np.isfinite(step)]
    if not len(known):
        return Ends(np.nan, np.nan, np.nan)
    return Ends(*(float(v) for v in np.quantile(known, [0.05, 0.5, 0.95])))
