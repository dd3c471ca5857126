"""Outcome intervals from draws: pooled estimates, errors from the spread of the replicates."""

import json
from collections.abc import Mapping

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.replicates import Flags, Places
from brewsim.study.model.targets import Target, lands
from brewsim.study.propagation.coverage import check_share
from brewsim.study.propagation.figures import (
    FIGURES,
    Chances,
    Outcome,
    grain,
    on_scale,
    shares,
    table,
    unevenness,
)

_LEAST_PART = 0.5
"""A replicate with less than this share of the largest one's draws is a broken one."""


def summarise(
    draws: xr.Dataset, coverage: float = 0.9, targets: Mapping[str, Target] | None = None
) -> xr.Dataset:
    """Summarise draws of `simulate`, dims ("outcome",).

    `estimate` (mean, or median on a log scale), `median`, `standard_uncertainty` (on the scale's
    own units: doublings for log2), `low` and `high` of the symmetric coverage interval,
    `in_target`; `<name>_error` is half the width of the 95 % sampling interval. Rare events are
    left out of all of these; `in_target_with_events` keeps them in. A draw without a value counts
    as not landing; above 1 % of them there is no interval and a line in attribute `notes`, as
    there is where the draws are too few for the ends of the interval, where some are infinite and
    where a few of them carry the standard uncertainty. A list is summarised row by row.
    Attributes joint_in_target and event_chance, each with _error.

    Draws belong to replicates by their coordinate `replicate`: they may be sorted, shuffled or
    chosen by a condition. Raises StudyError where replicates are missing or broken off.

    `coverage` is between 0 and 1; `targets` judge by other limits than the problem's. Chances that
    few draws show are the business of `rare_chance`.

    >>> from brewsim import Problem, normal, simulate
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> round(float(summarise(simulate(problem))["standard_uncertainty"][0]), 2)
    0.5
    """
    check_share("coverage", coverage)
    limits = stated_targets(draws.attrs) if targets is None else targets
    columns = columns_of(draws, limits)
    where, there = replicate_places(draws)
    event = draws["event"].to_numpy()[where] if "event" in draws else None
    usual = there if event is None else there & ~event
    landed = {
        name: lands(values[where], limits[name])
        for name, (_, values) in columns.items()
        if name in limits
    }
    outcomes = [
        _outcome(name, attributes, values[where], (usual, there), landed.get(name), coverage)
        for name, (attributes, values) in columns.items()
    ]
    joint = np.logical_and.reduce(list(landed.values())) if landed else None
    nothing = np.full(1 + len(there), np.nan)
    chances = Chances(
        nothing if joint is None else shares(joint, usual),
        nothing if joint is None else shares(joint, there),
        np.zeros(1 + len(there)) if event is None else shares(event, there),
        int(usual.sum()),
        int(there.sum()),
    )
    return table(outcomes, chances, coverage, draws.attrs)


def stated_targets(attributes: Mapping[str, str]) -> dict[str, Target]:
    """Return the targets written into the attributes of draws."""
    return {name: Target(*pair) for name, pair in json.loads(attributes["targets"]).items()}


def replicate_places(draws: xr.Dataset) -> tuple[Places, Flags]:
    """Return the places of each replicate's draws, (replicates, rows), and which are filled."""
    if "replicate" not in draws.coords or draws["replicate"].dims != ("draw",):
        raise StudyError("these draws do not say which replicate each belongs to; keep `replicate`")
    numbers, codes = np.unique(draws["replicate"].to_numpy(), return_inverse=True)
    sizes = np.bincount(codes, minlength=len(numbers))
    if len(numbers) < 2:
        raise StudyError(
            f"draws of {len(numbers)} replicate have no sampling error; keep draws of all of them"
        )
    if sizes.min() < _LEAST_PART * sizes.max():
        short = int(sizes.argmin())
        raise StudyError(
            f"replicate {numbers[short]} has {sizes[short]:,} draws left and another "
            f"{sizes.max():,}: errors come from whole replicates, so cut none of them off"
        )
    order = np.argsort(codes, kind="stable")
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    row = np.arange(sizes.max())
    there = row < sizes[:, None]
    return order[np.minimum(starts[:, None] + row, len(order) - 1)], there


