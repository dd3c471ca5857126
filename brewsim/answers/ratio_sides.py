"""Targets that are ratios: their two sides, and how little of them advice may leave."""

import numpy as np

from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.steering.surfaces import Ratio

SIDES = {"thiol_lead": Ratio("thiol_activity", "hop_aroma_activity")}
"""Targets that compare two outcomes, and what they compare."""
NOTICED = 1.0
"""Odour units that half of a panel notices."""
_ROWS = 256


def known_ratios(problem: Problem) -> dict[str, Ratio]:
    """Return the targets and outcomes that are ratios of two others of this model."""
    return {n: r for n, r in SIDES.items() if {n, r.top, r.bottom} <= set(problem.graph.nodes)}


def sides_of(problem: Problem) -> list[str]:
    """Return the outcomes that are sides of the ratios that are aimed at."""
    aimed = [r for name, r in known_ratios(problem).items() if name in problem.targets]
    return list(dict.fromkeys(side for r in aimed for side in (r.top, r.bottom)))


def sides_today(problem: Problem, seed: int = 1) -> dict[str, float]:
    """Return the middle of each side of the ratios that are aimed at."""
    names = sides_of(problem)
    if not names:
        return {}
    plan = Plan(rows=_ROWS, seed=seed)
    usual = without_events(problem)
    values = Evaluator(usual, CommonDraws([usual], plan), names).at({})
    return {name: float(np.nanmedian(values[name])) for name in names}


def faint_sides(problem: Problem, seed: int = 1) -> dict[str, float]:
    """Return the middles of sides that half of a panel does not notice today."""
    return {n: middle for n, middle in sides_today(problem, seed).items() if middle < NOTICED}


def floors_of(problem: Problem, seed: int = 1) -> dict[str, float]:
    """Return the least middles that steering keeps: a ratio is not met by making nothing of it.

    A side that is below the floor today, or has a target of its own, is left alone.
    """
    return {
        name: NOTICED
        for name, middle in sides_today(problem, seed).items()
        if middle >= NOTICED and name not in problem.targets
    }
