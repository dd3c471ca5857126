"""Outcome intervals from draws: pooled estimates, errors from the spread of the replicates."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.replicates import Flags, Places, half_width
from brewsim.study.model.targets import Target, lands
from brewsim.study.propagation.coverage import check_share

MOST_BAD = 0.01
"""Above this share of draws without a value, no interval is given."""


_GRAIN = 0.375


FIGURES = ("estimate", "median", "standard_uncertainty", "low", "high")


@dataclass(frozen=True)
class Outcome:
    """One outcome's figures, pooled and by replicate, and the draws behind them.

    `pooled` is (figures,), `replicated` (replicates, figures), `grain` (figures,) the least error
    they can have; chances are (1 + replicates,), the pooled one first; `bad` of `count` draws had
    no value.
    """

    name: str
    attributes: Mapping[str, str]
    pooled: FloatArray
    replicated: FloatArray
    bad: int
    count: int
    landed: FloatArray
    landed_with_events: FloatArray
    grain: FloatArray | float = 0.0


@dataclass(frozen=True)
class Chances:
    """Chances over all targets and of a rare event, each (1 + replicates,), pooled first."""

    joint: FloatArray
    joint_with_events: FloatArray
    event: FloatArray


def summarise(
    draws: xr.Dataset, coverage: float = 0.9, targets: Mapping[str, Target] | None = None
) -> xr.Dataset:
    """Summarise draws of `simulate`, dims ("outcome",).

    `estimate` (mean, or median on a log scale), `median`, `standard_uncertainty` (on the scale's
    own units: doublings for log2), `low` and `high` of the symmetric coverage interval,
    `in_target`; `<name>_error` is half the width of the 95 % sampling interval. Rare events are
    left out of all of these; `in_target_with_events` keeps them in. A draw without a value counts
    as not landing; above 1 % of them there is no interval and a line in attribute `notes`, as
    there is where the draws are too few for the ends of the interval.
    Attributes joint_in_target and event_chance, each with _error. Raises StudyError.

    `coverage` is between 0 and 1; `targets` judge by other limits than the problem's.

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
    names = _summarised(draws, limits)
    replicates = int(draws.attrs["replicates"])
    shape = (replicates, -1)
    event = draws["event"].to_numpy().reshape(shape) if "event" in draws else None
    usual = None if event is None else ~event
    landed = {
        name: lands(draws[name].to_numpy(), limits[name]).reshape(shape)
        for name in names
        if name in limits
    }
    outcomes = []
    for name in names:
        values = draws[name].to_numpy().reshape(shape)
        inside = landed.get(name)
        outcomes.append(_outcome(name, draws[name].attrs, values, usual, inside, coverage))
    joint = np.logical_and.reduce(list(landed.values())) if landed else None
    nothing = np.full(1 + replicates, np.nan)
    chances = Chances(
        nothing if joint is None else shares(joint, usual),
        nothing if joint is None else shares(joint, None),
        np.zeros(1 + replicates) if event is None else shares(event, None),
    )
    return table(outcomes, chances, coverage, draws.attrs)


def stated_targets(attributes: Mapping[str, str]) -> dict[str, Target]:
    """Return the targets written into the attributes of draws."""
    return {name: Target(*pair) for name, pair in json.loads(attributes["targets"]).items()}


def _summarised(draws: xr.Dataset, targets: Mapping[str, Target]) -> list[str]:
    outcomes = json.loads(draws.attrs["outcomes"])
    for name in targets:
        if name not in draws:
            hint = did_you_mean(name, map(str, draws.data_vars))
            raise StudyError(f"there are no draws of {name}.{hint}")
        if draws[name].dims != ("draw",):
            raise StudyError(f"{name} is a list; a target needs one value per batch")
    names = dict.fromkeys([*outcomes, *targets])
    return [name for name in names if draws[name].dims == ("draw",)]


def shares(flags: Flags, among: Flags | None) -> FloatArray:
    """Return the share of set flags (replicates, rows): pooled, then each replicate."""
    if among is None:
        counts, sizes = flags.sum(axis=1), np.full(len(flags), flags.shape[1])
    else:
        counts, sizes = (flags & among).sum(axis=1), among.sum(axis=1)
    return share_of(counts, sizes)


def share_of(counts: Places, sizes: Places) -> FloatArray:
    """Return counts over sizes, (replicates,): pooled, then each replicate; nan for none."""
    top = np.concatenate([[counts.sum()], counts]).astype(float)
    bottom = np.concatenate([[sizes.sum()], sizes]).astype(float)
    return np.divide(top, bottom, out=np.full(len(top), np.nan), where=bottom > 0)


def _outcome(
    name: str,
    attributes: Mapping[str, str],
    values: FloatArray,
    usual: Flags | None,
    landed: Flags | None,
    coverage: float,
) -> Outcome:
    counted = np.ones(values.shape, dtype=bool) if usual is None else usual
    good = counted & np.isfinite(values)
    scale = attributes["scale"]
    nothing = np.full(1 + len(values), np.nan)
    return Outcome(
        name,
        attributes,
        _figures(values[good], scale, coverage),
        np.array([_figures(v[g], scale, coverage) for v, g in zip(values, good, strict=True)]),
        int(counted.sum() - good.sum()),
        int(counted.sum()),
        nothing if landed is None else shares(landed, usual),
        nothing if landed is None else shares(landed, None),
        _grains(values[good], len(values), scale, coverage),
    )


