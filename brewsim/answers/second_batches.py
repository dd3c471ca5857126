"""Tasted batches one after the other: what the change of recipe explains of each."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from brewsim.logbook.wished import AMOUNTS
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch
from brewsim.study.steering.second_batch import SecondBatch, answers_beforehand, compare_batches


def second_batches(
    learned: Learned, batches: Sequence[Batch], *, seed: int = 1
) -> tuple[SecondBatch, ...]:
    """Return each tasted batch against the tasted one before it, by its thiols.

    Empty where fewer than two batches of the log were tasted.
    """
    cups = {name for batch in batches for answer in batch.answers for name, _ in answer.cups}
    tasted = [batch for batch in batches if batch.id in cups]
    outcome = AMOUNTS["thiols"]
    found = []
    for first, second in pairwise(tasted):
        if outcome in first.problem.graph and outcome in second.problem.graph:
            one = compare_batches(learned, first, second, outcome, seed=seed)
            odd = answers_beforehand(batches, second.id, seed=seed, own_scatter=True)
            found.append(replace(one, answers=odd))
    return tuple(found)
