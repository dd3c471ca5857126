"""Turn a knob: outcome intervals along it, and the bracket in which the targets are met."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings, lands
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import chance_error
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.coverage import check_share
from brewsim.study.propagation.figures import MOST_BAD
from brewsim.study.propagation.paired import paired_change

POINTS = 17
_DOTS = 50
CHANGES = ("change_low", "change", "change_high")
"""What a setting does to a batch in which all else is as today."""
NO_ZERO = ("°C", "°F")
"""Units without a natural zero: a tenth of a temperature means nothing."""


def settings_along(knob: Knob, points: int = POINTS) -> list[float | str]:
    """Return evenly spaced settings over a knob's range, kept to its steps; or its choices."""
    if knob.choices:
        return [choice.label for choice in knob.choices]
    values = np.linspace(knob.low, knob.high, points)
    if knob.step > 0:
        values = np.unique(snap(knob, values))
    return [float(v) for v in values]


def snap(knob: Knob, values: FloatArray) -> FloatArray:
    """Return the nearest settings a knob's steps allow, inside its range."""
    if knob.step <= 0:
        return np.clip(values, knob.low, knob.high)
    steps = np.round((values - knob.low) / knob.step)
    most = np.floor((knob.high - knob.low) / knob.step + 1e-9)
    return knob.low + knob.step * np.clip(steps, 0, most)


def current_setting(problem: Problem, knob: Knob) -> float | str:
    """Return where a knob stands now, in model units, or its current choice."""
    if knob.choices:
        return knob.current or knob.choices[0].label
    return problem.fixed_at(knob.quantity, knob.row)


def turn(
    problem: Problem,
    knob: str,
    *,
    at: Sequence[float | str] | None = None,
    draws: int = 4096,
    seed: int = 1,
    coverage: float = 0.9,
    others: Settings | None = None,
) -> xr.Dataset:
    """Judge the problem at settings along one knob, all on common draws.

    Returns dims (outcome, setting): low, middle, high; `change` with change_low and change_high
    (what each batch differs by from itself at today's setting: a fold for outcomes on a log scale,
    else a difference); in_target (nan without a target), in_target_error, and `without_value`, the
    share of draws that has none (they are left out of the middle; above 1 % of them low and high
    are nan); over (setting,): joint and joint_error; `dots` (outcome, setting, dot); `per_tenth`
    (outcome,): what a tenth more of the knob does to the middle (a tenth of its range for a
    temperature; doublings for outcomes on a log scale; nan for a choice or a knob at zero).
    `others` are settings of other knobs, `at` those of the knob. Coordinates are in model units,
    figures in each outcome's unit. Raises StudyError for a knob that the problem does not have.

    >>> from brewsim import Knob, Problem, normal
    >>> def total(level, dose):
    ...     return level + dose
    >>> dose = Knob("dose", "dose", "dose", low=0.0, high=4.0)
    >>> level = {"level": normal(1.0, 0.2)}
    >>> problem = Problem.of([total], level, fixed={"dose": 0.0}, knobs=(dose,))
    >>> turn(problem, "dose", at=[0.0, 2.0])["middle"].sel(outcome="total").to_numpy().round(1)
    array([1., 3.])
    """
    found = problem.knob(knob)
    plan = Plan.of(draws, seed)
    return _turned(_evaluator(problem, plan), found, plan, coverage, at, others or {})


def turn_all(
    problem: Problem, *, draws: int = 4096, seed: int = 1, coverage: float = 0.9
) -> list[xr.Dataset]:
    """Turn every knob of the problem, each by itself, all on the same draws."""
    plan = Plan.of(draws, seed)
    evaluator = _evaluator(problem, plan)
    return [_turned(evaluator, knob, plan, coverage, None, {}) for knob in problem.knobs]


def _evaluator(problem: Problem, plan: Plan) -> Evaluator:
    outcomes = dict.fromkeys((*problem.outcomes, *problem.targets))
    return Evaluator(problem, CommonDraws([problem], plan), outcomes)


def _turned(
    evaluator: Evaluator,
    knob: Knob,
    plan: Plan,
    coverage: float,
    at: Sequence[float | str] | None,
    others: Settings,
) -> xr.Dataset:
    problem = evaluator.problem
    check_share("coverage", coverage)
    if isinstance(at, str):
        raise StudyError(f"{knob.id}: settings are a list, not {at!r}")
    now = current_setting(problem, knob)
    where = list(at) if at is not None else _with_today(knob, now)
    if not where:
        raise StudyError(f"{knob.id}: no setting to look at")
    today = evaluator.at({**others, knob.id: now})
    columns = [
        column(problem, evaluator.at({**others, knob.id: setting}), plan, coverage, today)
        for setting in where
    ]
    about = {
        "knob": knob.id,
        "label": knob.label,
        "unit": knob.unit,
        "per_shown": knob.per_shown,
        "zero": knob.zero,
        "decimals": knob.decimals,
        "current": now,
    }
    found = along(where, evaluator.outcomes, columns, about)
    change = _per_tenth(evaluator, knob, now)
    per_tenth = [change.get(name, np.nan) for name in evaluator.outcomes]
    return found.assign(per_tenth=(("outcome",), per_tenth))


