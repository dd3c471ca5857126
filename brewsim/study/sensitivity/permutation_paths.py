"""Walks from knowing no factor to knowing all; normal conditionals inside correlated blocks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph, Node
from brewsim.graph.evaluate import Values, evaluate, run
from brewsim.study.model.correlation import lower_root
from brewsim.study.model.latents import Latents
from brewsim.study.model.outcome_rows import OutcomeRow
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Flags, product_sum
from brewsim.study.model.sampling import Assembly, Plan, Points
from brewsim.study.propagation.figures import on_scale
from brewsim.study.sensitivity.far_draws import lumps

LARGEST_ENUMERATED = 4
"""Blocks up to this size have every order of their members used equally often."""


@dataclass(frozen=True)
class WalkTask:
    """Everything a worker needs for the walks of any replicate."""

    problem: Problem
    graph: Graph
    assembly: Assembly
    outcomes: tuple[OutcomeRow, ...]
    scales: tuple[str, ...]
    mean: FloatArray
    covariance: FloatArray
    blocks: tuple[tuple[int, ...], ...]
    turns: int


@dataclass(frozen=True)
class WalkSums:
    """Covariances with the outcome, (factors, outcomes), and rows left out, (outcomes,).

    `lumps` tell how the outcomes' squares are spread (far_draws.py).
    """

    parts: FloatArray
    left_out: FloatArray
    lumps: FloatArray


def score_moments(found: Latents) -> tuple[FloatArray, FloatArray]:
    """Return mean (factors,) and covariance (factors, factors) of the factors' scores."""
    count = len(found.terms)
    weights = np.zeros((count, len(found.ids)))
    mean, drawn = np.zeros(count), {}
    for i, terms in enumerate(found.terms):
        for place, weight in terms:
            weights[i, place] = weight * float(found.weight(i, place, None))
        part = found.drawn[i]
        if part is not None:
            mean[i], drawn[i] = part.mean(), part
    covariance = weights @ weights.T
    if drawn:
        places = list(drawn)
        covariance[np.ix_(places, places)] += np.atleast_2d(np.cov(np.array(list(drawn.values()))))
    return mean, covariance


def correlated_blocks(covariance: FloatArray) -> list[tuple[int, ...]]:
    """Return the sets of factors that are independent of all factors outside, each sorted."""
    left, blocks = set(range(len(covariance))), []
    while left:
        block, new = set(), {min(left)}
        while new:
            block |= new
            reached = np.flatnonzero(np.abs(covariance[sorted(new)]).max(axis=0) > 1e-12)
            new = set(reached.tolist()) - block
        blocks.append(tuple(sorted(block)))
        left -= block
    return blocks


def replicate_shares(task: WalkTask, plan: Plan, replicate: int) -> WalkSums:
    """Return the sums of one replicate's walks."""
    walk = Walk(task, plan, replicate)
    with np.errstate(all="ignore"):
        good = np.ones(walk.known.shape, dtype=bool)
        sums = walk.sums(good)
        if np.isfinite(sums.parts).all():
            return sums
        return walk.sums(walk.good())


