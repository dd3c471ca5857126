"""Steering for targets by the same rules as from a tasted batch: fewest knobs, smallest change.

What a page advises and what `brewsim steer` says are this one answer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from brewsim.answers.forecast import Today
from brewsim.answers.ratio_sides import faint_sides, floors_of
from brewsim.beer.knob_limits import stopped
from brewsim.beer.levers import unlisted_knobs
from brewsim.dims import FloatArray
from brewsim.recipe.schema import Recipe
from brewsim.study.model import targets
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings, lands
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.paired import Ends, paired_change
from brewsim.study.steering.fewest_knobs import FewestKnobs, Gain, is_worth_turning
from brewsim.study.steering.objective import Landscape
from brewsim.study.steering.steering import Steered

_SEARCH_ROWS, _CHECK_ROWS = 256, 2048
CHECK_DRAWS = 8 * _CHECK_ROWS
"""Fresh draws on which a move is judged."""
_FRESH_SEED = 104_729
BEYOND = 0.02
"""A whole batch in 50 that a lever nobody listed must add to the best knob alone."""


@dataclass(frozen=True)
class PlainMove:
    """Settings that differ from the recipe, and what they do to the chance of all targets.

    `gain` is what they add on fresh draws, with its half width; `chance` today's with the gain on
    top. `chances` and `medians` are today's figure and the one there, by target. `changes` are
    low, middle and high of what the move does to a batch in which all else is the same: a fold for
    outcomes on a log scale, else a difference.
    """

    settings: Mapping[str, float | str]
    gain: Gain
    chance: float
    chances: Mapping[str, tuple[float, float]]
    medians: Mapping[str, tuple[float, float]]
    changes: Mapping[str, Ends]

    def helps(self) -> str:
        """Return the target whose chance rises most."""
        return max(self.chances, key=lambda name: self.chances[name][1] - self.chances[name][0])


@dataclass(frozen=True)
class FewestMoves:
    """The fewest knobs and the smallest change as good as any; the nearest useful move.

    Both are None where nothing is worth turning. `unlisted` turns a lever that is none of the
    recipe's knobs and does better than the best of them alone, if there is one. `problem` has
    every lever that was tried. `floors` are the least middles that no advised setting goes below,
    `faint` the middles of sides of a ratio that are not noticed today; `stopped` are knobs that
    were kept above a quarter of what they are. `alone` counts knobs that were tried alone and not
    together with others; `one_helps` is whether one of them is worth turning by itself.
    """

    today: Today
    chosen: PlainMove | None
    nearest: PlainMove | None
    unlisted: PlainMove | None
    problem: Problem
    floors: Mapping[str, float]
    faint: Mapping[str, float]
    stopped: tuple[str, ...] = ()
    alone: int = 0
    one_helps: bool = True

    @property
    def moves(self) -> tuple[PlainMove, ...]:
        """What is advised, what gains more from one lever first."""
        found = [self.chosen, self.nearest]
        if self.unlisted is not None:
            first = self.chosen is None or self.unlisted.gain[0] >= self.chosen.gain[0]
            found.insert(0 if first else 2, self.unlisted)
        return tuple(move for move in found if move is not None)


def fewest_moves(
    recipe: Recipe,
    problem: Problem,
    may: Problem,
    today: Today,
    steered: Steered | None = None,
    *,
    knobs: Sequence[str] | None = None,
    seed: int = 1,
) -> FewestMoves:
    """Return what to turn for the targets of a recipe.

    Args:
        recipe: as read.
        problem: posed.
        may: the same with knobs that go no further than advice does (`kept`).
        today: what is printed of the recipe as it stands; gains come on top of it.
        steered: what all knobs together can do, if that was looked for.
        knobs: ids of those that may move; all without.
        seed: of the draws; settings are judged on fresh ones.
    """
    moving = [k for k in may.knobs if knobs is None or k.id in knobs]
    others = unlisted_knobs(recipe, problem)
    usual = replace(without_events(may), knobs=(*may.knobs, *others))
    floors = floors_of(may, seed)
    land = Landscape(usual, usual.knobs, Plan(rows=_SEARCH_ROWS, seed=seed), floors)
    judge = _Judge(usual, today, Plan(rows=_CHECK_ROWS, seed=seed + _FRESH_SEED))
    found = FewestKnobs(usual, moving, land.smooth, land.look_each).search()
    for known in () if steered is None else (steered.best, steered.smallest):
        if known is not None:
            found.also(known.settings)
    chosen = judge.move(found.chosen_by(judge.gain))
    nearest = None
    if chosen is not None:
        near = found.nearest_useful(judge.gain)
        nearest = None if near is None else judge.move(found.nearer(near, chosen.settings))
    best_alone = max(((0.0, 0.0), *map(judge.gain, found.singles()[:1])))
    tried = FewestKnobs(usual, others, land.smooth, land.look_each).search_alone()
    unlisted = judge.move(tried.chosen_by(judge.gain) if others else {})
    if unlisted is not None and unlisted.gain[0] < best_alone[0] + BEYOND:
        unlisted = None
    return FewestMoves(
        today,
        chosen,
        None if chosen is not None and nearest == chosen else nearest,
        unlisted,
        usual,
        floors,
        faint_sides(may, seed),
        stopped(recipe, may, {} if chosen is None else chosen.settings),
        len(found.knobs) - len(found.paired()),
        is_worth_turning(best_alone),
    )


class _Judge:
    """Judges settings on fresh draws, common with those of today."""

    def __init__(self, problem: Problem, today: Today, plan: Plan) -> None:
        self.problem, self.today, self.plan = problem, today, plan
        self._check = Evaluator(problem, CommonDraws([problem], plan), tuple(problem.targets))
        self._now = self._check.at({})
        self._landed = self._shares(lands(self._now, problem))

    def _shares(self, inside: FloatArray) -> FloatArray:
        return np.asarray(inside.reshape(self.plan.replicates, -1).mean(axis=1))

    def gain(self, settings: Settings) -> Gain:
        """Return what settings add to the chance of all targets."""
        more = self._shares(lands(self._check.at(settings), self.problem)) - self._landed
        return float(more.mean()), float(half_width(more))

    def move(self, settings: Settings) -> PlainMove | None:
        """Return all that settings do, None for none."""
        if not settings:
            return None
        now, there = self._now, self._check.at(settings)
        scales = {n: self.problem.scales.get(n, "linear") for n in self.problem.targets}
        gain = self.gain(settings)
        chances, medians = {}, {}
        for name, target in self.problem.targets.items():
            today = self.today.chances[name]
            more = (
                targets.lands(there[name], target).mean() - targets.lands(now[name], target).mean()
            )
            chances[name] = today, float(np.clip(today + more, 0.0, 1.0))
            before, after = (float(np.nanmedian(y[name])) for y in (now, there))
            median = self.today.medians[name]
            folds = scales[name] != "linear" and before > 0
            medians[name] = median, (median * after / before if folds else median + after - before)
        changes = {n: paired_change(now[n], there[n], scale, 0.9) for n, scale in scales.items()}
        chance = float(np.clip(self.today.chance[0] + gain[0], 0.0, 1.0))
        return PlainMove(dict(settings), gain, chance, chances, medians, changes)