def _with_today(knob: Knob, now: float | str) -> list[float | str]:
    """Return a knob's settings, and today's where it lies outside of them."""
    where = settings_along(knob)
    outside = not isinstance(now, str) and not knob.low <= now <= knob.high
    return sorted([*where, now], key=float) if outside else where


@dataclass(frozen=True)
class Column:
    """Figures of all outcomes at one setting; `bad` is the share of draws without a value."""

    quantiles: FloatArray
    bad: FloatArray
    dots: FloatArray
    chance: FloatArray
    chance_error: FloatArray
    joint: tuple[float, float]
    change: FloatArray


def column(
    problem: Problem,
    values: Mapping[str, FloatArray],
    plan: Plan,
    coverage: float,
    today: Mapping[str, FloatArray],
) -> Column:
    """Return the interval, dots and chances of outcomes on (draws,) values each.

    `today` are the values of the same draws at today's setting.
    """
    tail = (1 - coverage) / 2
    bad = np.array([1 - np.isfinite(y).mean() for y in values.values()])
    chances = [
        chance_and_error(lands({name: values[name]}, _only(problem, name)), plan)
        if name in problem.targets
        else (np.nan, np.nan)
        for name in values
    ]
    joint = chance_and_error(lands(values, problem), plan) if problem.targets else (np.nan, np.nan)
    shares = np.concatenate([[tail, 0.5, 1 - tail], (np.arange(_DOTS) + 0.5) / _DOTS])
    table = quantiles(np.stack(list(values.values())), shares)
    refused = np.array([[True], [False], [True]]) & (bad > MOST_BAD)
    return Column(
        quantiles=np.where(refused, np.nan, table[:3]),
        bad=bad,
        dots=table[3:],
        chance=np.array([c[0] for c in chances]),
        chance_error=np.array([c[1] for c in chances]),
        joint=joint,
        change=np.array(
            [
                paired_change(today[n], values[n], problem.scales.get(n, "linear"), coverage)
                for n in values
            ]
        ).T,
    )


def quantiles(table: FloatArray, shares: FloatArray) -> FloatArray:
    """Return quantiles (shares, rows) of each row, left straight between draws.

    Draws that are not finite are left out; a row without any gives nan.
    """
    ordered = np.sort(np.where(np.isfinite(table), table, np.nan), axis=1)
    count = np.isfinite(ordered).sum(axis=1)
    place = shares[:, None] * np.maximum(count - 1, 0)
    low = np.floor(place).astype(np.intp)
    high = np.minimum(low + 1, np.maximum(count - 1, 0))
    rows = np.arange(len(table))
    below, above = ordered[rows, low], ordered[rows, high]
    return np.asarray(below + (place - low) * (above - below))


def _only(problem: Problem, name: str) -> Problem:
    return replace(problem, targets={name: problem.targets[name]})


def chance_and_error(landed: FloatArray, plan: Plan) -> tuple[float, float]:
    """Return the share of draws that land (1.0, not 0.0) and half of its 95 % interval."""
    shares = landed.reshape(plan.replicates, plan.rows).mean(axis=1)
    return float(shares.mean()), chance_error(shares, landed.size)


def along(
    where: Sequence[float | str],
    outcomes: Sequence[str],
    columns: Sequence[Column],
    about: Mapping[str, object],
) -> xr.Dataset:
    """Return the figures of every setting side by side; `about` goes to the attributes."""
    table = np.stack([c.quantiles for c in columns], axis=-1)
    per_outcome = ("outcome", "setting")
    return xr.Dataset(
        {
            "low": (per_outcome, table[0]),
            "middle": (per_outcome, table[1]),
            "high": (per_outcome, table[2]),
            **{
                key: (per_outcome, np.stack([c.change[i] for c in columns], axis=-1))
                for i, key in enumerate(CHANGES)
            },
            "in_target": (per_outcome, np.stack([c.chance for c in columns], axis=-1)),
            "in_target_error": (per_outcome, np.stack([c.chance_error for c in columns], axis=-1)),
            "dots": (("dot", *per_outcome), np.stack([c.dots for c in columns], axis=-1)),
            "without_value": (per_outcome, np.stack([c.bad for c in columns], axis=-1)),
            "joint": (("setting",), np.array([c.joint[0] for c in columns])),
            "joint_error": (("setting",), np.array([c.joint[1] for c in columns])),
        },
        coords={"outcome": list(outcomes), "setting": list(where)},
        attrs=dict(about),
    )


def _per_tenth(evaluator: Evaluator, knob: Knob, now: float | str) -> dict[str, float]:
    """Return the change of each outcome's middle when the knob goes up by a tenth.

    A tenth of where it stands, of its range for a temperature. In doublings for outcomes on a log
    scale; empty for a knob that is a choice or stands at zero.
    """
    if isinstance(now, str) or now == 0:
        return {}
    more = 0.1 * (knob.high - knob.low if knob.unit in NO_ZERO else now)
    before, after = evaluator.at(), evaluator.at({knob.id: now + more})
    changes = {}
    for name in evaluator.outcomes:
        was, now_is = before[name], after[name]
        with np.errstate(all="ignore"):
            if evaluator.problem.scales.get(name, "linear") != "linear":
                was, now_is = np.log2(was), np.log2(now_is)
            change = np.where(after[name] == before[name], 0.0, now_is - was)
        changes[name] = float(np.nanmedian(change)) if np.isfinite(change).any() else np.nan
    return changes
