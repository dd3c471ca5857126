"""How rare it is, first look: subset simulation, level by level down to what is asked."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray

Level = Callable[[FloatArray], FloatArray]
"""Normal scores (dimension, n) -> how far beyond the limit, (n,); above 0 is beyond."""

SHARE = 0.1
_ACCEPTED = 0.44
_FIRST_STEP = 0.6
_MOST_LEVELS = 40
_STUCK = 0.9


@dataclass(frozen=True)
class Descent:
    """What one descent found.

    `chance` is that of the last level reached, which is the limit itself where `arrived`; `beyond`
    are scores there, (dimension, n), that follow the normal law beyond the limit. `no_value` counts
    the first, plain draws without a level (minus infinity).
    """

    chance: float
    arrived: bool
    beyond: FloatArray
    levels: int
    evaluations: int
    no_value: int


def descend(
    level: Level, dimension: int, particles: int, rng: np.random.Generator, least: float = 0.0
) -> Descent:
    """Return one run of subset simulation, ended below a chance of `least`.

    Each level keeps the tenth of the scores that lie furthest, and fills up by Markov chains from
    them: steps that leave the normal law as it is, refused where they fall back below the level.
    Sources: Au & Beck, Probabilistic Engineering Mechanics 16 (2001) 263; the steps and their
    width: Papaioannou, Betz, Zwirglmaier & Straub, Probabilistic Engineering Mechanics 41 (2015)
    89.
    """
    scores = rng.standard_normal((dimension, particles))
    reached = level(scores)
    kept, lost = int(particles * SHARE), int((reached == -np.inf).sum())
    chance, evaluations = 1.0, particles
    for done in range(_MOST_LEVELS):
        edge = float(np.partition(reached, particles - kept)[particles - kept])
        beyond = reached > 0
        if edge > 0:
            chance *= float(beyond.mean())
            return Descent(chance, True, scores[:, beyond], done, evaluations, lost)
        above = reached >= edge
        if edge == -np.inf or above.mean() > _STUCK:
            # as far as it goes: what lies beyond the limit already, or nothing
            found = float(beyond.mean()) if beyond.any() else float(above.mean())
            there = bool(beyond.any())
            return Descent(chance * found, there, scores[:, beyond], done, evaluations, lost)
        chance *= float(above.mean())
        if chance < least:
            return Descent(chance, False, scores[:, :0], done, evaluations, lost)
        chosen = rng.permutation(np.flatnonzero(above))[:kept]
        scores, reached, used = _filled(
            level, scores[:, chosen], reached[chosen], edge, particles, rng
        )
        evaluations += used
    return Descent(chance, False, scores[:, :0], _MOST_LEVELS, evaluations, lost)


def _filled(
    level: Level,
    scores: FloatArray,
    reached: FloatArray,
    edge: float,
    particles: int,
    rng: np.random.Generator,
) -> tuple[FloatArray, FloatArray, int]:
    """Return as many particles above the edge, from chains that start at some of them."""
    spread, width = scores.std(axis=1), _FIRST_STEP
    tables, levels = [scores], [reached]
    steps = -(-particles // scores.shape[1]) - 1
    for step in range(steps):
        moved = np.minimum(1.0, width * spread)[:, None]
        proposed = np.sqrt(1 - moved**2) * scores + moved * rng.standard_normal(scores.shape)
        found = level(proposed)
        accepted = found >= edge
        scores, reached = np.where(accepted, proposed, scores), np.where(accepted, found, reached)
        tables.append(scores)
        levels.append(reached)
        width *= float(np.exp((accepted.mean() - _ACCEPTED) / np.sqrt(step + 1)))
    whole, heights = np.concatenate(tables, axis=1), np.concatenate(levels)
    return whole[:, :particles], heights[:particles], steps * scores.shape[1]
