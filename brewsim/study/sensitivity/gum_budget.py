"""The first-order uncertainty budget of the GUM, and whether Monte Carlo bears it out.

Sources: JCGM 100:2008 (GUM), clauses 5 and G.4 (Welch-Satterthwaite); JCGM 101:2008, clause 8
(validation of the first-order interval to so many digits).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri, stdtrit

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.tabulated import StudentT
from brewsim.errors import StudyError
from brewsim.graph.evaluate import evaluate
from brewsim.study.model.factor import Factor
from brewsim.study.model.html_table import html_table
from brewsim.study.model.latents import latents
from brewsim.study.model.outcome_rows import OutcomeRow, asked_graph, outcome_rows
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Assembly, without_events
from brewsim.study.propagation.coverage import check_share
from brewsim.study.sensitivity.budget_validation import (
    DIGITS,
    SETTLED,
    MonteCarloEnds,
    monte_carlo_ends,
    tolerance,
)
from brewsim.study.sensitivity.permutation_paths import correlated_blocks, score_moments

_STEP = 1e-3
_NODES = 32


@dataclass(frozen=True)
class BudgetRow:
    """One input: its value, standard uncertainty and degrees of freedom, and what it contributes.

    `sensitivity` is the outcome's slope in it, `contribution` its size times the uncertainty.
    """

    factor: str
    label: str
    estimate: float
    standard_uncertainty: float
    degrees: float
    sensitivity: float
    contribution: float


@dataclass(frozen=True)
class GumBudget:
    """First-order budget of an outcome beside Monte Carlo.

    `digits` is the number of significant digits of the standard uncertainty to which both ends
    agree within half a unit (2, 1 or 0); `tolerance` is that half unit for 2 digits. `settled`
    says whether the Monte Carlo ends are known well enough for that judgement.
    """

    outcome: str
    coverage: float
    rows: tuple[BudgetRow, ...]
    estimate: float
    standard_uncertainty: float
    degrees: float
    factor: float
    low: float
    high: float
    monte_carlo_estimate: float
    monte_carlo_uncertainty: float
    monte_carlo_low: float
    monte_carlo_high: float
    monte_carlo_error: float
    tolerance: float
    digits: int
    settled: bool

    @property
    def expanded(self) -> float:
        """Expanded uncertainty: coverage factor times combined standard uncertainty."""
        return self.factor * self.standard_uncertainty

    def _repr_html_(self) -> str:
        """Return a table for notebooks: the budget's rows, the largest contribution first."""
        ranked = sorted(self.rows, key=lambda row: -abs(row.contribution))
        rows = [(row.label, f"{row.sensitivity:.4g}", f"{row.contribution:.4g}") for row in ranked]
        caption = f"{self.outcome}: {self.estimate:.6g} ± {self.expanded:.2g}. {self.sentence}"
        return html_table(caption, ("input", "sensitivity", "contribution"), rows)

    @property
    def sentence(self) -> str:
        """Say whether the first-order interval may be used."""
        if not self.settled:
            return "Monte Carlo is not settled: more draws are needed to judge the first order."
        if not self.digits:
            return "The first-order interval is not borne out by Monte Carlo: do not use it."
        many = "1 digit" if self.digits == 1 else f"{self.digits} digits"
        return f"The first-order interval agrees with Monte Carlo to {many}."


def gum_budget(
    problem: Problem,
    coverage: float = 0.95,
    *,
    degrees: Mapping[str, float] | None = None,
    seed: int = 1,
) -> tuple[GumBudget, ...]:
    """Return the first-order budget of every outcome, validated by Monte Carlo.

    Sensitivities are central differences at the inputs' means; correlations are those of the
    inputs themselves. An input of a scaled t counts with its scale and degrees of freedom, as
    the GUM has it for repeated readings; `degrees` states others by factor id. Inputs that are
    correlated count together with the fewest degrees of any of them (the GUM has no rule; an
    assumption on the safe side). Rare events are held at not happening.
    Raises StudyError for an input without a mean or a variance.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> (found,) = gum_budget(Problem.of([total], {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}))
    >>> round(found.standard_uncertainty, 3), found.digits
    (0.5, 2)
    """
    check_share("coverage", coverage)
    usual = without_events(problem)
    rows = outcome_rows(usual)
    stated = dict(degrees or {})
    for name in stated:
        usual.factor(name)
    means, spreads, free = _inputs(usual, stated)
    slopes, middle = _slopes(usual, rows, means, spreads)
    together = _covariance(usual, spreads)
    ends = monte_carlo_ends(usual, rows, coverage, seed)
    found = []
    for place, row in enumerate(rows):
        slope = slopes[place]
        contribution = np.abs(slope) * spreads
        combined = math.sqrt(max(float(slope @ together @ slope), 0.0))
        effective = _effective(slope, together, free)
        factor = _factor(effective, coverage)
        lines = tuple(
            BudgetRow(f.id, f.label, *map(float, numbers))
            for f, *numbers in zip(
                usual.factors, means, spreads, free, slope, contribution, strict=True
            )
        )
        figures = (float(middle[place]), combined, effective, factor)
        found.append(_judged(row.id, coverage, lines, figures, ends))
    return tuple(found)


