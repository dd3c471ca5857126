"""Steering for targets by the same rules as from a tasted batch: fewest knobs, smallest change."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from brewsim.answers.advice import Lever, advise, floors_of
from brewsim.beer.knob_limits import stopped
from brewsim.beer.levers import unlisted_knobs
from brewsim.recipe.schema import Recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings, lands
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.paired import Ends, paired_change
from brewsim.study.steering.fewest_knobs import FewestKnobs
from brewsim.study.steering.objective import Landscape

_SEARCH_ROWS, _CHECK_ROWS = 256, 2048
CHECK_DRAWS = 8 * _CHECK_ROWS
"""Fresh draws on which a move is judged."""
_FRESH_SEED = 104_729


@dataclass(frozen=True)
class PlainMove:
    """Settings that differ from the recipe, and the chance of all targets with its half width.

    `changes` are low, middle and high of what the move does to a batch in which all else is the
    same, by target: a fold for outcomes on a log scale, else a difference.
    """

    settings: Mapping[str, float | str]
    chance: tuple[float, float]
    changes: Mapping[str, Ends]


@dataclass(frozen=True)
class FewestMoves:
    """The fewest knobs and the smallest change as good as any; the nearest useful move.

    `nearest` is None where no knob helps. `unlisted` is a lever that is none of the recipe's knobs
    and does better than the best of them alone, if there is one; `floors` are the least middles
    that no advised setting goes below; `stopped` are knobs that were kept above a quarter of what
    they are. `alone` counts knobs that were tried alone and not together with others.
    """

    now: PlainMove
    chosen: PlainMove
    nearest: PlainMove | None
    unlisted: Lever | None
    floors: Mapping[str, float]
    stopped: tuple[str, ...] = ()
    alone: int = 0


def fewest_moves(
    recipe: Recipe, problem: Problem, *, knobs: Sequence[str] | None = None, seed: int = 1
) -> FewestMoves:
    """Return what to turn for the targets of a recipe.

    Args:
        recipe: as read.
        problem: posed and what advice may turn (`kept`).
        knobs: ids of those that may move; all without.
        seed: of the draws; settings are judged on fresh ones.
    """
    moving = [k for k in problem.knobs if knobs is None or k.id in knobs]
    floors = floors_of(problem, seed)
    land = Landscape(problem, moving, Plan(rows=_SEARCH_ROWS, seed=seed), floors)
    found = FewestKnobs(problem, moving, land.smooth).search()
    plan = Plan(rows=_CHECK_ROWS, seed=seed + _FRESH_SEED)
    check = Evaluator(problem, CommonDraws([problem], plan), tuple(problem.targets))

    today = check.at({})

    def judged(settings: Settings) -> PlainMove:
        there = check.at(settings)
        landed = lands(there, problem).reshape(plan.replicates, -1).mean(axis=1)
        changes = {
            name: paired_change(today[name], there[name], problem.scales.get(name, "linear"), 0.9)
            for name in problem.targets
        }
        chance = float(landed.mean()), float(half_width(landed))
        return PlainMove(dict(settings), chance, changes)

    chosen = judged(found.chosen_by(lambda settings: judged(settings).chance[0]))
    nearest = found.nearest_useful() if chosen.settings else None
    tried = advise(problem, unlisted_knobs(recipe, problem), seed=seed)
    other = tried.unlisted if tried.unlisted is not None and tried.unlisted.worth_it else None
    return FewestMoves(
        judged({}),
        chosen,
        None if nearest is None else judged(found.nearer(nearest, chosen.settings)),
        other,
        floors,
        stopped(recipe, problem, chosen.settings),
        len(found.knobs) - len(found.paired()),
    )
