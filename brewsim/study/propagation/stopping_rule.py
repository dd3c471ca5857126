"""When there are enough draws: every figure known well enough for the way it is shown."""

from typing import Any

import numpy as np
import xarray as xr

from brewsim.study.propagation.summary import summarise

END = 0.03
"""Half width allowed at an interval's ends, in standard uncertainties."""

MIDDLE = 0.015
"""Half width allowed for the estimate and the standard uncertainty, in the latter."""

CHANCE = 0.01
"""Half width allowed for a chance."""

RARE = 0.001
"""Below it a chance is said as 'fewer than 1 in 1,000'."""

_ROUNDING = 1e-12
"""Of a figure without spread, such as a stated one: what is left of it is no sampling error."""

_PER_UNIT = {"linear": 0.0, "log": 1.0, "log2": float(np.log(2))}


def not_settled(draws: xr.Dataset, coverage: float = 0.9) -> list[dict[str, Any]]:
    """Return the figures whose 95 % sampling interval is still too wide, widest first.

    Each entry has outcome, figure, half_width and wanted. Figures without a value are left out:
    more draws would not mend them.
    """
    found = summarise(draws, coverage)
    entries = []
    for name in found["outcome"].to_numpy():
        row = found.sel(outcome=name)
        entries += [{"outcome": str(name), **entry} for entry in _open_figures(row)]
    joint = float(found.attrs["joint_in_target"])
    wanted = chance_wanted(joint)
    error = float(found.attrs["joint_in_target_error"])
    if error > wanted:
        entry = {"figure": "joint_in_target", "half_width": error, "wanted": wanted}
        entries.append({"outcome": "", **entry})
    return sorted(entries, key=lambda e: -e["half_width"] / e["wanted"])


def _open_figures(row: xr.Dataset) -> list[dict[str, Any]]:
    spread = float(row["standard_uncertainty"])
    rules = {"low": END, "high": END, "estimate": MIDDLE, "standard_uncertainty": MIDDLE}
    found = []
    for figure, share in rules.items():
        error = float(row[f"{figure}_error"])
        if figure != "standard_uncertainty" and row["scale"].item() != "linear":
            error /= abs(float(row[figure])) * _PER_UNIT[row["scale"].item()] or np.nan
        wanted = max(share * spread, _ROUNDING * abs(float(row[figure])))
        if error > wanted:
            found.append({"figure": figure, "half_width": error, "wanted": wanted})
    wanted = chance_wanted(float(row["in_target"]))
    error = float(row["in_target_error"])
    if error > wanted:
        found.append({"figure": "in_target", "half_width": error, "wanted": wanted})
    return found


def chance_wanted(chance: float) -> float:
    """Return the half width allowed for a chance: 0.01, and a quarter of a small one."""
    rarer = min(chance, 1 - chance)
    return float(np.clip(rarer / 4, RARE / 4, CHANCE)) if rarer >= RARE else max(RARE - rarer, 1e-9)
