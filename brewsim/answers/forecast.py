"""The forecast that a page and a command print of the same recipe: its draws and their summary."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr

from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise

DRAWS = 16_384
SIDE = (
    "tinseth_ibu",
    "rager_ibu",
    "garetz_ibu",
    "rating_excess_vol",
    "strongest_thiol_lead",
)
"""Drawn beside the outcomes: what cautions and remarks are made of."""


@dataclass(frozen=True)
class Today:
    """The chance of all targets and its error; each target's chance and median, model units."""

    chance: tuple[float, float]
    chances: Mapping[str, float]
    medians: Mapping[str, float]


def drawn_for(problem: Problem, draws: int | Literal["auto"] = DRAWS, seed: int = 1) -> xr.Dataset:
    """Return the draws of a recipe, what cautions are made of beside the outcomes."""
    keep = [name for name in SIDE if name in problem.graph]
    return simulate(problem, draws=draws, seed=seed, keep=keep)


def summary_of(drawn: xr.Dataset) -> xr.Dataset:
    """Return the summary of the outcomes alone."""
    return summarise(drawn[[name for name in drawn.data_vars if name not in SIDE]])


def today_of(problem: Problem, summary: xr.Dataset) -> Today:
    """Return where a recipe with targets stands, as its summary has it."""
    chance, error = (
        float(summary.attrs.get(f"joint_in_target{end}", np.nan)) for end in ("", "_error")
    )
    known = {n: summary.sel(outcome=n) for n in problem.targets}
    return Today(
        (chance, error),
        {n: float(row["in_target"]) for n, row in known.items()},
        {n: float(row["median"]) for n, row in known.items()},
    )
