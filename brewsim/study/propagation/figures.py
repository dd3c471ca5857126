"""The table of a summary: pooled estimates, errors from the spread of the replicates, notes."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.study.model.replicates import Flags, Places, chance_error, half_width

MOST_BAD = 0.01
"""Above this share of draws without a value, no interval is given."""

FIGURES = ("estimate", "median", "standard_uncertainty", "low", "high")
_GRAIN = 0.375
_UNEVEN = 0.35
"""Skewness of a replicate's mean square deviation above which few draws carry its spread."""

_SKEW = 6.0
"""Twice the skewness of a normal's square deviation: below it there are no far draws."""

_WIDER = {"estimate": 0.3, "standard_uncertainty": 0.8}
"""By how much of that skewness an error is widened; fitted to the coverage in docs/methods.md."""


@dataclass(frozen=True)
class Outcome:
    """One outcome's figures, pooled and by replicate, and the draws behind them.

    `pooled` is (figures,), `replicated` (replicates, figures), `grain` (figures,) the least error
    they can have; chances are (1 + replicates,), the pooled one first; `bad` of `count` draws had
    no value and `infinite` an infinite one; `everything` counts rare events too. `uneven` is the
    skewness of the mean square deviation of one replicate.
    """

    name: str
    attributes: Mapping[str, str]
    pooled: FloatArray
    replicated: FloatArray
    bad: int
    count: int
    everything: int
    landed: FloatArray
    landed_with_events: FloatArray
    grain: FloatArray | float = 0.0
    infinite: int = 0
    uneven: float = 0.0


@dataclass(frozen=True)
class Chances:
    """Chances over all targets and of a rare event, each (1 + replicates,), pooled first.

    `usual` and `everything` are the draws they are taken from, without and with rare events.
    """

    joint: FloatArray
    joint_with_events: FloatArray
    event: FloatArray
    usual: int
    everything: int


def shares(flags: Flags, among: Flags) -> FloatArray:
    """Return the share of set flags among some (replicates, rows): pooled, then each replicate."""
    return share_of((flags & among).sum(axis=1), among.sum(axis=1))


def share_of(counts: Places, sizes: Places) -> FloatArray:
    """Return counts over sizes, (replicates,): pooled, then each replicate; nan for none."""
    top = np.concatenate([[counts.sum()], counts]).astype(float)
    bottom = np.concatenate([[sizes.sum()], sizes]).astype(float)
    return np.divide(top, bottom, out=np.full(len(top), np.nan), where=bottom > 0)


def grain(values: FloatArray, shares: Sequence[float], replicates: int) -> FloatArray:
    """Return the least sampling error, half of a 95 % interval, of quantiles of pooled replicates.

    Where one factor decides, every replicate of well-spread points has one point in each stretch
    of probability 1/rows. The pooled quantile is then an order statistic of as many points as
    there are replicates, uniform over such a stretch, and the replicates' own quantiles scatter
    less than it does. 95 % of it lies within 3/8 of the stretch.
    """
    reach = _GRAIN * replicates / values.size
    ends = [np.clip(np.asarray(shares) + side * reach, 0, 1) for side in (-1, 1)]
    with np.errstate(invalid="ignore"):
        below, above = np.quantile(values, ends)
        return np.asarray(above - below) / 2


def on_scale(values: FloatArray, scale: str) -> FloatArray:
    """Return values on the scale an outcome is judged on; what has no logarithm is not finite."""
    if scale == "linear":
        return values
    with np.errstate(all="ignore"):
        return np.log2(values) if scale == "log2" else np.log(values)


_LEAST_SQUARE = 1e-280
"""Below it mean squares lose digits, and then all of them."""
BEYOND_SQUARES = (
    "{}: values this large or small have no squares a computer can add up, so no variance; give "
    "the outcome another unit"
)


def with_square(differ: Flags, mean_square: FloatArray) -> FloatArray:
    """Return mean squares, nan where values differ but their squares leave the floating range."""
    kept = np.isfinite(mean_square) & (mean_square > _LEAST_SQUARE)
    return np.where(differ & ~kept, np.nan, mean_square)


