"""Which further reading would tell more: linear estimates on posterior draws.

Two next brews that share what is not known and named lots, and nothing else, are drawn from what
was learned. What one of them has in common with a reading of the other is what that reading
teaches; how they differ is what returns with every brew.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtr

from brewsim.dims import FloatArray
from brewsim.graph.evaluate import evaluate
from brewsim.study.inference.correlated_latents import completed
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, Reading, latent_names
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Assembly
from brewsim.study.model.scatter import SCATTER

_NEXT = "next"
_COPIES = 8


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken: of what, by what, how well (natural log where `log`)."""

    quantity: str
    instrument: str
    noise: float
    bias: float = 0.0
    log: bool = False

    def signal(self, values: FloatArray) -> FloatArray:
        """Return the values on the scale the instrument errs on; nan where they have none there."""
        if not self.log:
            return values
        there = values > 0
        return np.where(there, np.log(np.where(there, values, 1.0)), np.nan)

    @property
    def variance(self) -> float:
        """Variance of one reading around the truth."""
        return self.noise**2 + self.bias**2


@dataclass(frozen=True)
class Gain:
    """A reading, and the share of a spread (a standard deviation) it would leave."""

    candidate: Candidate
    left: float


@dataclass(frozen=True)
class Spread:
    """A read quantity's scatter over the batches, beside what was expected of it (own scale).

    `known` is the spread of what is not known, `brew` from brew to brew, `reading` of one reading.
    `chance` is the chance of so odd a scatter if brew and reading are right.
    """

    quantity: str
    count: int
    observed: float
    known: float
    brew: float
    reading: float
    chance: float

    @property
    def expected(self) -> float:
        """What the batches should scatter by."""
        return float(np.hypot(self.brew, self.reading))


def two_brews(
    learned: Learned, problem: Problem, quantities: Sequence[str], seed: int = 1
) -> dict[str, FloatArray]:
    """Return quantity -> (2, n): two next brews with the same knowledge and named lots."""
    rng = np.random.default_rng(seed)
    size = len(learned.replicate) * _COPIES
    known = {name: np.tile(drawn, _COPIES) for name, drawn in learned.draws.items()}
    whole = completed(problem, _NEXT, _lasting(problem, known), rng, size)
    shared = _lasting(problem, {**known, **whole})
    pair = [_scores(problem, _NEXT, completed(problem, _NEXT, shared, rng, size)) for _ in range(2)]
    made = [_evaluated(problem, scores, quantities) for scores in pair]
    return {name: np.stack([one[name] for one in made]) for name in quantities}


def in_batch(
    learned: Learned, batch: Batch, quantities: Sequence[str], seed: int = 1
) -> dict[str, FloatArray]:
    """Return quantity -> (draws,): what a logged batch was really like, given all readings."""
    rng = np.random.default_rng(seed)
    size = len(learned.replicate)
    whole = completed(batch.problem, batch, learned.draws, rng, size)
    scores = _scores(batch.problem, batch, whole)
    return _evaluated(batch.problem, scores, quantities)


def _lasting(problem: Problem, drawn: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Return, of the latents drawn for the next batch, those that every next batch shares."""
    names = {
        name
        for factor in problem.factors
        for kind, name in latent_names(factor, _NEXT).items()
        if kind == "knowledge" or (kind == "lot" and factor.lot)
    }
    names |= {name for name in drawn if name.endswith(SCATTER)}
    return {name: drawn[name] for name in sorted(names & drawn.keys())}


def _scores(problem: Problem, batch: str | Batch, drawn: Mapping[str, FloatArray]) -> FloatArray:
    """Return every factor's score from a batch's latents, (factors, n)."""
    rows = []
    for factor in problem.factors:
        names = latent_names(factor, batch)
        parts = [np.sqrt(share) * drawn[names[kind]] for kind, share in factor.kinds.items()]
        rows.append(np.sum(parts, axis=0))
    return np.array(rows)


def _evaluated(
    problem: Problem, scores: FloatArray, quantities: Sequence[str]
) -> dict[str, FloatArray]:
    graph = problem.graph.pruned(quantities)
    values = evaluate(graph, Assembly(problem, graph.inputs).values(scores))
    size = scores.shape[1]
    return {
        name: np.broadcast_to(values[name].reshape(-1, values[name].shape[-1])[0], (size,))
        for name in quantities
    }


def separating(
    contrast: FloatArray, values: Mapping[str, FloatArray], candidates: Sequence[Candidate]
) -> Gain | None:
    """Return the reading that tells two causes apart best: least spread of their difference."""
    gains = [Gain(c, _left(contrast, c.signal(values[c.quantity]), c)) for c in candidates]
    return min(gains, key=lambda gain: gain.left, default=None)


def teaching(
    outcome: FloatArray, values: Mapping[str, FloatArray], candidates: Sequence[Candidate]
) -> Gain | None:
    """Return the reading of one brew that narrows the next brew's outcome most.

    `outcome` and `values` hold two brews each, as from `two_brews`.
    """
    gains = [Gain(c, _left(outcome[1], c.signal(values[c.quantity][0]), c)) for c in candidates]
    return min(gains, key=lambda gain: gain.left, default=None)


def _left(wanted: FloatArray, signal: FloatArray, candidate: Candidate) -> float:
    good = np.isfinite(signal) & np.isfinite(wanted)
    if good.mean() < 0.99 or not wanted[good].std() > 0:
        return 1.0
    both = np.cov(wanted[good], signal[good])
    seen = both[1, 1] + candidate.variance
    explained = both[0, 1] ** 2 / (seen * both[0, 0]) if seen > 0 else 0.0
    return float(np.sqrt(max(0.0, 1.0 - explained)))


def spreads(learned: Learned, problem: Problem, seed: int = 1) -> tuple[Spread, ...]:
    """Return observed against expected scatter of what was read in 3 batches or more."""
    read: dict[tuple[str, str], list[Reading]] = {}
    for batch in learned.batches:
        for reading in batch.readings:
            if reading.known is None and not reading.trials and reading.row is None:
                read.setdefault((reading.quantity, reading.instrument), []).append(reading)
    wanted = {key: rows for key, rows in read.items() if len(rows) >= 3 and key[0] in problem.graph}
    brews = two_brews(learned, problem, sorted({q for q, _ in wanted}), seed)
    return tuple(_spread(q, rows, brews[q]) for (q, _), rows in wanted.items())


def _spread(quantity: str, rows: Sequence[Reading], pair: FloatArray) -> Spread:
    log = rows[0].scale == "log"
    values = np.array([r.value for r in rows])
    values, pair = (np.log(values), np.log(pair)) if log else (values, pair)
    observed = float(values.std(ddof=1))
    brew = float(np.sqrt(np.mean((pair[0] - pair[1]) ** 2) / 2))
    known = float(np.sqrt(max(0.0, np.cov(pair)[0, 1])))
    noise = float(np.mean([r.noise for r in rows]))
    free = len(rows) - 1
    below = float(chdtr(free, free * observed**2 / (brew**2 + noise**2)))
    middle = float(np.exp(values.mean())) if log else 1.0
    return Spread(
        quantity,
        len(rows),
        observed * middle,
        known * middle,
        brew * middle,
        noise * middle,
        2 * min(below, 1 - below),
    )
