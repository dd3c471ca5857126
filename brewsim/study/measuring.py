"""What measuring a factor before the brew is worth: less variance, a better chance of landing."""

from collections.abc import Mapping, Sequence
from importlib.metadata import version

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.evaluate import run
from brewsim.study.effects import Fits, evppi, rank_of, tied_factors
from brewsim.study.latents import Latents, latents
from brewsim.study.problem import Problem
from brewsim.study.replicates import half_width
from brewsim.study.sampling import Assembly, Plan, Points, blocks, rows_for, without_events
from brewsim.study.simulate import describe
from brewsim.study.summary import lands, on_scale

MEASURABLE_KINDS = frozenset({"knowledge", "lot"})
"""What varies from brew to brew cannot be measured away beforehand."""


def value_of_measuring(
    problem: Problem,
    settings: Sequence[Mapping[str, float | str]] = (),
    draws: int = 16_384,
    seed: int = 1,
) -> xr.Dataset:
    """Return what knowing each factor's true value and lot exactly would bring.

    `variance_removed` (outcome, factor), with 95 % intervals: the share of an outcome's variance
    that goes, batch scatter staying; `chance_gained` (factor): how much the best chance of
    landing every target over the decisions in `settings` (knob ids to values) would rise.
    Without settings or targets it is 0, for then nothing is decided. Raises StudyError.
    """
    usual = without_events(problem)
    found = latents(usual, by_kind=True)
    plan = Plan(rows=rows_for(draws), seed=seed)
    if settings and not usual.targets:
        raise StudyError("what to decide for: the problem has no target")
    tasks = [_Judged(usual, usual.outcomes), *(_Judged(usual.set(s), ()) for s in settings)]
    scores, results = _drawn(found, plan, tasks)
    outcomes = tasks[0].outcomes
    fits = Fits(rank_of(scores), tied_factors(found), plan.replicates).of(results[0])
    shares = np.array([fit.shares for fit in fits])
    half = np.array([half_width(fit.shares[1:]) for fit in fits])
    landed = np.array([result[0] for result in results[1:]])
    gained = evppi(scores, landed) if len(landed) else np.zeros(len(scores))
    dims = ("outcome", "factor")
    return xr.Dataset(
        {
            "variance_removed": (dims, shares[:, 0]),
            "variance_removed_low": (dims, shares[:, 0] - half),
            "variance_removed_high": (dims, shares[:, 0] + half),
            "chance_gained": ("factor", gained),
        },
        coords={
            "outcome": list(outcomes),
            "scale": ("outcome", [describe(usual, n)["scale"] for n in outcomes]),
            "factor": [f.id for f in usual.factors],
            "label": ("factor", [f.label for f in usual.factors]),
            "measurable": ("factor", [f.measurable for f in usual.factors]),
        },
        attrs={
            "name": problem.name,
            "version": version("brewsim"),
            "seed": seed,
            "draws": plan.draws,
            "best_chance": float(landed.mean(axis=1).max()) if len(landed) else float("nan"),
        },
    )


class _Judged:
    """A problem evaluated for its outcomes, or, without any, for landing every target."""

    def __init__(self, problem: Problem, outcomes: Sequence[str]) -> None:
        self.outcomes = [n for n in dict.fromkeys(outcomes) if not problem.graph.axes(n)]
        self._problem = problem
        self._graph = problem.graph.pruned(self.outcomes or problem.targets)
        self.assembly = Assembly(problem, set(self._graph.inputs))

    def result(self, rows: list[FloatArray]) -> FloatArray:
        """Return outcomes on their scales, (outcomes, n), or whether all targets are met (1, n)."""
        size = len(rows[0])
        values = run(self._graph.nodes.values(), self.assembly.values(rows))
        if self.outcomes:
            scales = self._problem.scales
            wide = [on_scale(values[n], scales.get(n, "linear")) for n in self.outcomes]
        else:
            inside = [lands(values[n], t) for n, t in self._problem.targets.items()]
            wide = [np.logical_and.reduce([np.broadcast_to(x, (size,)) for x in inside]) * 1.0]
        return np.stack([np.broadcast_to(x, (size,)) for x in wide])


def _drawn(
    found: Latents, plan: Plan, tasks: Sequence[_Judged]
) -> tuple[FloatArray, list[FloatArray]]:
    """Return the measurable scores (factors, n) and each task's results, on the same draws."""
    scores: list[FloatArray] = []
    results: list[list[FloatArray]] = [[] for _ in tasks]
    for replicate in range(plan.replicates):
        points = Points(len(found.ids), plan, replicate)
        for begin, end in blocks(0, plan.rows):
            normals = points.scores(end - begin)
            rows = found.rows(normals, replicate)
            scores.append(
                np.array(
                    [found.part(normals, replicate, i, MEASURABLE_KINDS) for i in range(len(rows))]
                )
            )
            for task, own in zip(tasks, results, strict=True):
                own.append(task.result(rows))
    return np.concatenate(scores, axis=1), [np.concatenate(own, axis=1) for own in results]
