"""Hamiltonian trajectories of many chains along the surface on which the readings hold.

Exact readings leave a thin, bent sheet of latents, along which a step in any straight direction
is a short one. So the readings' own errors e join the latents z: on the surface r(z) = e the
target stays wide, however exact the readings are. Positions turn on circles, as the Gaussian of
latents and errors would have them, and are brought back to the surface along its normals.

Sources: Au, Graham & Thiery (2023), Manifold lifting: scaling Markov chain Monte Carlo to the
vanishing noise regime, J. R. Stat. Soc. B 85, 757; Zappa, Holmes-Cerfon & Goodman (2018), Monte
Carlo on manifolds, Commun. Pure Appl. Math. 71, 2609, for the check of the way back; Anderson
(1965), J. ACM 12, 547, for the mixing of iterates.
"""

from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.likelihood import Model
from brewsim.study.model.replicates import Flags

_MOST_ROUNDS = 15
_ON_SURFACE = 1e-6
_SAME = 1e-4
_RIDGE = 10.0
_QUARTER = np.pi / 2
_SMALLEST, _LARGEST = 0.15, 1.3
_FAILING, _SAFE = 0.90, 0.97
_SPREAD_OF_ANGLES = 0.2
_MOST_SLOPES = 4_000_000
_MOST_AT_ONCE = 200_000


@dataclass(frozen=True)
class Spot:
    """Chains on the surface: `position` is (latents + readings, chains), errors below latents.

    `slope` (chains, readings, latents) gives the normals, `inverse` the inverse of their products
    and `area` half the log determinant of these; `energy` is minus the log density on the surface,
    `level` the log likelihood.
    """

    position: FloatArray
    slope: FloatArray
    inverse: FloatArray
    energy: FloatArray
    level: FloatArray
    area: FloatArray

    def along(self, vectors: FloatArray) -> FloatArray:
        """Return vectors (latents + readings, chains) without their part across the surface."""
        return vectors - _normal(self.slope, self.across(vectors))

    def across(self, vectors: FloatArray) -> FloatArray:
        """Return how much of each normal is in the vectors, (chains, readings)."""
        latents = self.slope.shape[2]
        above = np.ascontiguousarray(vectors[:latents].T)
        return _times(self.inverse, _times(self.slope, above) - vectors[latents:].T)

    def taken(self, other: "Spot", where: Flags) -> "Spot":
        """Return this with the other's chains where told."""
        return Spot(
            np.where(where, other.position, self.position),
            np.where(where[:, None, None], other.slope, self.slope),
            np.where(where[:, None, None], other.inverse, self.inverse),
            np.where(where, other.energy, self.energy),
            np.where(where, other.level, self.level),
            np.where(where, other.area, self.area),
        )


