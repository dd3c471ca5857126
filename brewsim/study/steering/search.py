"""The settings with the highest chance of all targets: scattered starts, climbs, a polish.

With one or two knobs Sobol' starts come near the best; with many they do not, and climbing knob
by knob does. A choice that pays only once other knobs have followed is tried with them following.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from brewsim.dims import FloatArray
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.replicates import Progress
from brewsim.study.model.sobol_sequence import sobol_sequence
from brewsim.study.propagation.sweep import settings_along
from brewsim.study.steering.objective import Landscape

_STARTS, _FEWEST = 64, 16
_POLISHED = 2
_RUNGS = 7
_MOST_POLISHED = 20
"""Dials polished together: the cost of one step grows with the cube of their number."""

_LAST_STEP = 1e-2
_FIRST_STEP = 0.1
"""Trust region, in shares of a knob's range: where a search starts, and when a polish stops."""


def best_settings(land: Landscape, seed: int, progress: Progress) -> dict[str, float | str]:
    """Return the settings with the highest chance found over all knobs and choices."""
    progress(0.3, "all knobs together")
    climbed = sorted(
        (_scattered(land, seed), *_climbs(land)), key=lambda s: judged(land, s), reverse=True
    )
    found = []
    for count, settings in enumerate(climbed[:_POLISHED]):
        progress(0.6 + 0.25 * count / _POLISHED, "polishing the best")
        found += [settings, _polished(land, settings)]
    best = max(found, key=lambda settings: judged(land, settings))
    least = judged(land, best)
    return unmoved(land, best, lambda trial: judged(land, trial) >= least)


def judged(land: Landscape, settings: Settings) -> tuple[float, float]:
    """Return the chance of all targets, and its smooth twin for where chances are alike."""
    return land.look(settings).chance, land.smooth(settings)


def unmoved(
    land: Landscape, settings: Settings, as_good: Callable[[Settings], bool]
) -> dict[str, float | str]:
    """Return the settings with every knob put back that need not move."""
    kept = dict(settings)
    for knob in sorted(land.knobs, key=lambda k: land.distance({k.id: settings[k.id]})):
        trial = {**kept, knob.id: land.now[knob.id]}
        if as_good(trial):
            kept = trial
    return kept


def tuning(dials: int, last: float) -> dict[str, float]:
    """Return the options of a search over so many dials that stops at a step of `last`."""
    return {"maxfev": 60 * dials, "initial_tr_radius": _FIRST_STEP, "final_tr_radius": last}


def _scattered(land: Landscape, seed: int) -> dict[str, float | str]:
    """Return the best of Sobol' starts, some for every combination of the choices."""
    categories = land.categories()
    count = max(_FEWEST, _STARTS // len(categories))
    places = [land.place({})]
    if land.dials:
        sequence = sobol_sequence(len(land.dials), np.random.default_rng(seed))
        places += list(sequence.random(1 << (count - 1).bit_length()))
    starts = [land.settings(p, choice, snapped=True) for choice in categories for p in places]
    land.look_each(starts)
    return max(starts, key=land.smooth)


def _climbs(land: Landscape) -> list[dict[str, float | str]]:
    """Return where climbing leads from today, and from there with one choice made otherwise."""
    first = _climbed(land, _climbed(land, land.now))
    others = [
        {**first, knob.id: option.label}
        for knob in land.choosers
        for option in knob.choices
        if option.label != first[knob.id]
    ]
    return [first, *(_climbed(land, other) for other in others)]


def _climbed(land: Landscape, start: Settings) -> dict[str, float | str]:
    """Put every knob in turn where it does best; choices come last."""
    settings = dict(start)
    for knob in land.knobs:
        where = settings_along(knob, _RUNGS)
        if knob.choices or knob.low <= float(settings[knob.id]) <= knob.high:
            where = [settings[knob.id], *where]
        options = [{**settings, knob.id: setting} for setting in where]
        land.look_each(options)
        settings = max(options, key=lambda option: judged(land, option))
    return settings


def _polished(land: Landscape, start: Settings) -> dict[str, float | str]:
    """Return the smoothed chance's summit near a start, the choices as they are.

    Of many dials those that do most beside the start are moved, the others stay where they are.
    """
    choice = {knob.id: str(start[knob.id]) for knob in land.choosers}
    if not land.dials:
        return dict(start)
    place = land.place(start)
    free = _strongest(land, place, choice)

    def at(spot: FloatArray, *, snapped: bool) -> dict[str, float | str]:
        whole = place.copy()
        whole[free] = spot
        return land.settings(whole, choice, snapped=snapped)

    result = optimize.minimize(
        lambda spot: -land.smooth(at(spot, snapped=False)),
        place[free],
        method="COBYQA",
        bounds=[(0.0, 1.0)] * len(free),
        options=tuning(len(free), _LAST_STEP),
    )
    return at(np.asarray(result.x), snapped=True)


def _strongest(land: Landscape, place: FloatArray, choice: Mapping[str, str]) -> NDArray[np.intp]:
    """Return the dials that change the smoothed chance most by a first step to either side."""
    if len(place) <= _MOST_POLISHED:
        return np.arange(len(place))
    steps = _FIRST_STEP * np.eye(len(place))
    beside = np.clip([*(place + steps), *(place - steps)], 0.0, 1.0)
    trials = [land.settings(one, choice, snapped=False) for one in beside]
    land.look_each(trials)
    here = land.smooth(land.settings(place, choice, snapped=False))
    change = np.abs(np.array([land.smooth(trial) for trial in trials]) - here)
    return np.sort(np.argsort(-change.reshape(2, -1).max(axis=0), kind="stable")[:_MOST_POLISHED])
