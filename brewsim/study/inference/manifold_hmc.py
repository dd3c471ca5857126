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
from typing import Protocol

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.surface_normals import Normals
from brewsim.study.model.replicates import Flags, Places

_MOST_ROUNDS = 15
_ON_SURFACE = 1e-6
_SAME = 1e-4
_RIDGE = 10.0
_QUARTER = np.pi / 2
_SMALLEST, _LARGEST = 0.15, 1.3
_FAILING, _SAFE = 0.90, 0.97
_REFUSED, _ACCEPTED = 0.4, 0.7
_SHORTEST = 0.05
_SPREAD_OF_ANGLES = 0.2
_MOST_SLOPES = 4_000_000


@dataclass(frozen=True)
class Spot:
    """Chains on the surface: `position` is (latents + readings, chains), errors below latents.

    `normals` are the surface's, with their area; `energy` is minus the log density on the surface,
    `level` the log likelihood.
    """

    position: FloatArray
    normals: Normals
    energy: FloatArray
    level: FloatArray

    def along(self, vectors: FloatArray) -> FloatArray:
        """Return vectors (latents + readings, chains) without their part across the surface."""
        return vectors - self.sum(self.across(vectors))

    def sum(self, weights: FloatArray) -> FloatArray:
        """Return the sum of the normals with these weights (chains, readings)."""
        return np.concatenate([self.normals.transposed(weights), -weights.T])

    def across(self, vectors: FloatArray) -> FloatArray:
        """Return how much of each normal is in the vectors, (chains, readings)."""
        latents = len(vectors) - self.readings
        gap = self.normals.times(vectors[:latents]) - vectors[latents:].T
        return self.normals.solve(gap)

    @property
    def readings(self) -> int:
        """How many readings there are."""
        return self.normals.readings

    def taken(self, other: "Spot", where: Flags) -> "Spot":
        """Return this with the other's chains where told."""
        return Spot(
            np.where(where, other.position, self.position),
            self.normals.taken(other.normals, where),
            np.where(where, other.energy, self.energy),
            np.where(where, other.level, self.level),
        )


class Surface(Protocol):
    """Residuals of readings as a function of latents, many chains at once."""

    @property
    def latents(self) -> int:
        """How many latents there are."""

    @property
    def numbers(self) -> int:
        """Numbers that the slopes of one chain take."""

    def residuals(self, state: FloatArray, chains: Places) -> FloatArray:
        """Return residuals (readings, n) at a state (latents, n) of these chains."""

    def normals(self, state: FloatArray, chains: Places) -> tuple[FloatArray, FloatArray, Normals]:
        """Return log likelihood (n,), residuals (readings, n) and normals at (latents, n)."""


