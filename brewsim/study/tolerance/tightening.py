"""What to tighten: re-runs on common draws with the score of a factor shrunk (z -> s z).

Around the median and downstream only, so that skewed factors and nonlinear models need no linear
formula.
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.graph.evaluate import evaluate, reevaluate
from brewsim.study.model.common_random_numbers import CommonDraws, lands
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Assembly, Plan
from brewsim.study.model.targets import Target

TIGHTENED = frozenset({"lot", "batch"})
_LEAST_SCALE = 0.0


@dataclass(frozen=True)
class Tightening:
    """One factor (or pair) shrunk: what its spread becomes and what the outcome gains.

    `scale` is the share of the normal score that is left (1: as now); `spread_now` and
    `spread_then` are nine-in-ten ranges of the factor itself; `best` is what a perfect factor
    would reach.
    """

    factors: tuple[str, ...]
    label: str
    reaches: bool
    scale: float
    spread_now: tuple[float, float]
    spread_then: tuple[float, float]
    now: float
    best: float


class Tightener:
    """Re-runs one outcome of a problem with the scores of some factors shrunk."""

    def __init__(
        self,
        problem: Problem,
        outcome: str,
        *,
        kinds: frozenset[str] = TIGHTENED,
        draws: int = 32_768,
        seed: int = 1,
    ) -> None:
        self.problem, self.outcome, self.kinds = problem, outcome, kinds
        self.plan = Plan.of(draws, seed)
        self.names = tuple(dict.fromkeys((outcome, *problem.targets)))
        self.graph = problem.graph.pruned(self.names)
        self._place = {f.id: i for i, f in enumerate(problem.factors)}
        self._rows = CommonDraws([problem], self.plan, by_kind=True).factor_rows(problem)
        held = CommonDraws([problem], self.plan, by_kind=True, held=kinds).factor_rows(problem)
        self._shrinkable = [full - rest for full, rest in zip(self._rows, held, strict=True)]
        inputs = Assembly(problem, self.graph.inputs).values(self._rows)
        self._base = evaluate(self.graph, inputs)
        reach = problem.graph.upstream([outcome])
        self.candidates = tuple(
            f
            for f in problem.factors
            if f.quantity in reach
            and not f.event
            and any(kind in kinds for kind, _ in f.kinds.items())
        )

    def values(self, scale: float, *factors: Factor) -> dict[str, FloatArray]:
        """Return outcome and targets -> (draws,) with the factors' scores shrunk to `scale`."""
        rows = list(self._rows)
        for factor in factors:
            place = self._place[factor.id]
            rows[place] = rows[place] - (1 - scale) * self._shrinkable[place]
        changed = {f.quantity for f in factors}
        inputs = Assembly(self.problem, changed).values(rows)
        result = reevaluate(self.graph, self._base, inputs)
        size = self.plan.draws
        return {name: np.broadcast_to(result[name], (size,)) for name in self.names}

    def uncertainty(self, scale: float, *factors: Factor) -> float:
        """Standard uncertainty of the outcome (of its log2 where it is felt in folds)."""
        y = self.values(scale, *factors)[self.outcome]
        if self.problem.scales.get(self.outcome, "linear") != "linear":
            y = np.log2(y)
        return float(np.nanstd(y))

    def chance(self, scale: float, *factors: Factor) -> float:
        """Chance that the outcome keeps to its own target."""
        target = self.problem.targets[self.outcome]
        y = self.values(scale, *factors)[self.outcome]
        one = {self.outcome: y}
        return float(lands(one, _with_target(self.problem, self.outcome, target)).mean())


def _with_target(problem: Problem, outcome: str, target: Target) -> Problem:
    return replace(problem, targets={outcome: target})


