"""What stands in the way of the targets: a knob's range, targets in conflict, or spread."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.knob import Knob
from brewsim.study.propagation.sweep import settings_along
from brewsim.study.steering.objective import Landscape, Spot

_FIGHT = 0.1
_ALONG = 5
_MOVES = 0.05
_TRIED = 24
_LESS = 0.01
"""Share that must be lost before fewer are said to land; less may be chance."""


@dataclass(frozen=True)
class Location:
    """How far one knob alone moves the middle of an outcome that lies outside its target.

    `limit` is the end of the target that is nearer; `below` whether the middle lies below it now.
    """

    knob: str
    outcome: str
    low: float
    high: float
    limit: float
    below: bool


@dataclass(frozen=True)
class Obstacles:
    """Why the targets cannot be met.

    `alone` is the best chance of each target by itself and `together` that of all, over every
    setting looked at; `gives_way` names the two targets of which no setting keeps both within a
    tenth of the best each can reach; `spread` is the largest share of batches that any window as
    wide as the target would hold, at settings whose middle is in or nearest to the target, and no
    more than its `alone` where the knobs put the middle past its best place on both sides;
    `locations` are knobs that move the middle of an outcome outside its target, and how far.
    """

    alone: Mapping[str, float]
    together: float
    gives_way: tuple[str, str] | None
    spread: Mapping[str, float]
    locations: tuple[Location, ...]


def obstacles(land: Landscape) -> Obstacles:
    """Return what stands in the way, from all the settings the search has looked at."""
    spots = list(land.spots.values())
    shares = {name: [float(s.inside[name].mean()) for s in spots] for name in land.outcomes}
    return Obstacles(
        alone={name: max(found) for name, found in shares.items()},
        together=max(spot.chance for spot in spots),
        gives_way=_fight(land, shares),
        spread={name: _spread(land, spots, name, shares[name]) for name in land.outcomes},
        locations=_locations(land),
    )


def _fight(land: Landscape, shares: Mapping[str, list[float]]) -> tuple[str, str] | None:
    """Return the pair of which no setting keeps both near their best; chance alone is no fight."""
    kept = {}
    for pair in combinations(land.outcomes, 2):
        best = [max(shares[name]) for name in pair]
        if min(best) > 0:
            one, other = (
                np.array(shares[name]) / top for name, top in zip(pair, best, strict=True)
            )
            kept[pair] = float(np.minimum(one, other).max())
    worst = min(kept, key=lambda pair: kept[pair], default=None)
    return worst if worst is not None and kept[worst] < 1 - _FIGHT else None


def _spread(land: Landscape, spots: list[Spot], name: str, shares: list[float]) -> float:
    """Return the largest share in any window of the target's width, near the target.

    Where no knob could put the middle better, it is the largest share that lands in the target.
    """
    window = land.windows[name]
    if _passed([spot.middles[name] for spot in spots], shares):
        return max(shares)
    if not np.isfinite(window.high - window.low):
        return 1.0
    near = sorted(spots, key=lambda s: (window.outside(s.middles[name]), -s.inside[name].mean()))
    folds = land.problem.scales.get(name, "linear") != "linear" and window.low > 0
    low, high = (np.log(window.low), np.log(window.high)) if folds else (window.low, window.high)
    return max(_fullest(s.values[name], float(high - low), folds=folds) for s in near[:_TRIED])


def _passed(middles: list[float], shares: list[float]) -> bool:
    """Whether fewer land with the middle furthest down and furthest up than somewhere between."""
    ends = (middles.index(min(middles)), middles.index(max(middles)))
    return max(shares) - max(shares[end] for end in ends) > _LESS


def _fullest(values: FloatArray, width: float, *, folds: bool) -> float:
    with np.errstate(all="ignore"):
        y = np.log(values) if folds else values
    y = np.sort(y[np.isfinite(y)])
    ends = np.searchsorted(y, y + width, side="right")
    return float(np.max(ends - np.arange(len(y)))) / len(values) if len(y) else 0.0


def _locations(land: Landscape) -> tuple[Location, ...]:
    """Return the knobs that move an outcome whose middle is now outside, least far first."""
    found = []
    for name, window in land.windows.items():
        middle = land.look({}).middles[name]
        if window.outside(middle) == 0:
            continue
        for knob in land.knobs:
            place = _location(land, knob, name)
            if place.high - place.low > _MOVES * window.half:
                found.append(place)
    return tuple(found)


def _location(land: Landscape, knob: Knob, name: str) -> Location:
    window = land.windows[name]
    along = [land.look({knob.id: s}).middles[name] for s in settings_along(knob, _ALONG)]
    below = land.look({}).middles[name] < window.low
    limit = window.low if below else window.high
    return Location(knob.id, name, min(along), max(along), limit, below)
