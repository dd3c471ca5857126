"""The figures of a brew day: what to heat, weigh and read, and what to do when a reading is off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.answers.brew_day import midway, plan_of
from brewsim.errors import BrewsimError
from brewsim.priors.library import Priors
from brewsim.recipe.schema import Recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, at_medians, without_events

WATER, STRIKE, SPARGE = "mash_water_l", "strike_water_temperature_c", "sparge_water_l"
MASH = "mash_set_temperature_c"
BEFORE_BOIL, BEFORE_GRAVITY = "preboil_volume_l", "preboil_gravity_sg"
AFTER_BOIL, HOT_AFTER_BOIL = "postboil_volume_l", "hot_postboil_volume_l"
INTO_FERMENTER, START = "fermenter_volume_l", "original_gravity_sg"
FINISH, GAS, PRIMING = "final_gravity_sg", "carbonation_vol", "priming_sugar_g_l"
_ASKED = (
    WATER, STRIKE, SPARGE, MASH, "mash_temperature_c", BEFORE_BOIL, BEFORE_GRAVITY, AFTER_BOIL,
    HOT_AFTER_BOIL, INTO_FERMENTER, START, FINISH, GAS, PRIMING,
    "alcohol_by_volume_fraction", "fermentation_temperature_c", "boil_time_min",
)  # fmt: skip
_STEPS = (-0.004, -0.003, -0.002, 0.002, 0.003, 0.004)
"""Gravities read before the boil, from the planned one, that the correction table answers."""
_ROWS = 128
DRAWS = 1024
LONGER, SOLID, DILUTED = "boil longer", "add dry malt extract", "dilute with water after the boil"


@dataclass(frozen=True)
class Figure:
    """A quantity at the medians of all inputs, as `trace` tells it, and where nine in ten lie."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Correction:
    """A gravity read before the boil, the amounts that mend it, and whether to read again first."""

    gravity: float
    amounts: Mapping[str, float]
    doubtful: bool


@dataclass(frozen=True)
class BrewCard:
    """Figures by quantity (model units), what one degree of mash does, and the corrections.

    `per_degree` is the change of final gravity and strength for a mash one degree hotter.
    """

    figures: Mapping[str, Figure]
    per_degree: Mapping[str, float]
    corrections: Sequence[Correction] = ()


def brew_card(recipe: Recipe, problem: Problem, priors: Priors, *, seed: int = 1) -> BrewCard:
    """Return the figures of one brew day of a recipe."""
    usual = without_events(problem)
    names = [name for name in _ASKED if name in usual.graph and not usual.graph.axes(name)]
    medians = at_medians(usual, usual.graph.pruned(names))
    drawn = Evaluator(usual, CommonDraws([usual], Plan(rows=_ROWS, seed=seed)), names).at({})
    figures = {}
    for name in names:
        values = drawn[name][np.isfinite(drawn[name])]
        ends = np.quantile(values, (0.05, 0.95)) if len(values) else (np.nan, np.nan)
        figures[name] = Figure(float(medians[name][0]), float(ends[0]), float(ends[1]))
    return BrewCard(
        figures,
        _per_degree(usual) if MASH in figures else {},
        tuple(_corrections(recipe, figures, priors, seed)),
    )


def _per_degree(problem: Problem) -> dict[str, float]:
    """Return what a mash one degree hotter does to the medians of gravity and strength."""
    names = [n for n in (FINISH, "alcohol_by_volume_fraction") if n in problem.graph]
    graph = problem.graph.pruned(names)
    if MASH not in problem.fixed or MASH not in graph.inputs:
        return {}
    moved = dict(problem.fixed) | {MASH: np.asarray(problem.fixed[MASH]) + 1.0}
    hotter = Problem(
        graph=problem.graph,
        fixed=moved,
        factors=problem.factors,
        outcomes=problem.outcomes,
        scales=problem.scales,
        learned=problem.learned,
    )
    now, then = (at_medians(p, graph) for p in (problem, hotter))
    return {n: float(then[n][0] - now[n][0]) for n in names}


def _corrections(
    recipe: Recipe, figures: Mapping[str, Figure], priors: Priors, seed: int
) -> list[Correction]:
    if BEFORE_GRAVITY not in figures or BEFORE_GRAVITY in recipe.given:
        return []
    gravity, found = round(figures[BEFORE_GRAVITY].value, 3), []
    try:
        planned = plan_of(recipe, priors)
    except BrewsimError:
        return []
    for step in _STEPS:
        read = round(gravity + step, 3)
        reading = {BEFORE_GRAVITY: f"exactly {read}"}
        try:
            day = midway(recipe, reading, priors, draws=DRAWS, seed=seed, planned=planned)
        except BrewsimError:
            continue
        amounts = {c.name: c.amount for c in day.corrections if c.reaches and c.amount > 0}
        found.append(Correction(read, amounts, bool(day.doubts)))
    return found
