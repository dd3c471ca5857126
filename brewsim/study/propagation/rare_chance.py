"""The chance of what hardly ever happens, down to 1e-6 and below, with an error that holds."""

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from scipy.special import stdtrit

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.latents import Latents, latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import NONE_SEEN, Progress, over_replicates
from brewsim.study.model.sampling import Assembly, Plan, Points
from brewsim.study.model.targets import Target
from brewsim.study.propagation.subset_simulation import Descent, descend
from brewsim.study.propagation.tail_proposal import Proposal, Weighted, fitted

REPLICATES = 8
_ROWS, _STAGES = 512, 3
_SPARE = 1.5
_APART = 5.4
_FEW_DRAWS = 0.05
_LEAST_PARTICLES = 64


@dataclass(frozen=True)
class RareChance:
    """A chance and its 95 % sampling interval, from `evaluations` runs of the model.

    `first_look` is the estimate of subset simulation alone, with its own interval; the chance
    itself comes from weighted draws (importance sampling). `largest` is the share of it that one
    draw carries. `scores` says how it comes about: the mean normal score of every factor among
    what is beyond. `no_value` counts plain and last weighted draws without a value, which count as
    within. What makes it doubtful is said in `remarks`; it is `trusted` if there are none.
    """

    chance: float
    low: float
    high: float
    evaluations: int
    first_look: float
    first_look_low: float
    first_look_high: float
    largest: float
    scores: Mapping[str, float]
    no_value: int
    seed: int
    remarks: tuple[str, ...] = ()

    @property
    def trusted(self) -> bool:
        """Whether nothing speaks against the interval."""
        return not self.remarks