def tighten(
    problem: Problem,
    outcome: str,
    *,
    uncertainty: float | None = None,
    chance: float | None = None,
    kinds: frozenset[str] = TIGHTENED,
    among: Collection[str] = (),
    pairs: int = 4,
    draws: int = 32_768,
    seed: int = 1,
) -> tuple[Tightening, ...]:
    """Return how far each factor must be tightened for a wanted uncertainty or chance.

    Give either a wanted standard `uncertainty` of the outcome or a wanted `chance` of its target.
    Factors that cannot reach it alone say the best they can do; the most promising of those are
    tried in `pairs`. Only the kinds named are shrunk: lots and batches for what a brewer can
    tighten, knowledge and lots for what a measurement would take away. `among` are the ids of
    the factors to try; empty for all.

    `outcome` is its name; `draws` of one `seed` are common to all trials. Raises
    StudyError.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> tightest = tighten(problem, "total", uncertainty=0.4, kinds=frozenset({"knowledge"}))[0]
    >>> (tightest.label, tightest.reaches)
    ('b', True)
    """
    if (uncertainty is None) == (chance is None):
        raise StudyError("state one thing to reach: an uncertainty or a chance")
    if chance is not None and outcome not in problem.targets:
        raise StudyError(f"{outcome} has no target, so there is no chance to reach")
    tightener = Tightener(problem, outcome, kinds=kinds, draws=draws, seed=seed)
    tried = [f for f in tightener.candidates if not among or f.id in among]

    def short(scale: float, *factors: Factor) -> float:
        """Above zero while the wish is not met."""
        if uncertainty is not None:
            return tightener.uncertainty(scale, *factors) - uncertainty
        return float(chance or 0.0) - tightener.chance(scale, *factors)

    def figure(scale: float, *factors: Factor) -> float:
        if uncertainty is not None:
            return tightener.uncertainty(scale, *factors)
        return tightener.chance(scale, *factors)

    singles = [_tightening(short, figure, tightener, (f,)) for f in tried]
    order = sorted(singles, key=lambda t: _rank(t, uncertainty is not None))
    short_of_it = [t for t in order if not t.reaches][: pairs + 1]
    duos = [
        _tightening(short, figure, tightener, (problem.factor(a), problem.factor(b)))
        for i, (a,) in enumerate([t.factors for t in short_of_it])
        for (b,) in [t.factors for t in short_of_it[i + 1 :]]
    ][: pairs * 2]
    return (*order, *(d for d in duos if d.reaches))


def _rank(tightening: Tightening, smaller_is_better: bool) -> tuple[bool, float]:
    gain = tightening.best if smaller_is_better else -tightening.best
    return not tightening.reaches, -tightening.scale if tightening.reaches else gain


def _tightening(
    short: Callable[..., float],
    figure: Callable[..., float],
    tightener: Tightener,
    factors: tuple[Factor, ...],
) -> Tightening:
    now, best = figure(1.0, *factors), figure(_LEAST_SCALE, *factors)
    if short(1.0, *factors) <= 0:
        scale, reaches = 1.0, True
    elif short(_LEAST_SCALE, *factors) > 0:
        scale, reaches = _LEAST_SCALE, False
    else:
        scale = float(brentq(lambda s: short(s, *factors), _LEAST_SCALE, 1.0, xtol=2e-4))
        reaches = True
    first = factors[0]
    return Tightening(
        factors=tuple(f.id for f in factors),
        label=" and ".join(f.label for f in factors),
        reaches=reaches,
        scale=scale,
        spread_now=_range(first, 1.0, tightener.kinds),
        spread_then=_range(first, scale, tightener.kinds),
        now=now,
        best=best,
    )


def _range(factor: Factor, scale: float, kinds: Iterable[str]) -> tuple[float, float]:
    """Nine-in-ten range of the factor when the kinds are shrunk to `scale`."""
    shares = dict(factor.kinds.items())
    left = sum(share * (scale**2 if kind in kinds else 1.0) for kind, share in shares.items())
    z = 1.6448536269514722 * np.sqrt(left)
    ends = factor.distribution.from_score(np.array([-z, z]))
    return float(ends[0]), float(ends[1])
