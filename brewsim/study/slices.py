"""Elliptical slice steps for many chains at once, around the prior or a moving linearisation.

Sources: Murray, Adams & MacKay (2010), Elliptical slice sampling, AISTATS; Nishihara, Murray &
Adams (2014), Parallel MCMC with generalized elliptical slice sampling, JMLR 15.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray

LogLikelihood = Callable[[FloatArray], FloatArray]
_MOST_SHRINKS = 200


@dataclass(frozen=True)
class Reference:
    """The Gaussian N(centre, (I + J'J)^-1): the prior, narrowed where the readings speak."""

    centre: FloatArray
    slope: FloatArray

    def draw(self, rng: np.random.Generator, chains: int) -> FloatArray:
        """Return draws around zero, (latents, chains), solving only a readings-sized matrix."""
        count, latents = self.slope.shape
        noise = rng.standard_normal((latents, chains))
        if not count:
            return noise
        inner = self.slope @ self.slope.T + np.eye(count)
        pull = self.slope @ noise + rng.standard_normal((count, chains))
        return noise - self.slope.T @ np.linalg.solve(inner, pull)


def prior_reference(latents: int) -> Reference:
    """Return the reference that is the prior itself."""
    return Reference(np.zeros(latents), np.zeros((0, latents)))


def slice_step(
    log_likelihood: LogLikelihood,
    reference: Reference,
    rng: np.random.Generator,
    state: FloatArray,
    level: FloatArray,
    power: float = 1.0,
) -> tuple[FloatArray, FloatArray]:
    """Move every chain once, leaving prior times likelihood^power unchanged.

    `state` is (latents, chains), `level` its log likelihood; both are returned anew. The ratio of
    target to reference is quadratic along the ellipse, so no reference density is evaluated in
    the loop. The bracket shrinks only for chains still searching.
    """
    chains = state.shape[1]
    centre = reference.centre[:, None]
    offset = state - centre
    fresh = reference.draw(rng, chains)
    here, there = reference.slope @ offset, reference.slope @ fresh
    square = np.stack(
        [0.5 * (here * here).sum(0), (here * there).sum(0), 0.5 * (there * there).sum(0)]
    )
    linear = np.stack([reference.centre @ offset, reference.centre @ fresh])
    height = power * level + square[0] - linear[0] + np.log(rng.random(chains))
    angle = np.asarray(2 * np.pi * rng.random(chains))
    low, high = angle - 2 * np.pi, angle.copy()
    state, level, searching = state.copy(), level.copy(), np.arange(chains)
    for _ in range(_MOST_SHRINKS):
        cos, sin = np.cos(angle[searching]), np.sin(angle[searching])
        trial = centre + offset[:, searching] * cos + fresh[:, searching] * sin
        value = log_likelihood(trial)
        bend = square[:, searching]
        ratio = power * value + bend[0] * cos * cos + bend[1] * cos * sin + bend[2] * sin * sin
        ratio -= linear[0, searching] * cos + linear[1, searching] * sin
        inside = ratio > height[searching]
        done = searching[inside]
        state[:, done], level[done] = trial[:, inside], value[inside]
        searching = searching[~inside]
        if not len(searching):
            break
        at = angle[searching]
        low[searching] = np.where(at < 0, at, low[searching])
        high[searching] = np.where(at < 0, high[searching], at)
        spread = high[searching] - low[searching]
        angle[searching] = low[searching] + rng.random(len(searching)) * spread
    return state, level


def event_step(
    log_likelihood: LogLikelihood,
    blocks: list[FloatArray],
    rng: np.random.Generator,
    state: FloatArray,
    level: FloatArray,
    power: float = 1.0,
) -> tuple[FloatArray, FloatArray]:
    """Redraw each block of latents from the prior and accept on the likelihood, chain by chain."""
    for rows in blocks:
        trial = state.copy()
        trial[rows] = rng.standard_normal((len(rows), state.shape[1]))
        value = log_likelihood(trial)
        keep = np.log(rng.random(state.shape[1])) < power * (value - level)
        state, level = np.where(keep, trial, state), np.where(keep, value, level)
    return state, level