def rare_chance(
    problem: Problem,
    limits: Mapping[str, Target] | None = None,
    *,
    precision: float = 0.1,
    particles: int = 1024,
    most: int = 2**17,
    least: float = 1e-15,
    seed: int = 1,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> RareChance:
    """Return the chance that an outcome is beyond its limits, or any of several.

    Without `limits` it is the chance of missing the problem's targets. Rare events count. Eight
    runs of subset simulation with so many `particles` find what lies beyond; then eight scrambles
    of weighted draws around it give the chance, as many draws as a relative half width of
    `precision` takes, `most` at most. The interval is a t interval of their logarithm. Where both
    ways disagree the interval holds both and a remark says so. Where nothing beyond is found, or
    only below `least`, the chance is 0 and `high` bounds it. Raises StudyError.

    >>> from brewsim import Problem, Target, normal
    >>> def total(a, b):
    ...     return a + b
    >>> problem = Problem.of([total], {"a": normal(0.0, 3.0), "b": normal(0.0, 4.0)})
    >>> found = rare_chance(problem, {"total": Target(upper=23.7672)})  # 4.753 deviations: 1e-6
    >>> round(found.chance * 1e6, 1)
    1.0
    """
    limits = problem.targets if limits is None else limits
    fine = 0 < precision < 1 and 0 <= least < 1
    if not fine or particles < _LEAST_PARTICLES or most < REPLICATES * _ROWS:
        raise StudyError(
            f"precision lies between 0 and 1, as least does; particles are {_LEAST_PARTICLES} or "
            f"more, most is {REPLICATES * _ROWS} or more; not {precision}, {least}, {particles} "
            f"and {most}"
        )
    plan = Plan(REPLICATES, _ROWS, seed)
    excess = _excess(problem, limits, plan)
    looks = over_replicates(
        partial(_look, excess, particles, plan, least),
        REPLICATES,
        rows=0,
        executor=executor,
        progress=progress,
        text="first look",
        span=(0.0, 0.7),
    )
    used = sum(look.evaluations for look in looks) + excess.spent
    if not any(look.arrived for look in looks):
        return _nothing(looks, least, particles, used, seed)
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(REPLICATES, 3)))
    beyond: Weighted = [
        (look.beyond, np.full(look.beyond.shape[1], look.chance / look.beyond.shape[1]))
        for look in looks
        if look.arrived
    ]
    for stage in range(1, _STAGES + 1):
        proposal = fitted(beyond if len(beyond) > 1 else [*beyond, *beyond], rng)
        parts = over_replicates(
            partial(_weighted, excess, proposal, plan, stage),
            REPLICATES,
            rows=plan.rows,
            executor=executor,
        )
        used += plan.draws
        if progress is not None:
            progress(0.7 + 0.1 * stage, "weighted draws")
        hits = [(part.scores, part.weights) for part in parts if part.weights.size]
        if not hits:
            why = "weighted draws found nothing beyond the limit"
            return _nothing(looks, least, particles, used, seed, why)
        beyond = hits
        if stage == _STAGES - 1:
            needed = _SPARE * (_relative(parts) / precision) ** 2
            doublings = int(np.clip(np.ceil(np.log2(max(needed, 1.0))), 0, 30))
            rows = min(_ROWS << doublings, 1 << (most // REPLICATES).bit_length() - 1)
            plan = replace(plan, rows=rows)
    return _told(excess, looks, parts, used, seed)


@dataclass(frozen=True)
class _Excess:
    """How far outcomes are beyond their limits, from coordinates; above 0 is beyond."""

    problem: Problem
    latents: Latents
    assembly: Assembly
    limits: Mapping[str, tuple[float, float]]
    units: Mapping[str, float]
    spent: int = 0

    @cached_property
    def graph(self) -> Graph:
        """What the limited outcomes are computed from."""
        return self.problem.graph.pruned(tuple(self.limits))

    def __call__(self, normals: FloatArray, replicate: int) -> tuple[FloatArray, int]:
        """Return the excess (n,), and how many draws have no value."""
        size = normals.shape[1]
        rows = self.latents.rows(normals, replicate, self.assembly.active)
        values = evaluate(self.graph, self.assembly.values(rows))
        beyond, lost = np.full(size, -np.inf), np.zeros(size, dtype=bool)
        for name, (low, high) in self.limits.items():
            value = np.broadcast_to(values[name].astype(float, copy=False), (size,))
            lost |= np.isnan(value)
            for over in (value - high, low - value):
                beyond = np.fmax(beyond, over / self.units[name])
        return beyond, int(lost.sum())


def _excess(problem: Problem, limits: Mapping[str, Target], plan: Plan) -> _Excess:
    if not limits:
        raise StudyError("there is no limit to go beyond: state limits, or targets of the problem")
    problem.require(limits)
    for name, limit in limits.items():
        if problem.graph.axes(name):
            raise StudyError(f"{name} is a list; a limit needs one value per batch")
        if not isinstance(limit, Target):
            raise StudyError(f"{name}: a limit is Target(lower, upper), not {limit!r}")
        if limit.lower is None and limit.upper is None:
            raise StudyError(f"{name}: state a lower or an upper limit")
    ends = {name: limit.ends for name, limit in limits.items()}
    graph = problem.graph.pruned(tuple(limits))
    found = latents(problem)
    assembly = Assembly(problem, set(graph.inputs))
    units = dict.fromkeys(limits, 1.0)
    if len(limits) > 1:
        normals = Points(len(found.ids), plan, REPLICATES).scores(plan.rows)
        values = evaluate(graph, assembly.values(found.rows(normals, 0, assembly.active)))
        for name in limits:
            spread = float(np.subtract(*np.nanquantile(values[name], [0.84, 0.16])) / 2)
            units[name] = spread if np.isfinite(spread) and spread > 0 else 1.0
    return _Excess(problem, found, assembly, ends, units, plan.rows if len(limits) > 1 else 0)


def _look(excess: _Excess, particles: int, plan: Plan, least: float, replicate: int) -> Descent:
    source = np.random.SeedSequence(plan.seed, spawn_key=(replicate, 4))
    rng = np.random.default_rng(source)
    size = len(excess.latents.ids)
    return descend(lambda normals: excess(normals, replicate)[0], size, particles, rng, least)


@dataclass(frozen=True)
class _Part:
    """One replicate's weighted draws: its chance and what lies beyond."""

    chance: float
    scores: FloatArray
    weights: FloatArray
    factors: FloatArray
    no_value: int


def _weighted(excess: _Excess, proposal: Proposal, plan: Plan, stage: int, replicate: int) -> _Part:
    points = Points(proposal.coordinates, plan, replicate + REPLICATES * stage)
    scores, log_weights = proposal.drawn(points.uniforms(plan.rows).T)
    reached, lost = excess(scores, replicate)
    beyond = reached > 0
    weights = np.exp(log_weights[beyond])
    kept = scores[:, beyond]
    rows = excess.latents.rows(kept, replicate, excess.assembly.active)
    factors = np.array([rows[i] @ weights for i in excess.assembly.active])
    return _Part(float(weights.sum() / plan.rows), kept, weights, factors, lost)


def _relative(parts: list[_Part]) -> float:
    """Return the relative half width of the mean over replicates."""
    chances = np.array([part.chance for part in parts])
    quantile = float(stdtrit(len(chances) - 1, 0.975))
    return float(quantile * chances.std(ddof=1) / np.sqrt(len(chances)) / chances.mean())


def _first_look(looks: list[Descent]) -> tuple[float, float, float]:
    """Return the mean over descents, and an interval of its logarithm."""
    chances = np.array([look.chance if look.arrived else 0.0 for look in looks])
    found = float(chances.mean())
    width = float(_APART * chances.std(ddof=1) / np.sqrt(len(chances)) / found)
    return found, found * np.exp(-width), found * np.exp(width)


def _told(
    excess: _Excess, looks: list[Descent], parts: list[_Part], used: int, seed: int
) -> RareChance:
    chance, width = float(np.mean([part.chance for part in parts])), _relative(parts)
    low, high = chance * np.exp(-width), chance * np.exp(width)
    first, first_low, first_high = _first_look(looks)
    weights = np.concatenate([part.weights for part in parts])
    largest = float(weights.max() / weights.sum())
    remarks = []
    if not first_low <= high or not low <= first_high:
        remarks.append(
            f"two ways disagree: weighted draws give {chance:.2g}, subset simulation {first:.2g}; "
            "take more particles"
        )
        low, high = min(low, first_low), max(high, first_high)
    if largest > _FEW_DRAWS:
        remarks.append(f"one draw carries {largest:.0%} of the chance: its error is rough")
    lost = sum(part.no_value for part in parts) + sum(look.no_value for look in looks)
    if lost:
        remarks.append(f"{lost} draws have no value and count as within the limits")
    factors = np.sum([part.factors for part in parts], axis=0) / weights.sum()
    names = [excess.problem.factors[i].id for i in excess.assembly.active]
    return RareChance(
        chance=chance,
        low=float(low),
        high=float(min(high, 1.0)),
        evaluations=used,
        first_look=first,
        first_look_low=first_low,
        first_look_high=first_high,
        largest=largest,
        scores=dict(zip(names, map(float, factors), strict=True)),
        no_value=lost,
        seed=seed,
        remarks=tuple(remarks),
    )


def _nothing(
    looks: list[Descent],
    least: float,
    particles: int,
    used: int,
    seed: int,
    why: str = "nothing beyond the limit was found",
) -> RareChance:
    arrived = any(look.arrived for look in looks)
    last = float(np.mean([look.chance for look in looks]))
    most = last if arrived or last < least else last * NONE_SEEN / particles
    return RareChance(0.0, 0.0, most, used, 0.0, 0.0, most, 0.0, {}, 0, seed, (why,))