def columns_of(
    draws: xr.Dataset, targets: Mapping[str, Target]
) -> dict[str, tuple[Mapping[str, str], FloatArray]]:
    """Return name -> (attributes, values); a list gives one name for each of its rows."""
    for name in targets:
        if name not in draws:
            hint = did_you_mean(name, map(str, draws.data_vars))
            raise StudyError(f"there are no draws of {name}.{hint}")
        if draws[name].dims != ("draw",):
            raise StudyError(f"{name} is a list; a target needs one value per batch")
    columns = {}
    for name in dict.fromkeys([*json.loads(draws.attrs["outcomes"]), *targets]):
        variable = draws[name]
        if variable.dims == ("draw",):
            columns[name] = variable.attrs, variable.to_numpy()
            continue
        if len(variable.dims) > 2:
            axes = ", ".join(str(d) for d in variable.dims if d != "draw")
            raise StudyError(f"{name} is a table over {axes}; ask for one of its rows at a time")
        axis = next(d for d in variable.dims if d != "draw")
        for row in variable.transpose(axis, "draw"):
            label = row[axis].item() if axis in row.coords else len(columns)
            attributes = {**row.attrs, "label": f"{row.attrs['label']}: {label}"}
            columns[f"{name}[{label}]"] = attributes, row.to_numpy()
    return columns


def _outcome(
    name: str,
    attributes: Mapping[str, str],
    values: FloatArray,
    among: tuple[Flags, Flags],
    landed: Flags | None,
    coverage: float,
) -> Outcome:
    usual, there = among
    good = usual & ~np.isnan(values)
    scale = attributes["scale"]
    nothing = np.full(1 + len(values), np.nan)
    kept = values[good]
    level = on_scale(kept, scale)
    level = level[np.isfinite(level)]
    return Outcome(
        name,
        attributes,
        _figures(kept, scale, coverage),
        np.array([_figures(v[g], scale, coverage) for v, g in zip(values, good, strict=True)]),
        int(usual.sum() - good.sum()),
        int(usual.sum()),
        int(there.sum()),
        nothing if landed is None else shares(landed, usual),
        nothing if landed is None else shares(landed, there),
        _grains(kept, len(values), scale, coverage),
        int(np.isinf(kept).sum()),
        unevenness(level, np.ones_like(level), len(values)) if level.size > 1 else 0.0,
    )


def _grains(values: FloatArray, replicates: int, scale: str, coverage: float) -> FloatArray:
    """Return the grain of each figure that is a quantile; 0 for the others."""
    if values.size < 2:
        return np.zeros(len(FIGURES))
    low, median, high = grain(values, [(1 - coverage) / 2, 0.5, (1 + coverage) / 2], replicates)
    return np.array([0.0 if scale == "linear" else median, median, 0.0, low, high])


def _figures(values: FloatArray, scale: str, coverage: float) -> FloatArray:
    if values.size < 2:
        return np.full(len(FIGURES), np.nan)
    low, median, high = _quantiles(values, coverage)
    finite = values[np.isfinite(values)]
    if finite.size < 2:
        return np.array([np.nan, median, np.nan, low, high])
    estimate = finite.mean() if scale == "linear" else median
    return np.array([estimate, median, _spread(finite, scale), low, high])


def _quantiles(values: FloatArray, coverage: float) -> FloatArray:
    """Return low, median and high; infinite where draws so far out are."""
    chances = [(1 - coverage) / 2, 0.5, (1 + coverage) / 2]
    with np.errstate(invalid="ignore"):
        found = np.quantile(values, chances)
    if np.isnan(found).any():  # between a draw and an infinite one
        found = np.quantile(values, chances, method="nearest")
    return np.asarray(found)


def _spread(values: FloatArray, scale: str) -> float:
    if values.min() == values.max():
        return 0.0
    if scale == "linear":
        with np.errstate(over="ignore"):
            return float(np.std(values))
    if values.min() <= 0:
        return float("nan")
    return float(np.std(on_scale(values, scale)))
