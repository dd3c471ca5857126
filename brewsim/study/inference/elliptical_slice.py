"""Elliptical slice steps for many chains at once, around the prior or a moving linearisation.

Sources: Murray, Adams & MacKay (2010), Elliptical slice sampling, AISTATS; Nishihara, Murray &
Adams (2014), Parallel MCMC with generalized elliptical slice sampling, JMLR 15.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.surface_normals import Normals, WholeLayout

LogLikelihood = Callable[..., FloatArray]
"""Of states (latents, n), and of their chains where chains are unlike; returns (n,)."""
_MOST_ROUNDS = 200


@dataclass(frozen=True)
class Reference:
    """The Gaussian N(centre, (I + J'J)^-1), J the slopes: narrowed where the readings speak.

    `centre` is (latents,), or (latents, chains) where each chain has its own.
    """

    centre: FloatArray
    normals: Normals

    def draw(self, rng: np.random.Generator, chains: int) -> FloatArray:
        """Return draws around zero, (latents, chains), solving only a readings-sized matrix."""
        noise = rng.standard_normal((len(self.centre), chains))
        errors = rng.standard_normal((self.normals.readings, chains))
        pull = self.normals.times(noise) + errors.T
        return noise - self.normals.transposed(self.normals.solve(pull))


def prior_reference(latents: int) -> Reference:
    """Return the reference that is the prior itself."""
    layout = WholeLayout(0, latents)
    return Reference(np.zeros(latents), layout.normals(layout.empty(1)))


def slice_step(
    log_likelihood: LogLikelihood,
    reference: Reference,
    rng: np.random.Generator,
    state: FloatArray,
    level: FloatArray,
    power: float = 1.0,
    *,
    by_chain: bool = False,
) -> tuple[FloatArray, FloatArray]:
    """Move every chain once, leaving prior times likelihood^power unchanged.

    `state` is (latents, chains), `level` its log likelihood; both are returned anew. The ratio of
    target to reference is quadratic along the ellipse, so no reference density is evaluated in
    the loop. The brackets shrink only for chains still searching. With `by_chain` each chain has
    a reference of its own, and the likelihood is told which chains it is asked for.
    """
    chains = state.shape[1]
    centre = reference.centre if reference.centre.ndim > 1 else reference.centre[:, None]
    offset = state - centre
    fresh = reference.draw(rng, chains)
    here, there = reference.normals.times(offset), reference.normals.times(fresh)
    square = np.stack(
        [0.5 * (here * here).sum(1), (here * there).sum(1), 0.5 * (there * there).sum(1)]
    )
    linear = np.stack([(centre * offset).sum(axis=0), (centre * fresh).sum(axis=0)])
    height = power * level + square[0] - linear[0] + np.log(rng.random(chains))
    angle = np.asarray(2 * np.pi * rng.random(chains))
    low, high = angle - 2 * np.pi, angle.copy()
    state, level, searching = state.copy(), level.copy(), np.arange(chains)
    for _ in range(_MOST_ROUNDS):
        angles = _proposals(rng, angle, low, high, max(1, chains // len(searching)))
        tries = angles.shape[0]
        cos, sin = np.cos(angles).ravel(), np.sin(angles).ravel()
        at = np.tile(searching, tries)
        middle = centre if centre.shape[1] == 1 else centre[:, at]
        trial = middle + offset[:, at] * cos + fresh[:, at] * sin
        value = log_likelihood(trial, at) if by_chain else log_likelihood(trial)
        ratio = power * value + square[0, at] * cos * cos + square[1, at] * cos * sin
        ratio += square[2, at] * sin * sin - linear[0, at] * cos - linear[1, at] * sin
        inside = (ratio > height[at]).reshape(tries, -1)
        found = inside.any(axis=0)
        first = inside.argmax(axis=0)[found] * len(searching) + np.flatnonzero(found)
        state[:, searching[found]], level[searching[found]] = trial[:, first], value[first]
        searching, angle = searching[~found], angle[~found]
        low, high = low[~found], high[~found]
        if not len(searching):
            break
    return state, level


def _proposals(
    rng: np.random.Generator, angle: FloatArray, low: FloatArray, high: FloatArray, tries: int
) -> FloatArray:
    """Return the next angles as if each were refused, (tries, chains); moves the brackets on.

    Which angle comes after a refusal does not depend on the likelihood there, so several can be
    tried in one call and the first that is inside taken: the same steps in fewer calls.
    """
    angles = np.empty((tries, len(angle)))
    for row in angles:
        row[:] = angle
        np.copyto(low, angle, where=angle < 0)
        np.copyto(high, angle, where=angle >= 0)
        angle[:] = low + rng.random(len(angle)) * (high - low)
    return angles


def event_step(
    by_batch: LogLikelihood,
    blocks: list[tuple[int, list[int]]],
    rng: np.random.Generator,
    state: FloatArray,
    level: FloatArray,
    power: float = 1.0,
) -> tuple[FloatArray, FloatArray]:
    """Redraw the latents of each batch's event from the prior; accept on that batch's likelihood.

    All batches are tried in one call: given everything else their events are independent.
    """
    if not blocks:
        return state, level
    trial, places = state.copy(), [place for place, _ in blocks]
    for _, rows in blocks:
        trial[rows] = rng.standard_normal((len(rows), state.shape[1]))
    before, after = by_batch(state)[places], by_batch(trial)[places]
    keep = np.log(rng.random(after.shape)) < power * (after - before)
    state = state.copy()
    for (_, rows), kept in zip(blocks, keep, strict=True):
        state[rows] = np.where(kept, trial[rows], state[rows])
    return state, level + np.where(keep, after - before, 0.0).sum(axis=0)
