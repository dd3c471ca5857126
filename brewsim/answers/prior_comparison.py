"""What a brewery's own priors change: which inputs of a recipe, and its intervals."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from brewsim.beer.pose import posed
from brewsim.dims import FloatArray
from brewsim.priors.library import Priors
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise


@dataclass(frozen=True)
class PriorComparison:
    """A recipe with the shipped priors and with own ones: labels of inputs that differ, tables.

    `before` and `after` are summaries with dims (outcome,), in each outcome's unit.
    """

    problem: Problem
    changed: tuple[str, ...]
    before: xr.Dataset
    after: xr.Dataset


def compare_priors(
    recipe: Recipe, shipped: Priors, own: Priors, *, draws: int = 16_384, seed: int = 1
) -> PriorComparison:
    """Return what own priors change in a recipe, both drawn with the same seed.

    Raises InputError where one of the two cannot be posed.
    """
    problems = [posed(recipe, priors)[0] for priors in (shipped, own)]
    before, after = (summarise(simulate(p, draws=draws, seed=seed)) for p in problems)
    return PriorComparison(problems[0], _changed(*problems), before, after)


def _changed(first: Problem, second: Problem) -> tuple[str, ...]:
    """Return the labels of inputs that differ; one that only became idle or active is the same."""
    labels = []
    factors = [{f.id: f for f in problem.factors} for problem in (first, second)]
    for identity in {**factors[0], **factors[1]}:
        one, other = factors[0].get(identity), factors[1].get(identity)
        if one is not None and other is not None:
            told = [(f.distribution.fingerprint, f.kinds) for f in (one, other)]
            if told[0] != told[1]:
                labels.append(one.label)
        elif (only := one or other) is not None:
            kept = (second if other is None else first).fixed.get(only.quantity)
            median = np.array([only.distribution.median])
            if kept is None or (only.row is None and not _same(kept, median)):
                labels.append(only.label)
    for name, value in first.fixed.items():
        if name in second.fixed and not _same(value, second.fixed[name]):
            labels.append(first.graph.label(name))
    return tuple(dict.fromkeys(labels))


def _same(one: FloatArray, other: FloatArray) -> bool:
    return np.array_equal(np.asarray(one, float), np.asarray(other, float), equal_nan=True)
