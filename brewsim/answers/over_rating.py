"""The chance that a bottle of this batch goes over its rating: counted, or sought where rare."""

from dataclasses import dataclass

import xarray as xr

from brewsim.quantities.chances import FEWEST
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import chance_error
from brewsim.study.model.targets import Target
from brewsim.study.propagation.rare_chance import rare_chance

_LEAST = 1e-7
"""Rarer is not asked: the spreads are not known that far out."""


@dataclass(frozen=True)
class OverRating:
    """A chance and the half width of its 95 % sampling interval, rare events counted.

    `sought` where so few draws show it that it was looked for by itself.
    """

    chance: float
    error: float
    sought: bool = False


def over_rating(
    recipe: Recipe, problem: Problem, drawn: xr.Dataset, seed: int = 1
) -> OverRating | None:
    """Return the chance, None for a keg or where nobody drew the pressure."""
    if recipe.package.container != "bottle" or "rating_excess_vol" not in drawn:
        return None
    over = drawn["rating_excess_vol"].to_numpy() > 0
    parts = over.reshape(int(drawn.attrs["replicates"]), -1).mean(axis=1)
    counted = OverRating(float(parts.mean()), chance_error(parts, over.size))
    if counted.chance >= FEWEST:
        return counted
    limits = {"rating_excess_vol": Target(upper=0.0)}
    found = rare_chance(problem, limits, least=_LEAST, seed=seed)
    if found.trusted:
        return OverRating(found.chance, (found.high - found.low) / 2, sought=True)
    bounded = found.chance == 0 and found.high < _LEAST
    return OverRating(found.high, 0.0, sought=True) if bounded else counted