def _effective(slope: FloatArray, together: FloatArray, free: FloatArray) -> float:
    """Return the effective degrees of freedom, each correlated block as one component."""
    fourth, spread = 0.0, np.sqrt(np.diag(together))
    spread = np.where(spread > 0, spread, 1.0)
    for block in correlated_blocks(together / np.outer(spread, spread)):
        places = list(block)
        own = float(slope[places] @ together[np.ix_(places, places)] @ slope[places])
        counted = [free[i] for i in places if slope[i] != 0]
        fourth += max(own, 0.0) ** 2 / min(counted, default=math.inf)
    combined = max(float(slope @ together @ slope), 0.0)
    return combined**2 / fourth if fourth > 0 else math.inf


def _factor(degrees: float, coverage: float) -> float:
    if math.isinf(degrees):
        return float(ndtri((1 + coverage) / 2))
    return float(stdtrit(degrees, (1 + coverage) / 2))


def _inputs(problem: Problem, stated: Mapping[str, float]) -> tuple[FloatArray, ...]:
    """Return every factor's mean, standard uncertainty and degrees of freedom."""
    table = [_moments(factor, factor.distribution) for factor in problem.factors]
    for factor, (mean, spread, _) in zip(problem.factors, table, strict=True):
        if not (math.isfinite(mean) and math.isfinite(spread)):
            raise StudyError(f"{factor.id} has no mean or no variance, so it has no GUM budget")
    columns = np.array(table, dtype=float).reshape(-1, 3).T
    columns[2] = [stated.get(f.id, own) for f, own in zip(problem.factors, columns[2], strict=True)]
    return columns[0], columns[1], columns[2]


def _moments(factor: Factor, distribution: Distribution) -> tuple[float, float, float]:
    if isinstance(distribution, StudentT):
        return distribution.location, distribution.scale, distribution.degrees
    return factor.distribution.mean, factor.distribution.standard_deviation, math.inf


def _slopes(
    problem: Problem, rows: tuple[OutcomeRow, ...], means: FloatArray, spreads: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the slopes of outcomes in factors (outcomes, factors), and outcomes at the means."""
    count = len(means)
    step = np.where(spreads > 0, _STEP * spreads, 0.0)
    table = means[:, None] + np.concatenate(
        [np.zeros((count, 1)), np.diag(step), -np.diag(step)], axis=1
    )
    graph = asked_graph(problem, rows)
    values = evaluate(graph, Assembly(problem, set(graph.inputs)).placed(table))
    found = np.stack([np.broadcast_to(row.of(values), (2 * count + 1,)) for row in rows])
    rise = found[:, 1 : count + 1] - found[:, count + 1 :]
    slopes = np.divide(rise, 2 * step, out=np.zeros_like(rise), where=step > 0)
    return slopes, found[:, 0]


def _covariance(problem: Problem, spreads: FloatArray) -> FloatArray:
    """Return the inputs' covariance; of normal scores the correlation, of values what follows."""
    _, scores = score_moments(latents(problem))
    scale = np.sqrt(np.maximum(np.diag(scores), 1e-300))
    correlation = scores / np.outer(scale, scale)
    together = np.diag(spreads**2)
    for i, j in zip(*np.nonzero(np.triu(np.abs(correlation) > 1e-12, 1)), strict=True):
        one, other = problem.factors[i].distribution, problem.factors[j].distribution
        shared = _pearson(one, other, float(correlation[i, j])) * spreads[i] * spreads[j]
        together[i, j] = together[j, i] = shared
    return together


def _pearson(one: Distribution, other: Distribution, rho: float) -> float:
    """Return the correlation of two values whose scores have that of rho (Gauss-Hermite)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    first = one.from_score(nodes)[:, None]
    second = other.from_score(rho * nodes[:, None] + math.sqrt(max(1 - rho**2, 0.0)) * nodes)
    share = np.outer(weights, weights)
    apart = (first - (weights * first.T).sum()) * (second - (share * second).sum())
    spread = math.sqrt(float((weights * (first[:, 0] - (weights * first.T).sum()) ** 2).sum()))
    wide = math.sqrt(float((share * (second - (share * second).sum()) ** 2).sum()))
    return float((share * apart).sum()) / (spread * wide)


def _judged(
    outcome: str,
    coverage: float,
    rows: tuple[BudgetRow, ...],
    figures: tuple[float, float, float, float],
    ends: MonteCarloEnds,
) -> GumBudget:
    estimate, combined, degrees, factor = figures
    mean, spread, low, high, error = ends.table[outcome]
    own_low, own_high = estimate - factor * combined, estimate + factor * combined
    apart = max(abs(own_low - low), abs(own_high - high))
    agreed = (n for n in DIGITS if apart <= tolerance(spread, n))
    wanted = tolerance(spread, DIGITS[0])
    digits = next(agreed, 0)
    near = min(abs(apart - tolerance(spread, n)) for n in DIGITS)
    return GumBudget(
        outcome=outcome,
        coverage=coverage,
        rows=rows,
        estimate=estimate,
        standard_uncertainty=combined,
        degrees=degrees,
        factor=factor,
        low=own_low,
        high=own_high,
        monte_carlo_estimate=mean,
        monte_carlo_uncertainty=spread,
        monte_carlo_low=low,
        monte_carlo_high=high,
        monte_carlo_error=error,
        tolerance=wanted,
        digits=digits,
        settled=error <= max(wanted / SETTLED, near),
    )
