"""Everything a page shows of one recipe, computed once: frozen data, no words."""

from collections.abc import Callable, Mapping
from concurrent.futures import BrokenExecutor, Executor
from dataclasses import dataclass
from functools import partial
from typing import Literal, ParamSpec, TypeVar

import xarray as xr

from brewsim.answers.brew_card import BrewCard, brew_card
from brewsim.answers.fewest_moves import FewestMoves, fewest_moves
from brewsim.answers.fifty import Fifty, fifty_batches, pictured
from brewsim.answers.forecast import drawn_for, summary_of, today_of
from brewsim.answers.from_log import FromLog, after_log
from brewsim.answers.kept import LeftOut, kept
from brewsim.answers.next_beer import NextBeer
from brewsim.answers.over_rating import OverRating, over_rating
from brewsim.answers.ratio_sides import floors_of, known_ratios
from brewsim.answers.sources import SpreadSources, spread_sources
from brewsim.answers.spec_question import Asked
from brewsim.answers.specification import SpecStudies, spec_studies
from brewsim.answers.wish_dials import WishDials, wish_dials
from brewsim.constants import WANTED_CHANCE
from brewsim.priors.library import Priors
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress
from brewsim.study.propagation.variance_by_kind import spread_by_kind
from brewsim.study.sensitivity.factor_groups import By
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.steering.steering import Steered, steer
from brewsim.study.steering.surface_fit import surfaces
from brewsim.study.steering.surfaces import Surfaces
from brewsim.study.tolerance.specification import specify

P = ParamSpec("P")
R = TypeVar("R")
_SPEC_DRAWS = 16_384
_BASE = 1_024
"""Rows of each replicate that a ranking starts from: intervals are right from here up."""
Removable = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class Everything:
    """What the studies found, in the model's units.

    `problem` is the recipe's, after its log where there is one; `before` is the summary without
    the log. `moves` is what to turn, None without targets. `removable` has for each factor, by
    outcome, the share of the variance that measuring it before the brew takes away; `left_out` are
    choices that advice does not take, `wish` the dials of a tasting.
    """

    recipe: Recipe
    problem: Problem
    chance: float
    drawn: xr.Dataset
    summary: xr.Dataset
    by_factor: xr.Dataset
    by_group: xr.Dataset
    by_kind: xr.Dataset
    spread: xr.Dataset
    specified: xr.Dataset
    spec: SpecStudies
    removable: Removable
    sources: Mapping[str, SpreadSources]
    steered: Steered | None
    moves: FewestMoves | None
    surfaces: Surfaces | None
    fifty: Fifty | None
    card: BrewCard
    over: OverRating | None = None
    log: FromLog | None = None
    before: xr.Dataset | None = None
    tasted: NextBeer | None = None
    left_out: tuple[LeftOut, ...] = ()
    wish: WishDials | None = None


def everything(
    recipe: Recipe,
    problem: Problem,
    priors: Priors,
    *,
    draws: int | Literal["auto"] = 16_384,
    seed: int = 1,
    chance: float = WANTED_CHANCE,
    log: FromLog | None = None,
    tasted: NextBeer | None = None,
    executor: Executor | None = None,
    progress: Progress = lambda _done, _text: None,
) -> Everything:
    """Run every study of a page; with a log, the recipe is forecast after it.

    With an `executor` the longer studies run beside the others; no figure changes.
    """
    prior = problem
    problem = problem if log is None else after_log(problem, log)
    names = pictured(problem)
    may = kept(recipe, problem, seed=seed)
    steerable = may.problem
    fitted = _begun(executor, surfaces, problem, names, known_ratios(problem), seed=seed)
    judged = _begun(
        executor,
        spec_studies,
        steerable,
        priors,
        Asked(chance=chance),
        draws=_SPEC_DRAWS,
        seed=seed,
    )
    progress(0.0, "simulating")
    drawn = drawn_for(problem, draws, seed)
    summary = summary_of(drawn)
    turned = _begun(executor, _turned, recipe, problem, steerable, summary, chance, seed)
    before = None if log is None else summary_of(drawn_for(prior, draws, seed))
    progress(0.15, "ranking what drives it")
    every: tuple[By, ...] = ("factor", "group", "kind")
    by_factor, by_group, by_kind = (rank(problem, base=_BASE, seed=seed, by=by) for by in every)
    progress(0.4, "own scatter")
    spread = spread_by_kind(problem, seed=seed)
    progress(0.5, "the brew day")
    card = brew_card(recipe, problem, priors, seed=seed)
    progress(0.6, "limits")
    specified = specify(problem, draws=_SPEC_DRAWS, seed=seed)
    progress(0.7, "all knobs at once")
    response = fitted()
    fifty = fifty_batches(problem, drawn, response, seed=seed)
    progress(0.9, "what helps most")
    spec = judged()
    best, moves = turned()
    removable = _removable(spec)
    return Everything(
        recipe=recipe,
        problem=problem,
        chance=chance,
        drawn=drawn,
        summary=summary,
        by_factor=by_factor,
        by_group=by_group,
        by_kind=by_kind,
        spread=spread,
        specified=specified,
        spec=spec,
        removable=removable,
        sources=spread_sources(by_factor, spec.budget, removable if spec.worths else None),
        steered=best,
        moves=moves,
        surfaces=response,
        fifty=fifty,
        card=card,
        over=over_rating(recipe, problem, drawn, seed),
        log=log,
        before=before,
        tasted=tasted,
        left_out=may.left_out,
        wish=None if tasted is None else wish_dials(tasted, prior, seed=seed),
    )


def _turned(
    recipe: Recipe, problem: Problem, may: Problem, summary: xr.Dataset, chance: float, seed: int
) -> tuple[Steered | None, FewestMoves | None]:
    """Return what all knobs together can do, and what is worth turning; None without targets."""
    if not problem.targets:
        return None, None
    best = None
    if may.knobs:
        best = steer(may, chance=chance, floors=floors_of(problem, seed), seed=seed)
    today = today_of(problem, summary)
    return best, fewest_moves(recipe, problem, may, today, best, seed=seed)


def _begun(
    executor: Executor | None, study: Callable[P, R], *given: P.args, **named: P.kwargs
) -> Callable[[], R]:
    """Begin a study where there is somebody to run it; returns what waits for its result.

    A worker that ends before its time (killed, out of memory) costs time only: the study then
    runs here.
    """
    here = partial(study, *given, **named)
    if executor is None:
        return here
    try:
        begun = executor.submit(here)
    except BrokenExecutor:
        return here

    def result() -> R:
        try:
            return begun.result()
        except BrokenExecutor:
            return here()

    return result


def _removable(studies: SpecStudies) -> dict[str, Mapping[str, float]]:
    """Return what exact knowledge of each factor's lasting and lot part takes away."""
    found = studies.worths.found if studies.worths else ()
    return {
        worth.measurement.factor: worth.explained
        for worth in found
        if worth.measurement.factor and worth.measurement.uncertainty == 0
    }
