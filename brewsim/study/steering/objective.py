"""What a set of knobs does to the chance of landing: one look at each setting, remembered."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from brewsim.dims import FloatArray
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.sweep import current_setting, snap

SOFTNESS = 0.15
"""Width of the smoothed edge of a target, in half widths of the target."""
_PULL = 0.01
_FURTHEST = 100.0
_FAR = 1e300

Place = Mapping[str, float | str]


@dataclass(frozen=True)
class Window:
    """A target: its limits, and half its width (the outcome's spread if it is open)."""

    low: float
    high: float
    half: float

    def outside(self, value: float) -> float:
        """Return how far a value lies outside, in half widths."""
        return max(0.0, (self.low - value) / self.half, (value - self.high) / self.half)


@dataclass(frozen=True)
class Spot:
    """One setting: who lands there, and the middle of each targeted outcome."""

    settings: Place
    values: Mapping[str, FloatArray]
    inside: Mapping[str, NDArray[np.bool_]]
    middles: Mapping[str, float]
    chance: float
    below: float = 0.0
    """How far middles with a floor lie below it, in shares of the floor."""


class Landscape:
    """A problem's targets over the settings of some knobs, on common draws.

    `floors` are least middles of quantities: a setting below one is not looked for.
    """

    def __init__(
        self,
        problem: Problem,
        knobs: Sequence[Knob],
        plan: Plan,
        floors: Mapping[str, float] | None = None,
    ) -> None:
        self.problem = problem
        self.dials = [k for k in knobs if not k.choices and k.high > k.low]
        self.choosers = [k for k in knobs if k.choices]
        self.knobs = [*self.dials, *self.choosers]
        self.outcomes = tuple(problem.targets)
        self.now = {k.id: current_setting(problem, k) for k in self.knobs}
        self.spots: dict[tuple[tuple[str, float | str], ...], Spot] = {}
        self.floors = dict(floors or {})
        asked = dict.fromkeys((*self.outcomes, *self.floors))
        self._evaluator = Evaluator(problem, CommonDraws([problem], plan), asked)
        self.windows = {name: self._window(name) for name in self.outcomes}

    def _window(self, name: str) -> Window:
        target = self.problem.targets[name]
        low, high = target.ends
        half = (high - low) / 2
        if not (np.isfinite(half) and half > 0):
            values = self._evaluator.at()[name]
            known = values[np.isfinite(values)]
            half = float(known.std()) if len(known) else 0.0
        return Window(low, high, half or 1.0)

    def look(self, settings: Place) -> Spot:
        """Judge a setting, or remember what was seen there."""
        key = _key(settings)
        if key not in self.spots:
            self.spots[key] = self._spot(settings, self._evaluator.at(settings))
        return self.spots[key]

    def look_each(self, settings: Iterable[Place]) -> None:
        """Judge several settings and remember what was seen: together they cost less."""
        new = {_key(one): one for one in settings if _key(one) not in self.spots}
        every = list(new.values())
        for one, values in zip(every, self._evaluator.at_each(every), strict=True):
            self.spots[_key(one)] = self._spot(one, values)

    def _spot(self, settings: Place, values: Mapping[str, FloatArray]) -> Spot:
        inside = {
            name: (values[name] >= window.low) & (values[name] <= window.high)
            for name, window in self.windows.items()
        }
        together = np.logical_and.reduce(list(inside.values()))
        middles = {name: float(np.median(_finite(y))) for name, y in values.items()}
        below = self._below(middles)
        middles = {name: middles[name] for name in self.outcomes}
        chance = 0.0 if below else float(np.count_nonzero(together)) / together.size
        return Spot(dict(settings), values, inside, middles, chance, below)

    def _below(self, middles: Mapping[str, float]) -> float:
        """Return how far middles lie below their floors, in shares of the floors."""
        return sum(max(0.0, 1 - middles[name] / least) for name, least in self.floors.items())

    def smooth(self, settings: Place) -> float:
        """Smoothed chance, with a weak pull of the medians towards the windows."""
        spot = self.look(settings)
        weight, pull = np.ones(self._evaluator.size), 0.0
        for name, window in self.windows.items():
            y, scale = _finite(spot.values[name]), SOFTNESS * window.half
            if np.isfinite(window.low):
                weight = weight * expit((y - window.low) / scale)
            if np.isfinite(window.high):
                weight = weight * expit((window.high - y) / scale)
            weight = np.where(np.isnan(spot.values[name]), 0.0, weight)  # no value: not landed
            pull += window.outside(spot.middles[name])
        chance = 0.0 if spot.below else float(weight.mean())
        return chance - spot.below - _PULL * min(pull, _FURTHEST)

    def distance(self, settings: Place) -> float:
        """Sum of the moves in shares of each knob's range; another choice counts as 1."""
        total = 0.0
        for knob in self.knobs:
            now = self.now[knob.id]
            new = settings.get(knob.id, now)
            if isinstance(new, str) or isinstance(now, str):
                total += float(new != now)
            else:
                total += abs(new - now) / (knob.high - knob.low)
        return total

    def settings(
        self, place: FloatArray, choice: Mapping[str, str], *, snapped: bool
    ) -> dict[str, float | str]:
        """Return settings at a place between 0 and 1 on every dial, with the choices made."""
        settings: dict[str, float | str] = dict(choice)
        for knob, share in zip(self.dials, np.clip(place, 0, 1), strict=True):
            value = knob.low + share * (knob.high - knob.low)
            settings[knob.id] = float(snap(knob, np.array(value))) if snapped else float(value)
        return settings

    def place(self, settings: Place) -> FloatArray:
        """Return where the dials of some settings stand, between 0 and 1; others as now."""
        shares = [
            (float(settings.get(k.id, self.now[k.id])) - k.low) / (k.high - k.low)
            for k in self.dials
        ]
        return np.clip(np.array(shares), 0, 1)

    def categories(self) -> list[dict[str, str]]:
        """Return every combination of the choices, today's first."""
        ids = [knob.id for knob in self.choosers]
        labels = [
            sorted((c.label for c in k.choices), key=lambda label: label != self.now[k.id])
            for k in self.choosers
        ]
        return [dict(zip(ids, row, strict=True)) for row in product(*labels)]


def _key(settings: Place) -> tuple[tuple[str, float | str], ...]:
    return tuple(sorted(settings.items()))


def _finite(values: FloatArray) -> FloatArray:
    if np.isfinite(values).all():
        return values
    return np.nan_to_num(values, nan=_FAR, posinf=_FAR, neginf=-_FAR)