def _grains(values: FloatArray, replicates: int, scale: str, coverage: float) -> FloatArray:
    """Return the grain of each figure that is a quantile; 0 for the others."""
    if values.size < 2:
        return np.zeros(len(FIGURES))
    low, median, high = grain(values, [(1 - coverage) / 2, 0.5, (1 + coverage) / 2], replicates)
    return np.array([0.0 if scale == "linear" else median, median, 0.0, low, high])


def grain(values: FloatArray, shares: Sequence[float], replicates: int) -> FloatArray:
    """Return the least sampling error, half of a 95 % interval, of quantiles of pooled replicates.

    Where one factor decides, every replicate of well-spread points has one point in each stretch
    of probability 1/rows. The pooled quantile is then an order statistic of as many points as
    there are replicates, uniform over such a stretch, and the replicates' own quantiles scatter
    less than it does. 95 % of it lies within 3/8 of the stretch.
    """
    reach = _GRAIN * replicates / values.size
    ends = [np.clip(np.asarray(shares) + side * reach, 0, 1) for side in (-1, 1)]
    below, above = np.quantile(values, ends)
    return np.asarray(above - below) / 2


def _figures(values: FloatArray, scale: str, coverage: float) -> FloatArray:
    if values.size < 2:
        return np.full(len(FIGURES), np.nan)
    low, median, high = np.quantile(values, [(1 - coverage) / 2, 0.5, (1 + coverage) / 2])
    estimate = values.mean() if scale == "linear" else median
    return np.array([estimate, median, _spread(values, scale), low, high])


def _spread(values: FloatArray, scale: str) -> float:
    if values.min() == values.max():
        return 0.0
    if scale == "linear":
        return float(np.std(values))
    if values.min() <= 0:
        return float("nan")
    return float(np.std(on_scale(values, scale)))


def on_scale(values: FloatArray, scale: str) -> FloatArray:
    """Return values on the scale an outcome is judged on; what has no logarithm is not finite."""
    if scale == "linear":
        return values
    with np.errstate(all="ignore"):
        return np.log2(values) if scale == "log2" else np.log(values)


def table(
    outcomes: Sequence[Outcome],
    chances: Chances,
    coverage: float,
    attributes: Mapping[str, object],
) -> xr.Dataset:
    """Return the table of `summarise` from figures however they were gathered."""
    columns: dict[str, list[float]] = {}
    for outcome in outcomes:
        refused = outcome.bad > MOST_BAD * outcome.count
        errors = np.maximum(half_width(outcome.replicated), outcome.grain)
        for place, figure in enumerate(FIGURES):
            hidden = refused and figure in {"low", "high"}
            value, error = float(outcome.pooled[place]), float(errors[place])
            columns.setdefault(figure, []).append(np.nan if hidden else value)
            columns.setdefault(f"{figure}_error", []).append(np.nan if hidden else error)
        for name, chance in (
            ("in_target", outcome.landed),
            ("in_target_with_events", outcome.landed_with_events),
        ):
            columns.setdefault(name, []).append(float(chance[0]))
            columns.setdefault(f"{name}_error", []).append(float(half_width(chance[1:])))
        columns.setdefault("bad_draws", []).append(outcome.bad)
    named = {key: ("outcome", [o.attributes[key] for o in outcomes]) for key in _DESCRIBED}
    return xr.Dataset(
        {name: ("outcome", np.array(column)) for name, column in columns.items()},
        coords={"outcome": [o.name for o in outcomes], **named},
        attrs={
            **attributes,
            "coverage": coverage,
            "notes": _notes(outcomes, coverage),
            **_joint(chances),
        },
    )


_DESCRIBED = ("unit", "label", "scale")


def _joint(chances: Chances) -> dict[str, float]:
    named = {
        "joint_in_target": chances.joint,
        "joint_in_target_with_events": chances.joint_with_events,
        "event_chance": chances.event,
    }
    found = {}
    for name, chance in named.items():
        found[name] = float(chance[0])
        found[f"{name}_error"] = float(half_width(chance[1:]))
    return found


def _notes(outcomes: Sequence[Outcome], coverage: float) -> str:
    notes = _few_draws(outcomes, (1 - coverage) / 2)
    for outcome in outcomes:
        if outcome.bad > MOST_BAD * outcome.count:
            notes.append(
                f"{outcome.name}: {outcome.bad} of {outcome.count} draws have no value, "
                f"so no interval is given"
            )
        elif np.isnan(outcome.pooled[2]):
            notes.append(f"{outcome.name}: values at or below 0 have no spread on a log scale")
    return json.dumps(notes)


def _few_draws(outcomes: Sequence[Outcome], tail: float) -> list[str]:
    """Say it where not every replicate can be expected to draw once beyond each end."""
    given = [o for o in outcomes if o.bad <= MOST_BAD * o.count]
    fewest = min((o.count - o.bad for o in given), default=0)
    replicates = max((len(o.replicated) for o in given), default=0)
    needed = math.ceil(replicates / tail * (1 - 1e-9))
    if fewest >= needed:
        return []
    few = f"{fewest:,} draws are few for an interval that leaves {100 * tail:.2g} % on each side"
    return [f"{few}: take its ends as rough, or draw {needed:,}"]
