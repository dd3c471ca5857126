"""A log of batches beside the model: limits from the log alone, and which spread does not fit."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy import optimize, special

from brewsim.dims import FloatArray, Scale
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.model.targets import Target
from brewsim.study.propagation.figures import on_scale
from brewsim.study.tolerance.specification import SCOPES
from brewsim.study.tolerance.tolerance import LogSummary, summarise_log

Verdict = Literal["too wide", "too narrow", "agrees", "between"]
NATURAL = {"linear": 1.0, "log": 1.0, "log2": math.log(2)}
"""Natural logarithms in one unit of a scale."""


@dataclass(frozen=True)
class Observed:
    """One outcome of a log beside what the model expects of it.

    `by_content` holds the summaries for the contents asked; standard deviations are on the
    outcome's own scale (natural logarithms for folds). `same_lots` and `new_lots` are simulated,
    `unknown` the standard uncertainty of the brewery's own middle; `offset` is how many of its
    standard uncertainties the log's mean lies from the expected one. `outside` is the share of
    brews beyond the target that the log alone predicts (Student), `counted` how many were.
    """

    outcome: str
    scale: Scale
    by_content: Mapping[float, LogSummary]
    same_lots: float
    new_lots: float
    unknown: float
    middle: float
    offset: float
    scatter: Verdict
    outside: float
    counted: int

    @property
    def summary(self) -> LogSummary:
        """The summary for the first content asked."""
        return next(iter(self.by_content.values()))


def against_log(
    problem: Problem,
    log: Mapping[str, FloatArray],
    *,
    contents: tuple[float, ...] = (0.95, 0.997),
    confidence: float = 0.95,
    targets: Mapping[str, Target] | None = None,
    draws: int = 16_384,
    seed: int = 1,
) -> tuple[Observed, ...]:
    """Compare logged values (outcome -> values, nan where not measured) with the model.

    Outcomes with fewer than two values are left out. `targets` replace the problem's. The
    scatter of readings is part of what a log shows and of nothing the model expects here.
    Raises StudyError for a quantity that is not an outcome of the problem.
    """
    wanted = {n: v[np.isfinite(v)] for n, v in log.items() if np.isfinite(v).sum() >= 2}
    for name in wanted:
        if name not in problem.graph or problem.graph.axes(name):
            raise StudyError(f"the log has {name}, which is no outcome of {problem.name}")
    if not wanted:
        return ()
    spreads = _simulated(problem, tuple(wanted), Plan.of(draws, seed))
    limits = problem.targets if targets is None else targets
    return tuple(
        _observed(
            name,
            values,
            problem.scales.get(name, "linear"),
            (contents, confidence),
            spreads[name],
            limits.get(name),
        )
        for name, values in wanted.items()
    )


def _simulated(
    problem: Problem, names: tuple[str, ...], plan: Plan
) -> dict[str, tuple[float, dict[str, float]]]:
    """Return the expected middle and the standard deviation by scope, on each one's scale."""
    usual = without_events(problem)
    found: dict[str, tuple[float, dict[str, float]]] = {}
    spreads: dict[str, dict[str, float]] = {name: {} for name in names}
    for scope, held in SCOPES.items():
        values = Evaluator(usual, CommonDraws([usual], plan, by_kind=True, held=held), names).at()
        for name in names:
            scale = problem.scales.get(name, "linear")
            y = on_scale(values[name], scale) * NATURAL[scale]
            y = y[np.isfinite(y)]
            spreads[name][scope] = float(y.std()) if y.size else math.nan
            if not held:
                found[name] = float(y.mean()) if y.size else math.nan, spreads[name]
    return found


def _observed(
    name: str,
    values: FloatArray,
    scale: Scale,
    asked: tuple[tuple[float, ...], float],
    simulated: tuple[float, Mapping[str, float]],
    target: Target | None,
) -> Observed:
    contents, confidence = asked
    logged = scale != "linear"
    if logged and values.min() <= 0:
        raise StudyError(f"{name}: a measured value at or below 0 has no place on a log scale")
    summaries = {
        content: summarise_log(values, content=content, confidence=confidence, logged=logged)
        for content in contents
    }
    first = summaries[contents[0]]
    middle, sd = simulated
    whole, new, same = (sd[scope] for scope in SCOPES)
    unknown = math.sqrt(max(0.0, whole**2 - new**2))
    mean = math.log(first.mean) if logged else first.mean
    error = math.sqrt(unknown**2 + first.standard_deviation**2 / first.count)
    return Observed(
        outcome=name,
        scale=scale,
        by_content=summaries,
        same_lots=same,
        new_lots=new,
        unknown=unknown,
        middle=math.exp(middle) if logged else middle,
        offset=(mean - middle) / error if error > 0 else math.nan,
        scatter=_verdict(first, same, new),
        outside=math.nan if target is None else predicted_outside(first, target, logged=logged),
        counted=0 if target is None else _counted(values, target),
    )


def _verdict(summary: LogSummary, same: float, new: float) -> Verdict:
    """Hold the 95 % interval of the observed standard deviation against the simulated ones."""
    low, high = summary.standard_deviation_low, summary.standard_deviation_high
    if high < same:
        return "too wide"
    if low > new:
        return "too narrow"
    return "agrees" if low <= same <= high or low <= new <= high else "between"


def predicted_outside(summary: LogSummary, target: Target, *, logged: bool = False) -> float:
    """Return the chance that the next batch is outside, from the log alone (Student's t)."""
    mean = math.log(summary.mean) if logged else summary.mean
    error = summary.standard_deviation * math.sqrt(1 + 1 / summary.count)
    degrees = summary.count - 1

    def share(limit: float | None, below: bool) -> float:
        if limit is None or (logged and limit <= 0):
            return 0.0
        place = (math.log(limit) if logged else limit) - mean
        if error == 0:
            return float(place > 0 if below else place < 0)
        return float(special.stdtr(degrees, (place if below else -place) / error))

    return share(target.lower, below=True) + share(target.upper, below=False)


def _counted(values: FloatArray, target: Target) -> int:
    low, high = target.ends
    return int(np.sum((values < low) | (values > high)))


def needed_spread(
    summary: LogSummary, target: Target, chance: float, *, logged: bool = False
) -> float | None:
    """Return the standard deviation that lands `chance` of the batches where the mean is now.

    None if the mean itself is too near a limit, or outside. On the summary's own scale; normal.
    """
    mean = math.log(summary.mean) if logged else summary.mean

    def room(limit: float | None, sign: float) -> float:
        if limit is None or (logged and limit <= 0):
            return math.inf
        return sign * ((math.log(limit) if logged else limit) - mean)

    below, above = room(target.lower, -1.0), room(target.upper, 1.0)
    if min(below, above) <= 0:
        return None

    def short(spread: float) -> float:
        inside = special.ndtr(above / spread) - special.ndtr(-below / spread)
        return float(inside) - chance

    least = min(below, above)
    return float(optimize.brentq(short, 1e-3 * least, 1e3 * least))
