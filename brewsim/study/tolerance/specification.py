"""Specs: limits the process can keep, for the next brew, for one brewery, and in the long run.

What to tighten is in `tightening`, what to measure in `worth`, a log's own limits in `observed`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.latents import latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Assembly, Plan, scores
from brewsim.study.model.targets import Target, lands
from brewsim.study.propagation.coverage import check_share, coverage_interval
from brewsim.study.propagation.figures import MOST_BAD, grain
from brewsim.study.propagation.sweep import quantiles
from brewsim.study.tolerance.tolerance import summarise_log

SCOPES = {
    "next brew": frozenset[str](),
    "new lots, same brewery": frozenset({"knowledge"}),
    "same lots, same brewery": frozenset({"knowledge", "lot"}),
}
_INTERVALS: tuple[tuple[Literal["symmetric", "shortest"], str], ...] = (
    ("symmetric", ""),
    ("shortest", "shortest_"),
)


def specify(
    problem: Problem,
    *,
    content: float = 0.95,
    confidence: float = 0.9,
    log: Mapping[str, FloatArray] | None = None,
    draws: int = 32_768,
    seed: int = 1,
) -> xr.Dataset:
    """Return realistic limits of every outcome for three questions.

    Dims (outcome, scope): `low`, `high` (symmetric), `shortest_low`, `shortest_high`, with
    `<name>_error` half widths (the ends of a shortest interval settle slowly, with the cube root
    of the draws: take theirs as up to half as wide again); scopes are the next brew (everything
    uncertain), brews of this brewery over new lots, and over the same lots (knowledge, and lots,
    at their middle).
    Over (outcome,): `long_run_low`, `long_run_high`: limits that hold a `content` share of a
    brewery's own brews for a `confidence` share of what is not known; each end is put by itself,
    so that where a brewery's own scatter outweighs what is not known they hold for more than that
    share. Where more than 1 % of the draws have no value, a limit is nan; fewer are left out.
    With a `log` (outcome -> measured values) also `log_count`, `log_mean`, `log_low` and
    `log_high`: what the log alone holds, by the exact two-sided factor for the same content and
    confidence; nan below 2 values.
    Raises StudyError for shares outside 0 to 1 and for a log of what is no outcome.

    `content` and `confidence` are between 0 and 1; limits are in each outcome's unit, from `draws`
    draws of one `seed`.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> specify(problem, draws=4096)["low"].dims
    ('outcome', 'scope')
    """
    check_share("content", content)
    check_share("confidence", confidence)
    plan = Plan.of(draws, seed)
    names = tuple(dict.fromkeys((*problem.outcomes, *problem.targets)))
    for name in log or {}:
        if name not in names:
            raise StudyError(f"the log has {name}, which is no outcome.{did_you_mean(name, names)}")
    figures: dict[str, list[list[float]]] = {}
    for held in SCOPES.values():
        values = Evaluator(problem, CommonDraws([problem], plan, by_kind=True, held=held), names)
        for key, column in _limits(values.at(), plan, content).items():
            figures.setdefault(key, []).append(column)
    long_run = long_run_limits(problem, names, content=content, confidence=confidence, seed=seed)
    return xr.Dataset(
        {key: (("outcome", "scope"), np.array(c).T) for key, c in figures.items()}
        | {
            "long_run_low": (("outcome",), long_run[0]),
            "long_run_high": (("outcome",), long_run[1]),
        }
        | _log_limits(problem, names, log or {}, (content, confidence)),
        coords={"outcome": list(names), "scope": list(SCOPES)},
        attrs={"content": content, "confidence": confidence, "draws": plan.draws, "seed": seed},
    )


def _log_limits(
    problem: Problem,
    names: Sequence[str],
    log: Mapping[str, FloatArray],
    asked: tuple[float, float],
) -> dict[str, tuple[tuple[str, ...], FloatArray]]:
    if not log:
        return {}
    table = np.full((4, len(names)), np.nan)
    for place, name in enumerate(names):
        values = np.asarray(log.get(name, ()), dtype=float)
        count = int(np.isfinite(values).sum())
        table[0, place] = count
        if count >= 2:
            logged = problem.scales.get(name, "linear") != "linear"
            found = summarise_log(values, content=asked[0], confidence=asked[1], logged=logged)
            table[1:, place] = found.mean, found.tolerance_low, found.tolerance_high
    keys = ("log_count", "log_mean", "log_low", "log_high")
    return {key: (("outcome",), row) for key, row in zip(keys, table, strict=True)}


def _limits(values: Mapping[str, FloatArray], plan: Plan, content: float) -> dict[str, list[float]]:
    columns: dict[str, list[float]] = {}
    ends = [(1 - content) / 2, (1 + content) / 2]
    for y in values.values():
        known = y[np.isfinite(y)]
        least = grain(known, ends, plan.replicates) if known.size else np.zeros(2)
        for kind, prefix in _INTERVALS:
            pooled = _interval(y, content, kind)
            replicates = y.reshape(plan.replicates, plan.rows)
            parts = np.array([_interval(part, content, kind) for part in replicates])
            for side, name in enumerate(("low", "high")):
                columns.setdefault(prefix + name, []).append(pooled[side])
                error = float(half_width(parts[:, side]))
                if kind == "symmetric" and np.isfinite(error):
                    error = max(error, float(least[side]))
                columns.setdefault(f"{prefix}{name}_error", []).append(error)
    return columns


def _interval(
    y: FloatArray, content: float, kind: Literal["symmetric", "shortest"]
) -> tuple[float, float]:
    """Return the interval of the draws that have a value; nan where more than 1 % have none."""
    known = y[np.isfinite(y)]
    if y.size - known.size > MOST_BAD * y.size:
        return np.nan, np.nan
    return coverage_interval(known, content, kind=kind)


def long_run_limits(
    problem: Problem,
    names: Sequence[str],
    *,
    content: float,
    confidence: float,
    seed: int = 1,
    outer: int = 256,
    inner: int = 512,
) -> tuple[FloatArray, FloatArray]:
    """Return limits holding `content` of the brews for `confidence` of what is not known.

    A nested run: for each of `outer` draws of the knowledge, the inner quantiles over `inner`
    brews with new lots; then quantiles of those over the knowledge. Two arrays (outcomes,); nan
    where more than 1 % of the brews have no value.
    """
    tail, rest = (1 - content) / 2, (1 - confidence) / 2
    ends, bad = [], np.zeros(len(names))
    for table in _nested(problem, names, seed, outer, inner):
        bad += np.count_nonzero(~np.isfinite(table), axis=(1, 2))
        by_state = quantiles(table.reshape(-1, inner), np.array([tail, 1 - tail]))
        ends.append(by_state.reshape(2, len(names), -1))
    low, high = np.concatenate(ends, axis=2)
    refused = bad > MOST_BAD * outer * inner
    low_end, high_end = (
        np.where(refused, np.nan, quantiles(side, np.array([share]))[0])
        for side, share in ((low, rest), (high, 1 - rest))
    )
    return low_end, high_end


def _nested(
    problem: Problem, names: Sequence[str], seed: int, outer: int, inner: int
) -> Iterator[FloatArray]:
    """Yield (names, some states of what is not known, inner brews with new lots)."""
    found = latents(problem, by_kind=True)
    known = [i for i, kind in enumerate(found.kinds) if kind == "knowledge"]
    inside = [i for i, kind in enumerate(found.kinds) if kind != "knowledge"]
    outside = scores([found.ids[i] for i in known], Plan(2, outer, seed), 0)
    brews = scores([found.ids[i] for i in inside], Plan(2, inner, seed + 1), 0)
    graph = problem.graph.pruned(names)
    assembly = Assembly(problem, graph.inputs)
    for part in np.array_split(np.arange(outer), 16):
        normals = np.empty((len(found.ids), len(part) * inner))
        normals[known] = np.repeat(outside[:, part], inner, axis=1)
        normals[inside] = np.tile(brews, len(part))
        values = evaluate(graph, assembly.values(found.rows(normals, 0)))
        yield np.stack(
            [
                np.broadcast_to(values[n], (normals.shape[1],)).reshape(len(part), inner)
                for n in names
            ]
        )


@dataclass(frozen=True)
class InARow:
    """Chances over brews of one brewery in a row: all inside the target, and none of them."""

    brews: int
    all_inside: float
    none_inside: float


def in_a_row(
    problem: Problem,
    outcome: str,
    target: Target,
    *,
    brews: int = 6,
    seed: int = 1,
    outer: int = 512,
    inner: int = 256,
) -> InARow:
    """Return how often several brews in a row all land, or all miss.

    What is not known about a brewery is the same in every one of its brews; lots and brews are
    drawn anew. Independent brews would give powers of the single chance; these are more.
    """
    shares = np.concatenate(
        [
            lands(table[0], target).mean(axis=1)
            for table in _nested(problem, [outcome], seed, outer, inner)
        ]
    )
    return InARow(brews, float(np.mean(shares**brews)), float(np.mean((1 - shares) ** brews)))
