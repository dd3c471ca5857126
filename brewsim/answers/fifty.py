"""Fifty true batches: one set of draws that serves every picture of the page."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model import targets
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.linked_draws import (
    DOTS,
    Count,
    LinkedDraws,
    Margin,
    linked_draws,
)
from brewsim.study.steering.surfaces import DRAWS_PER_REPLICATE, Surfaces

MOST_PICTURES = 6
_FIRST = 3
_FLOOR = 1e-12
ALL = "all targets"


@dataclass(frozen=True)
class Fifty:
    """Values of the chosen batches by outcome, (50,), model units, and who lands where.

    `places` are their places among the draws of the response surfaces. `inside` is given for
    outcomes with a target, `together` says which batches meet all of them; None without targets.
    """

    names: tuple[str, ...]
    places: NDArray[np.intp]
    values: Mapping[str, FloatArray]
    inside: Mapping[str, NDArray[np.bool_]]
    together: NDArray[np.bool_] | None
    linked: LinkedDraws

    @property
    def count(self) -> int | None:
        """How many of the fifty meet every target, None without targets."""
        return None if self.together is None else int(self.together.sum())


def pictured(problem: Problem) -> tuple[str, ...]:
    """Return the outcomes that have a picture: those aimed at, else the first few."""
    aimed = [name for name in problem.outcomes if name in problem.targets]
    return tuple(aimed[:MOST_PICTURES] or problem.outcomes[:_FIRST])


def fifty_batches(
    problem: Problem, drawn: xr.Dataset, surfaces: Surfaces | None = None, *, seed: int = 1
) -> Fifty | None:
    """Choose fifty batches whose quantiles and counts are those of the many `drawn`.

    Rare events are left out, as in every interval. None where too few draws have a value.
    """
    usual = without_events(problem)
    names = pictured(problem)
    candidates = surfaces.today if surfaces is not None else _candidates(usual, names, seed)
    many = {name: _usual(drawn, name) for name in names}
    aimed = {n: t for n, t in usual.targets.items() if n in names}
    margins = {n: _margin(usual, n, candidates[n], many[n]) for n in names if len(many[n])}
    inside = {n: targets.lands(candidates[n], t) for n, t in aimed.items()}
    counts = {n: Count(y, _chance(many[n], aimed[n])) for n, y in inside.items()}
    together = None
    if aimed:
        together = np.logical_and.reduce(list(inside.values()))
        landed = np.logical_and.reduce([targets.lands(_all(drawn, n), t) for n, t in aimed.items()])
        counts[ALL] = Count(together, float(landed[_kept(drawn)].mean()))
    try:
        linked = linked_draws(margins, counts, seed=seed)
    except StudyError:
        return None
    chosen = linked.places
    return Fifty(
        names,
        chosen,
        {n: candidates[n][chosen] for n in names},
        {n: y[chosen] for n, y in inside.items()},
        None if together is None else together[chosen],
        linked,
    )


def _candidates(problem: Problem, names: tuple[str, ...], seed: int) -> Mapping[str, FloatArray]:
    plan = Plan(rows=DRAWS_PER_REPLICATE, seed=seed)
    return Evaluator(problem, CommonDraws([problem], plan), names).at({})


def _kept(drawn: xr.Dataset) -> NDArray[np.bool_]:
    """Return which draws hold no rare event."""
    if "event" in drawn:
        return ~np.asarray(drawn["event"].to_numpy(), dtype=bool)
    return np.ones(drawn.sizes["draw"], dtype=bool)


def _all(drawn: xr.Dataset, name: str) -> FloatArray:
    return np.asarray(drawn[name].to_numpy(), dtype=float)


def _usual(drawn: xr.Dataset, name: str) -> FloatArray:
    values = _all(drawn, name)[_kept(drawn)]
    return values[np.isfinite(values)]


def _chance(values: FloatArray, target: targets.Target) -> float:
    return float(targets.lands(values, target).mean()) if len(values) else 0.0


def _margin(problem: Problem, name: str, candidates: FloatArray, many: FloatArray) -> Margin:
    """Return an outcome on the axis it is drawn on, and the quantiles wanted there."""
    wanted = np.quantile(many, (np.arange(DOTS) + 0.5) / DOTS)
    if problem.scales.get(name, "linear") != "linear":
        least = max(_FLOOR, 1e-3 * float(np.median(many)))
        return Margin(np.log2(np.maximum(candidates, least)), np.log2(np.maximum(wanted, least)))
    return Margin(candidates, wanted)