def _normal(slope: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the sum of the surface's normals with these weights (chains, readings)."""
    return np.concatenate([np.einsum("nrl,nr->ln", slope, weights), -weights.T])


def _times(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("nij,nj->ni", matrices, vectors))


def _products(slope: FloatArray) -> FloatArray:
    """Return I + slope slope', (chains, readings, readings).

    In parts, so small that the linear algebra below does not share each one out to threads, which
    costs it ten times what it saves.
    """
    readings, latents = slope.shape[1:]
    total = np.tile(np.eye(readings), (len(slope), 1, 1))
    width = max(1, _MOST_AT_ONCE // readings**2)
    for start in range(0, latents, width):
        part = slope[:, :, start : start + width]
        total += np.matmul(part, part.transpose(0, 2, 1))
    return total


class Trajectories:
    """Trajectories and what they learned: the angle of a step, and the tilt of the surface.

    The surface's area per volume of latents changes along it; a plane fitted to its logarithm,
    `tilt`, moves the centre of the circles. Both may only be learned while nothing is kept.
    """

    def __init__(self, model: Model, angle: float = 0.5) -> None:
        self.model = model
        self.angle = angle
        self.tilt = np.zeros(len(model.names))
        self._seen: list[tuple[FloatArray, FloatArray]] = []

    def move(
        self,
        rng: np.random.Generator,
        state: FloatArray,
        level: FloatArray,
        *,
        learning: bool = False,
    ) -> tuple[FloatArray, FloatArray]:
        """Move every chain once, leaving prior times likelihood unchanged.

        `state` is (latents, chains), `level` its log likelihood; both are returned anew.
        """
        able = 0.0
        pieces = -(-state.size * len(self.model.readings) // _MOST_SLOPES)
        state, level = state.copy(), level.copy()
        for block in np.array_split(np.arange(state.shape[1]), pieces):
            with np.errstate(all="ignore"):  # a path may lead where a formula has no value
                state[:, block], level[block], share = self._moved(
                    rng, state[:, block], level[block], learning=learning
                )
            able += share * len(block) / state.shape[1]
        if learning:
            self._learn_angle(able)
            self._learn_tilt()
        return state, level

    def _moved(
        self, rng: np.random.Generator, state: FloatArray, level: FloatArray, *, learning: bool
    ) -> tuple[FloatArray, FloatArray, float]:
        """Return states, levels and the share of the trajectories that came to their end."""
        latents, chains = state.shape
        start = end = self._spot(state)
        able = np.isfinite(start.energy)
        momentum = start.along(rng.standard_normal(start.position.shape))
        total = start.energy + 0.5 * (momentum**2).sum(axis=0)
        steps = int(np.ceil(_QUARTER / self.angle))  # after a quarter turn the start is forgotten
        wobble = 1 + _SPREAD_OF_ANGLES * (2 * rng.random(chains) - 1)
        angle = np.asarray(_QUARTER / steps * wobble)
        for _ in range(steps):
            end, momentum, ok = self._step(end, momentum, angle, able)
            able &= ok
            if learning:
                here = end.position[:latents, able].T - self.tilt
                self._seen.append((here, end.area[able]))
        change = total - end.energy - 0.5 * (momentum**2).sum(axis=0)
        accept = able & (np.log(rng.random(chains)) < change)
        moved = np.where(accept, end.position[:latents] - self.tilt[:, None], state)
        return moved, np.where(accept, end.level, level), float(able.mean())

    def _spot(self, state: FloatArray) -> Spot:
        level, errors, slope = self.model.slopes(state)
        product = _products(slope)
        area = 0.5 * np.linalg.slogdet(product)[1]
        energy = 0.5 * (state**2).sum(axis=0) - level + area
        position = np.concatenate([state + self.tilt[:, None], errors])
        whole = np.isfinite(errors).all(axis=0)
        energy = np.where(whole, energy, np.inf)
        inverse = np.asarray(np.linalg.inv(product), dtype=float)
        return Spot(position, slope, inverse, energy, level, area)

    def _step(
        self, spot: Spot, momentum: FloatArray, angle: FloatArray, able: Flags
    ) -> tuple[Spot, FloatArray, Flags]:
        """Return one step on, its momentum, and for which chains it can be taken back."""
        latents = len(self.tilt)
        position, turned, ok = self._turn(spot, momentum, angle, able)
        there = self._spot(position[:latents] - self.tilt[:, None])
        after = there.along(turned)
        ok &= np.isfinite(there.energy)
        back, _, returns = self._turn(there, -after, angle, ok)
        same = np.abs(back - spot.position).max(axis=0) < _SAME
        ok = ok & returns & same
        return spot.taken(there, ok), np.where(ok, after, momentum), ok

    def _turn(
        self, spot: Spot, momentum: FloatArray, angle: FloatArray, able: Flags
    ) -> tuple[FloatArray, FloatArray, Flags]:
        """Turn positions by the angle and bring them to the surface along the normals at start.

        Where that fails, the position stays; returned are position, turned momentum, success.
        """
        latents = len(self.tilt)
        cos, sin = np.cos(angle), np.sin(angle)
        found, pushed, done = spot.position.copy(), momentum.copy(), np.zeros(len(angle), bool)
        weights = spot.across(spot.position) * np.tan(angle / 2)[:, None]
        active, size = np.flatnonzero(able), np.full(len(angle), np.inf)
        last: tuple[FloatArray, FloatArray] | None = None
        for _ in range(_MOST_ROUNDS):
            if not len(active):
                break
            push = momentum + _normal(spot.slope, weights)
            position = (spot.position * cos + push * sin)[:, active]
            errors = self.model.residuals(position[:latents] - self.tilt[:, None])
            gap = errors - position[latents:]
            before, size[active] = size[active], np.abs(gap).max(axis=0)
            there = size[active] < _ON_SURFACE
            place = active[there]
            found[:, place], done[place] = position[:, there], True
            pushed[:, place] = (push * cos - spot.position * sin)[:, place]
            on = ~there & (size[active] < 2 * before)
            active, gap = active[on], gap[:, on]
            step = np.zeros_like(weights)
            step[active] = _times(spot.inverse[active], gap.T) / sin[active, None]
            weights, last = _mixed(weights, step, last)
        return found, pushed, done

    def _learn_angle(self, able: float) -> None:
        if able < _FAILING:
            self.angle = max(0.75 * self.angle, _SMALLEST)
        elif able > _SAFE:
            self.angle = min(1.2 * self.angle, _LARGEST)

    def _learn_tilt(self) -> None:
        state = np.concatenate([state for state, _ in self._seen])
        area = np.concatenate([area for _, area in self._seen])
        if not len(area):
            return
        state = state - state.mean(axis=0)
        square = state.T @ state + _RIDGE * np.eye(state.shape[1])
        self.tilt = np.asarray(np.linalg.solve(square, state.T @ (area - area.mean())))


def _mixed(
    weights: FloatArray, step: FloatArray, last: tuple[FloatArray, FloatArray] | None
) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """Return the next iterate of weights - step, mixed with the last one (Anderson, depth 1)."""
    plain = weights - step
    if last is None:
        return plain, (plain, step)
    difference = step - last[1]
    square = np.maximum((difference**2).sum(axis=1), 1e-300)
    share = np.clip((step * difference).sum(axis=1) / square, -1, 1)[:, None]
    return plain + share * (last[0] - plain), (plain, step)
