"""Between which settings of a knob a wanted chance is reached."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.knob import Knob


@dataclass(frozen=True)
class Bracket:
    """Settings, in model units, between which a chance stays at or above the wanted one."""

    low: float
    high: float


def own_settings(knob: Knob, settings: Sequence[float | str]) -> list[int]:
    """Return the places of the settings a knob has; today's may lie outside its range."""
    if knob.choices:
        return list(range(len(settings)))
    slack = 1e-9 * (knob.high - knob.low)
    low, high = knob.low - slack, knob.high + slack
    return [place for place, setting in enumerate(settings) if low <= float(setting) <= high]


def landing(
    knob: Knob, settings: Sequence[float | str], chance: FloatArray, wanted: float
) -> Bracket | None:
    """Return the knob's own settings between which the chance is the wanted one, on its steps.

    None where it is nowhere, and for a choice.
    """
    if knob.choices:
        return None
    own = own_settings(knob, settings)
    found = bracket([float(settings[place]) for place in own], chance[own], wanted)
    if found is None or knob.step <= 0:
        return found
    steps = np.array([found.low - knob.low, found.high - knob.low]) / knob.step
    low, high = np.ceil(steps[0] - 1e-9), np.floor(steps[1] + 1e-9)
    if low > high:
        return None
    return Bracket(float(knob.low + knob.step * low), float(knob.low + knob.step * high))


def bracket(settings: Sequence[float], chance: FloatArray, wanted: float) -> Bracket | None:
    """Return where the chance reaches the wanted one, around its best setting; None if nowhere.

    Between two settings the chance is taken as straight.
    """
    best = int(np.nanargmax(chance)) if np.isfinite(chance).any() else -1
    if best < 0 or chance[best] < wanted:
        return None
    return Bracket(
        _edge(settings, chance, wanted, best, -1), _edge(settings, chance, wanted, best, 1)
    )


def _edge(
    settings: Sequence[float], chance: FloatArray, wanted: float, best: int, step: int
) -> float:
    inside = best
    while 0 <= inside + step < len(settings) and chance[inside + step] >= wanted:
        inside += step
    outside = inside + step
    if not 0 <= outside < len(settings):
        return float(settings[inside])
    share = (chance[inside] - wanted) / (chance[inside] - chance[outside])
    return float(settings[inside] + share * (settings[outside] - settings[inside]))
