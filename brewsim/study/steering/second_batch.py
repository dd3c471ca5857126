"""One tasted batch against another: what the recipe change explains, what ordinary scatter does.

The change of an outcome is that of the settings plus that of the brew: the mean over the two
orders in which both can be exchanged, exact in every draw. What is left over shows in how rare the
second batch's answers were, by a learning without them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.predictive_check import OddAnswer, expected_answer
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.steering.relative_draws import next_view, own_view
from brewsim.study.steering.relative_steering import Ends

ODD = 0.1
"""A chance below this asks for another cause; above it scatter is cause enough."""
_ROWS = 1024


@dataclass(frozen=True)
class SecondBatch:
    """How a batch differs from an earlier one in an outcome, in folds: 5, 50 and 95 %.

    `change` is `settings` times `brew`, draw by draw; `ordinary` is what two brews of the same
    recipe differ by, `chance` that of such a pair to differ as much as the brew part's mean does.
    `answers` are those about the second batch, beside what was expected before they were given.
    """

    first: str
    second: str
    outcome: str
    change: Ends
    settings: Ends
    brew: Ends
    ordinary: Ends
    chance: float
    answers: tuple[OddAnswer, ...] = ()

    @property
    def odd(self) -> bool:
        """Whether ordinary scatter is hardly enough."""
        return self.chance < ODD


def compare_batches(
    learned: Learned, first: Batch, second: Batch, outcome: str, *, seed: int = 1
) -> SecondBatch:
    """Split the change of an outcome from one batch to another into settings and brew.

    Args:
        learned: draws from what is known of both.
        first: the earlier batch.
        second: the later one.
        outcome: an amount above 0, one value per batch.
        seed: of the draws.
    """
    plan = Plan(rows=_ROWS, seed=seed)
    views = {b.id: own_view(learned, b) for b in (first, second)}
    mixed = {
        (s.id, z.id): replace(s.problem, learned=views[z.id])
        for s in (first, second)
        for z in (first, second)
    }
    usual = replace(first.problem, learned=next_view(learned, first, first.problem))
    draws = CommonDraws([*mixed.values(), usual], plan, by_kind=True, fresh=frozenset({"batch"}))

    def logged(problem: Problem, *, again: bool) -> FloatArray:
        with np.errstate(all="ignore"):
            return np.log2(Evaluator(problem, draws, (outcome,), again=again).at()[outcome])

    f = {key: logged(problem, again=key[1] == second.id) for key, problem in mixed.items()}
    one, two = first.id, second.id
    change = f[two, two] - f[one, one]
    settings = 0.5 * (f[two, one] - f[one, one] + f[two, two] - f[one, two])
    brew = change - settings
    ordinary = logged(usual, again=False) - logged(usual, again=True)
    known, usually = (x[np.isfinite(x)] for x in (brew, ordinary))
    told = len(known) and len(usually)
    chance = float(np.mean(np.abs(usually) >= abs(float(known.mean())))) if told else 1.0
    parts = [_folds(x) for x in (change, settings, brew, ordinary)]
    return SecondBatch(one, two, outcome, parts[0], parts[1], parts[2], parts[3], chance)


def _folds(doublings: FloatArray) -> Ends:
    known = doublings[np.isfinite(doublings)]
    if not len(known):
        return Ends(np.nan, np.nan, np.nan)
    return Ends(*(float(2.0**v) for v in np.quantile(known, [0.05, 0.5, 0.95])))


def answers_beforehand(
    batches: Sequence[Batch],
    second: str,
    *,
    seed: int = 1,
    time_limit_s: float = 5.0,
    own_scatter: bool = False,
) -> tuple[OddAnswer, ...]:
    """Return the answers about a batch with what was expected of them before they were given.

    Learns from everything else first, with a scatter of their own where `own_scatter`. Nothing is
    returned where what is uncertain is correlated, or where nothing else was known.
    """
    told = [a for b in batches for a in b.answers if any(i == second for i, _ in a.cups)]
    others = [
        replace(b, answers=tuple(a for a in b.answers if all(i != second for i, _ in a.cups)))
        for b in batches
    ]
    tied = any(batch.problem.correlations for batch in batches)
    if not told or tied or not any(b.answers or b.readings for b in others):
        return ()
    before = update(
        batches[0].problem, others, seed=seed, time_limit_s=time_limit_s, own_scatter=own_scatter
    )
    model = Model(batches, own_scatter=own_scatter)
    rng = np.random.default_rng(seed)
    size = len(before.replicate)
    state = np.stack([before.draws.get(name, rng.standard_normal(size)) for name in model.names])
    return tuple(
        expected_answer(answer, ys, scores)
        for answer, ys, scores in model.tasted(model.predicted(state))
        if any(i == second for i, _ in answer.cups)
    )