def unevenness(values: FloatArray, weights: FloatArray, replicates: int) -> float:
    """Return how skew the mean square deviation of one replicate is, from values (n,) and counts.

    A t interval over replicates takes them for normal; by the central limit theorem their skewness
    is that of a square deviation over the root of the replicate's draws.
    """
    rows = float(weights.sum()) / replicates
    centre = np.average(values, weights=weights)
    with np.errstate(over="ignore"):
        square = (values - centre) ** 2
        level = np.average(square, weights=weights)
    if not (np.isfinite(level) and level > 0):
        return 0.0
    apart = square / level - 1
    spread = np.average(apart**2, weights=weights)
    if spread <= 0:
        return 0.0
    return float(np.average(apart**3, weights=weights) / spread**1.5 / math.sqrt(rows))


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
        with np.errstate(invalid="ignore", over="ignore"):
            errors = np.maximum(half_width(outcome.replicated), outcome.grain) * _widening(outcome)
        beyond = _beyond(outcome)
        for place, figure in enumerate(FIGURES):
            hidden = refused and figure in {"low", "high"}
            hidden |= beyond and figure == "standard_uncertainty"
            value, error = float(outcome.pooled[place]), float(errors[place])
            columns.setdefault(figure, []).append(np.nan if hidden else value)
            columns.setdefault(f"{figure}_error", []).append(np.nan if hidden or beyond else error)
        for name, chance, draws in (
            ("in_target", outcome.landed, outcome.count),
            ("in_target_with_events", outcome.landed_with_events, outcome.everything),
        ):
            columns.setdefault(name, []).append(float(chance[0]))
            columns.setdefault(f"{name}_error", []).append(chance_error(chance[1:], draws))
        columns.setdefault("bad_draws", []).append(outcome.bad)
        columns.setdefault("infinite_draws", []).append(outcome.infinite)
    named = {key: ("outcome", [o.attributes[key] for o in outcomes]) for key in _DESCRIBED}
    return xr.Dataset(
        {name: ("outcome", np.array(column)) for name, column in columns.items()},
        coords={"outcome": [o.name for o in outcomes], **named},
        attrs={
            **attributes,
            "coverage": coverage,
            "notes": _notes(outcomes, coverage, attributes),
            **_joint(chances),
        },
    )


def _beyond(outcome: Outcome) -> bool:
    """Tell whether an outcome's squares are too large or too small to be added up."""
    spread, low, high = (float(outcome.pooled[place]) for place in (2, 3, 4))
    return low < high and (math.isinf(spread) or spread**2 <= _LEAST_SQUARE)


def _widening(outcome: Outcome) -> FloatArray:
    """Return the factor on each figure's error: a t interval is too narrow for skew replicates."""
    ranked = {"estimate"} if outcome.attributes["scale"] != "linear" else set()
    shares = [0.0 if figure in ranked else _WIDER.get(figure, 0.0) for figure in FIGURES]
    return 1 + np.array(shares) * max(outcome.uneven, 0.0)


_DESCRIBED = ("unit", "label", "scale")


def _joint(chances: Chances) -> dict[str, float]:
    named = (
        ("joint_in_target", chances.joint, chances.usual),
        ("joint_in_target_with_events", chances.joint_with_events, chances.everything),
        ("event_chance", chances.event, chances.everything),
    )
    found = {}
    for name, chance, draws in named:
        found[name] = float(chance[0])
        found[f"{name}_error"] = chance_error(chance[1:], draws)
    if "event_chance" in found and not chances.usual < chances.everything:
        found["event_chance_error"] = float(half_width(chances.event[1:]))
    return found


def _notes(outcomes: Sequence[Outcome], coverage: float, attributes: Mapping[str, object]) -> str:
    notes = _few_draws(outcomes, (1 - coverage) / 2)
    endless = json.loads(str(attributes.get("no_variance", "[]")))
    if endless:
        notes.append(
            f"{', '.join(endless)}: without a variance, so an estimate and a standard uncertainty "
            "that rest on it never settle; take the median and the interval's ends"
        )
    for outcome in outcomes:
        notes += _notes_on(outcome)
    return json.dumps(notes)


def _notes_on(outcome: Outcome) -> list[str]:
    if outcome.bad > MOST_BAD * outcome.count:
        gone = f"{outcome.bad} of {outcome.count} draws have no value"
        return [f"{outcome.name}: {gone}, so no interval is given"]
    notes = []
    if outcome.infinite:
        notes.append(
            f"{outcome.name}: {outcome.infinite} of {outcome.count} draws are infinite; they count "
            "in the interval's ends and are left out of estimate and standard uncertainty"
        )
    if _beyond(outcome):
        notes.append(BEYOND_SQUARES.format(outcome.name))
    elif np.isnan(outcome.pooled[2]):
        notes.append(f"{outcome.name}: values at or below 0 have no spread on a log scale")
    elif outcome.uneven > max(_UNEVEN, _SKEW / math.sqrt(outcome.count / len(outcome.replicated))):
        linear = outcome.attributes["scale"] == "linear"
        notes.append(
            f"{outcome.name}: a few far draws carry its standard uncertainty: take it as rough"
            f"{_LOG_SCALE if linear and outcome.pooled[3] > 0 else ''}"
        )
    return notes


_LOG_SCALE = '; judged on a log scale (scales={...: "log"}) it would settle'


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