class Walk:
    """One replicate's rows, walked from knowing nothing to knowing every factor."""

    def __init__(self, task: WalkTask, plan: Plan, replicate: int) -> None:
        count = len(task.mean)
        normals = Points(2 * count, plan, replicate).scores(plan.rows)
        self.task, self._replicate, self._seed = task, replicate, plan.seed
        self._reach: dict[tuple[str, ...], tuple[tuple[Node, ...], tuple[int, ...]]] = {}
        self._new = normals[count:]
        self._truth = np.empty((count, plan.rows))
        for block in task.blocks:
            places = list(block)
            lower = lower_root(task.covariance[np.ix_(places, places)])
            self._truth[places] = task.mean[places, None] + lower @ normals[places]
        values = evaluate(task.graph, self._inputs(self._truth))
        self.known = self._outcomes(values)

    def _inputs(self, scores: FloatArray) -> dict[str, FloatArray]:
        return self.task.assembly.values(scores)

    def _outcomes(self, values: Values) -> FloatArray:
        size = self._truth.shape[1]
        pairs = zip(self.task.outcomes, self.task.scales, strict=True)
        return np.stack(
            [np.broadcast_to(on_scale(asked.of(values), s), (size,)) for asked, s in pairs]
        )

    def orders(self) -> Iterator[list[int]]:
        """Yield the orders in which factors get known, each followed by its reverse."""
        source = np.random.SeedSequence(self._seed, spawn_key=(self._replicate, 1))
        generator = np.random.default_rng(source)
        members = [i for block in self.task.blocks for i in block]
        half = {b: _half_of_orders(b) for b in self.task.blocks if len(b) <= LARGEST_ENUMERATED}
        for turn in range(self.task.turns):
            order = generator.permutation(members).tolist()
            for block, choices in half.items():
                where = sorted(order.index(i) for i in block)
                for place, member in zip(where, choices[turn % len(choices)], strict=True):
                    order[place] = member
            yield order
            yield order[::-1]

    def steps(self, order: Sequence[int]) -> Iterator[tuple[int, int, FloatArray, FloatArray]]:
        """Yield (factor, outcome, before, after) for each outcome that may move."""
        inner = {block: [i for i in order if i in block] for block in self.task.blocks}
        home = {i: block for block in self.task.blocks for i in block}
        factors = {block: self._factored(members) for block, members in inner.items()}
        scores = np.empty_like(self._truth)
        for block, members in inner.items():
            scores[members] = self._mixed(members, *factors[block], 0)
        values = evaluate(self.task.graph, self._inputs(scores))
        outcomes = list(self._outcomes(values))
        for factor in order:
            members = inner[home[factor]]
            known = members.index(factor)
            scores[members] = self._mixed(members, *factors[home[factor]], known + 1)
            new = self._new_inputs(values, scores, members[known:])
            nodes, places = self._reached(tuple(sorted(new)))
            values = run(nodes, {**values, **new})
            for place in places:
                after = on_scale(self.task.outcomes[place].of(values), self.task.scales[place])
                yield factor, place, outcomes[place], after
                outcomes[place] = after

    def _reached(self, changed: tuple[str, ...]) -> tuple[tuple[Node, ...], tuple[int, ...]]:
        if changed not in self._reach:
            nodes = self.task.graph.downstream(changed)
            new = {*changed, *(node.name for node in nodes)}
            places = tuple(i for i, asked in enumerate(self.task.outcomes) if asked.quantity in new)
            self._reach[changed] = nodes, places
        return self._reach[changed]

    def _factored(self, members: list[int]) -> tuple[FloatArray, FloatArray]:
        covariance = self.task.covariance[np.ix_(members, members)]
        lower = lower_root(covariance)
        centred = self._truth[members] - self.task.mean[members, None]
        if np.diag(lower).all():
            return lower, np.asarray(np.linalg.solve(lower, centred), dtype=np.float64)
        return lower, np.linalg.pinv(lower) @ centred

    def _mixed(
        self, members: list[int], lower: FloatArray, truth: FloatArray, known: int
    ) -> FloatArray:
        """Return scores with the first `known` members as they are, the others drawn anew."""
        mixed = np.concatenate([truth[:known], self._new[members[known:]]])
        scores: FloatArray = self.task.mean[members, None] + lower @ mixed
        return scores

    def _new_inputs(
        self, values: Values, scores: FloatArray, changed: list[int]
    ) -> dict[str, FloatArray]:
        new: dict[str, FloatArray] = {}
        for i in changed:
            factor = self.task.problem.factors[i]
            if factor.quantity not in self.task.graph.inputs:
                continue
            value = factor.distribution.from_score(scores[i])
            if not self.task.graph.axes(factor.quantity):
                new[factor.quantity] = value
                continue
            table = new.setdefault(factor.quantity, values[factor.quantity].copy())
            table[slice(None) if factor.row is None else factor.row] = value
        return new

    def good(self) -> Flags:
        """Return the rows whose outcomes are finite all along every walk."""
        good = np.isfinite(self.known)
        for order in self.orders():
            for _, place, before, after in self.steps(order):
                good[place] &= np.isfinite(before) & np.isfinite(after)
        return good

    def sums(self, good: Flags) -> WalkSums:
        """Return the mean over orders of each factor's covariance with the outcome."""
        rows = good.sum(axis=1)
        known = np.where(good, self.known, 0.0)
        centre = known.sum(axis=1) / np.maximum(rows, 1)
        centred = np.where(good, self.known - centre[:, None], 0.0)
        parts = np.zeros((len(self.task.mean), len(known)))
        everything = bool(good.all())
        for order in self.orders():
            for factor, place, before, after in self.steps(order):
                step = after - before if everything else np.where(good[place], after - before, 0)
                parts[factor, place] += product_sum(centred[place], step)
        parts /= 2 * self.task.turns * np.maximum(rows, 1)
        return WalkSums(parts, good.shape[1] - rows.astype(float), lumps(self.known))


def _half_of_orders(block: tuple[int, ...]) -> list[tuple[int, ...]]:
    return [order for order in permutations(block) if order <= order[::-1]]
