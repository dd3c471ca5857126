"""Monte Carlo ends that a first-order budget is validated against (JCGM 101:2008, clause 8)."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from brewsim.study.model.outcome_rows import OutcomeRow
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise

DIGITS = (2, 1)
"""Significant digits of the uncertainty that are asked about, the finest first."""
SETTLED = 5.0
"""The Monte Carlo ends are known to a fifth of the tolerance (JCGM 101, 8.1.4 note)."""
_MOST_DRAWS = 2**20
_FIRST_DRAWS = 2**14


@dataclass(frozen=True)
class MonteCarloEnds:
    """Monte Carlo figures by outcome: estimate, uncertainty, low, high, error of the ends."""

    table: Mapping[str, tuple[float, float, float, float, float]]


def monte_carlo_ends(
    problem: Problem, rows: tuple[OutcomeRow, ...], coverage: float, seed: int
) -> MonteCarloEnds:
    """Draw until the ends of every outcome are known to a fifth of the tolerance."""
    draws = _FIRST_DRAWS
    while True:
        found = summarise(simulate(problem, draws, seed), coverage)
        table = {}
        for row in rows:
            one = found.sel(outcome=row.id)
            names = ("estimate", "standard_uncertainty", "low", "high")
            figures = [float(one[name]) for name in names]
            error = max(float(one["low_error"]), float(one["high_error"]))
            table[row.id] = (figures[0], figures[1], figures[2], figures[3], error)
        fine = all(t[4] <= tolerance(t[1], DIGITS[0]) / SETTLED for t in table.values())
        if fine or draws >= _MOST_DRAWS:
            return MonteCarloEnds(table)
        draws *= 4


def tolerance(uncertainty: float, digits: int) -> float:
    """Return half a unit in the last of so many significant digits (JCGM 101, 7.9.2).

    >>> tolerance(0.0754, 2), tolerance(35.0, 1)
    (0.0005, 5.0)
    """
    if not (math.isfinite(uncertainty) and uncertainty > 0):
        return 0.0
    power = math.floor(math.log10(uncertainty)) - (digits - 1)
    if round(uncertainty / 10.0**power) >= 10**digits:
        power += 1
    return 0.5 * 10.0**power
