"""A batch log as a page needs it: learned from, and the wish about a tasted batch answered."""

from brewsim.answers.from_log import FromLog, from_log
from brewsim.answers.log_in_time import in_time
from brewsim.answers.next_beer import NextBeer, next_beer
from brewsim.logbook.brew import Batches
from brewsim.logbook.learning import learned_from
from brewsim.priors import library
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress


def learned_log(
    recipe: Recipe,
    problem: Problem,
    log: Batches,
    priors: library.Priors,
    *,
    seed: int = 1,
    time_limit_s: float | None = None,
    progress: Progress = lambda _done, _text: None,
) -> tuple[FromLog, NextBeer | None]:
    """Learn from a log; with a wish in the recipe and a tasted batch, answer that as well.

    `time_limit_s` is that of `update`.
    """
    if recipe.wish and any(batch.answers for batch in log.batches):
        tasted = next_beer(recipe, problem, log, priors, seed=seed, progress=progress)
        return in_time(from_log(tasted.learned, seed=seed), problem, log, seed=seed), tasted
    last = log.batches[-1].problem
    learned = learned_from(
        last, log.batches, seed=seed, time_limit_s=time_limit_s, progress=progress
    )
    return in_time(from_log(learned, seed=seed), problem, log, seed=seed), None