class Trajectories:
    """Trajectories and what they learned: the angle of a step, and the tilt of the surface.

    The surface's area per volume of latents changes along it; a plane fitted to its logarithm,
    `tilt`, moves the centre of the circles. Both may only be learned while nothing is kept.
    """

    def __init__(self, surface: Surface, angle: float = 0.5) -> None:
        self.surface = surface
        self.angle = angle
        self.turn = _QUARTER  # after a quarter turn the start is forgotten
        self.tilt = np.zeros(surface.latents)
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
        able = accepted = 0.0
        pieces = -(-state.shape[1] * self.surface.numbers // _MOST_SLOPES)
        state, level = state.copy(), level.copy()
        for block in np.array_split(np.arange(state.shape[1]), pieces):
            with np.errstate(all="ignore"):  # a path may lead where a formula has no value
                state[:, block], level[block], shares = self._moved(
                    rng, state[:, block], level[block], block, learning=learning
                )
            able += shares[0] * len(block) / state.shape[1]
            accepted += shares[1] * len(block) / state.shape[1]
        if learning:
            self._learn_angle(able)
            self._learn_turn(accepted)
            self._learn_tilt()
        return state, level

    def _moved(
        self,
        rng: np.random.Generator,
        state: FloatArray,
        level: FloatArray,
        block: Places,
        *,
        learning: bool,
    ) -> tuple[FloatArray, FloatArray, tuple[float, float]]:
        """Return states, levels and the shares of trajectories that ended and were accepted."""
        latents, chains = state.shape
        start = end = self._spot(state, block)
        able = np.isfinite(start.energy)
        momentum = start.along(rng.standard_normal(start.position.shape))
        total = start.energy + 0.5 * (momentum**2).sum(axis=0)
        steps = int(np.ceil(self.turn / self.angle))
        wobble = 1 + _SPREAD_OF_ANGLES * (2 * rng.random(chains) - 1)
        angle = np.asarray(self.turn / steps * wobble)
        for _ in range(steps):
            end, momentum, ok = self._step(end, momentum, angle, able, block)
            able &= ok
            if learning:
                here = end.position[:latents, able].T - self.tilt
                self._seen.append((here, end.normals.area[able]))
        change = total - end.energy - 0.5 * (momentum**2).sum(axis=0)
        accept = able & (np.log(rng.random(chains)) < change)
        moved = np.where(accept, end.position[:latents] - self.tilt[:, None], state)
        shares = float(able.mean()), float(accept.mean())
        return moved, np.where(accept, end.level, level), shares

    def _spot(self, state: FloatArray, block: Places) -> Spot:
        level, errors, normals = self.surface.normals(state, block)
        energy = 0.5 * (state**2).sum(axis=0) - level + normals.area
        position = np.concatenate([state + self.tilt[:, None], errors])
        whole = np.isfinite(errors).all(axis=0)
        energy = np.where(whole, energy, np.inf)
        return Spot(position, normals, energy, level)

    def _step(
        self, spot: Spot, momentum: FloatArray, angle: FloatArray, able: Flags, block: Places
    ) -> tuple[Spot, FloatArray, Flags]:
        """Return one step on, its momentum, and for which chains it can be taken back."""
        latents = len(self.tilt)
        position, turned, ok = self._turn(spot, momentum, angle, able, block)
        there = self._spot(position[:latents] - self.tilt[:, None], block)
        after = there.along(turned)
        ok &= np.isfinite(there.energy)
        back, _, returns = self._turn(there, -after, angle, ok, block)
        same = np.abs(back - spot.position).max(axis=0) < _SAME
        ok = ok & returns & same
        return spot.taken(there, ok), np.where(ok, after, momentum), ok

    def _turn(
        self, spot: Spot, momentum: FloatArray, angle: FloatArray, able: Flags, block: Places
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
            push = momentum + spot.sum(weights)
            position = (spot.position * cos + push * sin)[:, active]
            here = position[:latents] - self.tilt[:, None]
            errors = self.surface.residuals(here, block[active])
            gap = errors - position[latents:]
            before, size[active] = size[active], np.abs(gap).max(axis=0)
            there = size[active] < _ON_SURFACE
            place = active[there]
            found[:, place], done[place] = position[:, there], True
            pushed[:, place] = (push * cos - spot.position * sin)[:, place]
            on = ~there & (size[active] < 2 * before)
            active, gap = active[on], gap[:, on]
            step = np.zeros_like(weights)
            step[active] = spot.normals.solve(gap.T, active) / sin[active, None]
            weights, last = _mixed(weights, step, last)
        return found, pushed, done

    def _learn_angle(self, able: float) -> None:
        if able < _FAILING:
            self.angle = max(0.75 * self.angle, _SMALLEST)
        elif able > _SAFE:
            self.angle = min(1.2 * self.angle, _LARGEST)

    def _learn_turn(self, accepted: float) -> None:
        if accepted < _REFUSED:
            self.turn = max(0.6 * self.turn, _SHORTEST)
        elif accepted > _ACCEPTED:
            self.turn = min(1.2 * self.turn, _QUARTER)

    def _learn_tilt(self) -> None:
        state = np.concatenate([state for state, _ in self._seen])
        area = np.concatenate([area for _, area in self._seen])
        if not len(area):
            return
        state = state - state.mean(axis=0)
        self.tilt = _plane(state, area - area.mean())


def _plane(state: FloatArray, height: FloatArray) -> FloatArray:
    """Return the slope of a plane through heights (points,) at states (points, latents), ridged.

    Solved on the smaller side: the ridge makes both the same.
    """
    points, latents = state.shape
    if points < latents:
        square = state @ state.T + _RIDGE * np.eye(points)
        return np.asarray(state.T @ np.linalg.solve(square, height))
    square = np.einsum("pi,pj->ij", state, state) + _RIDGE * np.eye(latents)
    return np.asarray(np.linalg.solve(square, state.T @ height))


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
