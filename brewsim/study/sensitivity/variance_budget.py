"""Where an outcome's variance comes from, by factor and kind, from draws made once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.factor import KINDS
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.figures import on_scale
from brewsim.study.sensitivity.given_data import ScoreFits


@dataclass(frozen=True)
class Budget:
    """One factor's share of an outcome's variance by kind (its own effect only), summing to 1."""

    factor: str
    label: str
    knowledge: float
    lot: float
    batch: float

    @property
    def total(self) -> float:
        """The whole share of the factor."""
        return self.knowledge + self.lot + self.batch


def variance_budget(
    problem: Problem, outcomes: Sequence[str], *, draws: int = 8192, seed: int = 1
) -> dict[str, tuple[Budget, ...]]:
    """Return what each factor and kind alone contributes to each outcome, largest first.

    What is missing to 1 comes from factors acting on one another. Rare events are left out.

    `outcomes` to `Budget`s, shares without unit, from `draws` draws of one `seed`. Raises
    StudyError for an unknown name.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> round(variance_budget(problem, ["total"])["total"][0].knowledge, 2)
    0.64
    """
    usual = without_events(problem)
    plan = Plan.of(draws, seed)
    common = CommonDraws([usual], plan, by_kind=True)
    values = Evaluator(usual, common, outcomes).at()
    scale = usual.scales
    judged = [on_scale(values[n], scale.get(n, "linear")) for n in outcomes]
    fits = ScoreFits(judged, np.empty((0, plan.draws)), 0.9, seed)
    reach = usual.graph.upstream(outcomes)
    full = common.factor_rows(usual)
    parts: list[FloatArray] = []
    names: list[tuple[int, str]] = []
    for kind in KINDS:
        held = CommonDraws([usual], plan, by_kind=True, held=frozenset({kind})).factor_rows(usual)
        for i, factor in enumerate(usual.factors):
            if factor.quantity in reach and dict(factor.kinds.items()).get(kind):
                parts.append(full[i] - held[i])
                names.append((i, kind))
    kept, _ = fits.of(np.array(parts)) if parts else ([], [])
    found = {}
    for place, outcome in enumerate(outcomes):
        shares: dict[int, dict[str, float]] = {}
        for (i, kind), row in zip(names, kept, strict=True):
            shares.setdefault(i, dict.fromkeys(KINDS, 0.0))[kind] = row[place][0]
        rows = [
            Budget(usual.factors[i].id, usual.factors[i].label, **own) for i, own in shares.items()
        ]
        found[outcome] = tuple(sorted(rows, key=lambda b: -b.total))
    return found
