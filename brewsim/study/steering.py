"""Steer: knob settings that land in the targets, how little must move, and what is in the way.

Sample-average approximation on common scrambled draws (Kleywegt, Shapiro & Homem-de-Mello 2002,
SIAM J. Optim. 12, 479-502): a smoothed chance leads from Sobol' starts to a polished optimum;
what is reported is the raw chance on fresh draws.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy import optimize
from scipy.special import expit
from scipy.stats import qmc

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.common import CommonDraws, Evaluator, lands
from brewsim.study.knobs import (
    Bracket,
    bracket,
    current_setting,
    mean_and_error,
    settings_along,
    snap,
)
from brewsim.study.problem import Knob, Problem
from brewsim.study.sampling import Plan

_SOFTNESS = 0.15
_PULL = 0.01
_STARTS = 64
_POLISHED = 3
_MARGIN = 0.01
_GRID = 33
_SEARCH_ROWS = 256
_CHECK_ROWS = 8192
_FRESH_SEED = 104_729

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Move:
    """Settings of some knobs (model units or a choice) and the chance they reach."""

    settings: Mapping[str, float | str]
    chance: float
    chance_error: float
    searched: float
    most_likely_truth: float
    change: float


@dataclass(frozen=True)
class SingleKnob:
    """One knob alone: the smallest move that reaches the wanted chance, or the best it can do."""

    knob: str
    label: str
    reaches: bool
    move: Move
    bracket: Bracket | None


@dataclass(frozen=True)
class Location:
    """How far one knob alone moves the middle of an outcome that lies outside its target."""

    knob: str
    outcome: str
    low: float
    high: float
    limit: float


@dataclass(frozen=True)
class Obstacles:
    """Why the targets cannot be met: the range, a conflict, or spread."""

    alone: Mapping[str, float]
    together: float
    gives_way: tuple[str, str] | None
    spread: Mapping[str, float]
    locations: tuple[Location, ...]


@dataclass(frozen=True)
class Steered:
    """Today's chance, what each knob can do alone, and the best and smallest combined moves."""

    wanted: float
    now: Move
    singles: tuple[SingleKnob, ...]
    best: Move
    smallest: Move | None
    obstacles: Obstacles
    remarks: tuple[str, ...] = field(default=())

    @property
    def reaches(self) -> bool:
        """Whether any setting reaches the wanted chance."""
        return self.smallest is not None


def steer(
    problem: Problem,
    *,
    knobs: Sequence[str] | None = None,
    chance: float = 0.8,
    seed: int = 1,
    progress: Progress | None = None,
) -> Steered:
    """Find knob settings whose joint chance of meeting all targets reaches `chance`.

    Raises StudyError without targets or knobs. Every reported chance comes from 2^16 fresh draws;
    `searched` is what the search itself saw, so their difference is the search's optimism.
    """
    if not problem.targets:
        raise StudyError("nothing to steer for: the recipe has no targets")
    chosen = [problem.knob(k) for k in knobs] if knobs is not None else list(problem.knobs)
    if not chosen:
        raise StudyError("nothing to steer with: the recipe has no knobs")
    search = _Search(problem, chosen, chance, seed, progress or (lambda _done, _text: None))
    singles = search.singles()
    best_settings = search.best()
    best = search.checked(best_settings)
    smallest = search.smallest(best, singles) if best.chance >= chance else None
    obstacles = search.obstacles(best_settings)
    return Steered(chance, search.checked({}), singles, best, smallest, obstacles)


class _Search:
    """Shared state of one steering: draws, the scaled knobs, the smoothed objective."""

    def __init__(
        self, problem: Problem, knobs: list[Knob], wanted: float, seed: int, progress: Progress
    ) -> None:
        self.problem, self.wanted, self.progress = problem, wanted, progress
        self.dials = [k for k in knobs if not k.choices and k.high > k.low]
        self.choosers = [k for k in knobs if k.choices]
        self.knobs = [*self.dials, *self.choosers]
        self.seed = seed
        self.outcomes = tuple(problem.targets)
        plan = Plan(8, _SEARCH_ROWS, seed)
        self.evaluator = Evaluator(problem, CommonDraws([problem], plan), self.outcomes)
        self.windows = {name: self._window(name) for name in self.outcomes}
        fresh = Plan(8, _CHECK_ROWS, seed + _FRESH_SEED)
        self.check_plan = fresh
        self.check = Evaluator(problem, CommonDraws([problem], fresh), self.outcomes)
        likely = CommonDraws([problem], replace(fresh, rows=1024), held=frozenset({"knowledge"}))
        self.likely_plan = likely.plan
        self.likely = Evaluator(problem, likely, self.outcomes)

    def _window(self, name: str) -> tuple[float, float, float]:
        """Return (lower, upper, half width); one-sided targets take the outcome's spread."""
        target = self.problem.targets[name]
        spread = float(np.nanstd(self.evaluator.at()[name])) or 1.0
        low = -np.inf if target.lower is None else target.lower
        high = np.inf if target.upper is None else target.upper
        half = (high - low) / 2
        return low, high, half if np.isfinite(half) and half > 0 else spread

    # chances -------------------------------------------------------------------------------
    def raw(self, settings: Mapping[str, float | str]) -> float:
        """Share of the search draws that keep to all targets."""
        return float(lands(self.evaluator.at(settings), self.problem).mean())

    def smooth(self, settings: Mapping[str, float | str]) -> float:
        """Smoothed chance, with a weak pull of the medians towards the windows."""
        values = self.evaluator.at(settings)
        weight, pull = np.ones(self.evaluator.size), 0.0
        for name, (low, high, half) in self.windows.items():
            y = np.nan_to_num(values[name], nan=1e300, posinf=1e300, neginf=-1e300)
            scale = _SOFTNESS * half
            if np.isfinite(low):
                weight = weight * expit((y - low) / scale)
            if np.isfinite(high):
                weight = weight * expit((high - y) / scale)
            middle = float(np.median(y))
            pull += max(0.0, (low - middle) / half, (middle - high) / half)
        return float(weight.mean()) - _PULL * min(pull, 100.0)

    def checked(self, settings: Mapping[str, float | str]) -> Move:
        """Judge settings on fresh draws, for whatever is true and for the most likely truth."""
        landed = lands(self.check.at(settings), self.problem)
        chance, error = mean_and_error(landed, self.check_plan)
        likely = float(lands(self.likely.at(settings), self.problem).mean())
        return Move(
            dict(settings), chance, error, self.raw(settings), likely, self.distance(settings)
        )

    def distance(self, settings: Mapping[str, float | str]) -> float:
        """Sum of the moves in shares of each knob's range; another choice counts as 1."""
        total = 0.0
        for knob in self.knobs:
            now = current_setting(self.problem, knob)
            new = settings.get(knob.id, now)
            if isinstance(new, str) or isinstance(now, str):
                total += float(new != now)
            else:
                total += abs(new - now) / (knob.high - knob.low)
        return total

    # one knob ------------------------------------------------------------------------------
    def singles(self) -> tuple[SingleKnob, ...]:
        """Return what each knob can do alone, the most promising first."""
        found = []
        for count, knob in enumerate(self.knobs):
            self.progress(0.3 * count / len(self.knobs), f"{knob.label} alone")
            found.append(self._single(knob))
        return tuple(sorted(found, key=lambda s: (not s.reaches, -s.move.chance)))

    def _single(self, knob: Knob) -> SingleKnob:
        where = settings_along(knob, _GRID)
        now = current_setting(self.problem, knob)
        if now not in where:
            where = [*where, now] if knob.choices else sorted([*where, now])
        chances = np.array([self.raw({knob.id: setting}) for setting in where])
        good = [i for i in range(len(where)) if chances[i] >= self.wanted + _MARGIN]
        pick = int(np.argmax(chances))
        if good:
            pick = min(good, key=lambda i: (self.distance({knob.id: where[i]}), -chances[i]))
        move = self.checked({knob.id: where[pick]})
        span = None
        if not knob.choices:
            span = bracket([float(w) for w in where], chances, self.wanted)
        return SingleKnob(knob.id, knob.label, move.chance >= self.wanted, move, span)

    # all knobs -----------------------------------------------------------------------------
    def _settings(
        self, place: FloatArray, choice: Mapping[str, str], *, snapped: bool
    ) -> dict[str, float | str]:
        settings: dict[str, float | str] = dict(choice)
        for knob, share in zip(self.dials, np.clip(place, 0, 1), strict=True):
            value = knob.low + share * (knob.high - knob.low)
            settings[knob.id] = float(snap(knob, np.array(value))) if snapped else float(value)
        return settings

    def _categories(self) -> list[dict[str, str]]:
        labels = [[choice.label for choice in knob.choices] for knob in self.choosers]
        ids = [knob.id for knob in self.choosers]
        return [dict(zip(ids, row, strict=True)) for row in product(*labels)]

    def _today(self) -> FloatArray:
        places = []
        for knob in self.dials:
            now = float(current_setting(self.problem, knob))
            places.append((now - knob.low) / (knob.high - knob.low))
        return np.clip(np.array(places), 0, 1)

    def best(self) -> dict[str, float | str]:
        """Return the settings with the highest chance found over all knobs and choices."""
        categories = self._categories()
        candidates: list[tuple[float, FloatArray, dict[str, str]]] = []
        for count, choice in enumerate(categories):
            self.progress(0.3 + 0.3 * count / len(categories), "all knobs together")
            candidates += self._starts(choice)
        candidates.sort(key=lambda c: -c[0])
        found: list[tuple[float, dict[str, float | str]]] = []
        for count, (_, place, choice) in enumerate(candidates[:_POLISHED]):
            self.progress(0.6 + 0.2 * count / _POLISHED, "polishing the best")
            polished = self._polish(place, choice)
            for spot in (place, polished):
                settings = self._settings(spot, choice, snapped=True)
                found.append((self.raw(settings), settings))
        return max(found, key=lambda pair: pair[0])[1]

    def _starts(self, choice: dict[str, str]) -> list[tuple[float, FloatArray, dict[str, str]]]:
        if not self.dials:
            return [(self.smooth(choice), np.empty(0), choice)]
        sequence = qmc.Sobol(len(self.dials), scramble=True, rng=np.random.default_rng(self.seed))
        places = [self._today(), *sequence.random(_STARTS)]
        return [(self.smooth(self._settings(p, choice, snapped=False)), p, choice) for p in places]

    def _polish(self, place: FloatArray, choice: dict[str, str]) -> FloatArray:
        if not self.dials:
            return place

        def loss(spot: FloatArray) -> float:
            return -self.smooth(self._settings(spot, choice, snapped=False))

        result = optimize.minimize(
            loss,
            place,
            method="COBYQA",
            bounds=[(0.0, 1.0)] * len(place),
            options={"maxfev": 60 * len(place), "initial_tr_radius": 0.1, "final_tr_radius": 1e-3},
        )
        return np.asarray(result.x)

    def smallest(self, best: Move, singles: Sequence[SingleKnob]) -> Move | None:
        """Return the least movement whose chance stays at or above the wanted one."""
        candidates = [best, *(s.move for s in singles if s.reaches)]
        choice = {k.id: str(best.settings[k.id]) for k in self.choosers}
        stay = {k.id: str(current_setting(self.problem, k)) for k in self.choosers}
        self.progress(0.85, "the smallest change that suffices")
        for option in (stay, choice) if stay != choice else (choice,):
            move = self._least(best, option)
            if move is not None:
                candidates.append(move)
        good = [m for m in candidates if m.chance >= self.wanted]
        return min(good, key=lambda m: (round(m.change, 6), -m.chance)) if good else None

    def _least(self, best: Move, choice: dict[str, str]) -> Move | None:
        if not self.dials:
            return self.checked(choice)
        today = self._today()
        start = np.array(
            [(float(best.settings[k.id]) - k.low) / (k.high - k.low) for k in self.dials]
        )
        wanted = self.wanted + _MARGIN

        def short(spot: FloatArray) -> float:
            return self.raw_soft(self._settings(spot, choice, snapped=False)) - wanted

        result = optimize.minimize(
            lambda spot: float(np.abs(spot - today).sum()),
            start,
            method="COBYQA",
            bounds=[(0.0, 1.0)] * len(start),
            constraints=[optimize.NonlinearConstraint(short, 0.0, np.inf)],
            options={"maxfev": 80 * len(start), "initial_tr_radius": 0.1, "final_tr_radius": 1e-3},
        )
        for step in np.linspace(0.0, 1.0, 11):
            spot = (1 - step) * np.asarray(result.x) + step * start
            settings = self._settings(spot, choice, snapped=True)
            if self.raw(settings) >= wanted:
                return self.checked(self._kept(settings, wanted))
        return None

    def raw_soft(self, settings: Mapping[str, float | str]) -> float:
        """Raw chance with a trace of the smooth one, so that the constraint has a slope."""
        return self.raw(settings) + 1e-3 * self.smooth(settings)

    def _kept(self, settings: dict[str, float | str], wanted: float) -> dict[str, float | str]:
        """Put back every knob that need not move."""
        for knob in sorted(self.knobs, key=lambda k: self.distance({k.id: settings[k.id]})):
            trial = {**settings, knob.id: current_setting(self.problem, knob)}
            if self.raw(trial) >= wanted:
                settings = trial
        return settings

    # what stands in the way ----------------------------------------------------------------
    def obstacles(self, best: Mapping[str, float | str]) -> Obstacles:
        """Return the best chance of each target alone and jointly, spread, and locations."""
        self.progress(0.9, "what stands in the way")
        alone, joint = dict.fromkeys(self.outcomes, 0.0), 0.0
        pair_best: dict[tuple[str, str], float] = {}
        spread = dict.fromkeys(self.outcomes, 0.0)
        for settings in self._spots(best):
            values = self.evaluator.at(settings)
            inside = {name: self._inside(values, name) for name in self.outcomes}
            everything = np.logical_and.reduce(list(inside.values()))
            joint = max(joint, float(everything.mean()))
            for i, name in enumerate(self.outcomes):
                alone[name] = max(alone[name], float(inside[name].mean()))
                spread[name] = max(spread[name], self._widest(values[name], name))
                for other in self.outcomes[i + 1 :]:
                    both = float((inside[name] & inside[other]).mean())
                    pair = (name, other)
                    pair_best[pair] = max(pair_best.get(pair, 0.0), both)
        gap = {pair: min(alone[pair[0]], alone[pair[1]]) - c for pair, c in pair_best.items()}
        worst = max(gap, key=lambda pair: gap[pair]) if gap else None
        fights = worst if worst is not None and gap[worst] > 0.05 else None
        return Obstacles(alone, joint, fights, spread, self._locations())

    def _spots(self, best: Mapping[str, float | str]) -> list[Mapping[str, float | str]]:
        spots: list[Mapping[str, float | str]] = [{}, best]
        for knob in self.knobs:
            spots += [{knob.id: setting} for setting in settings_along(knob, 9)]
        if self.dials:
            sequence = qmc.Sobol(len(self.dials), scramble=True, rng=np.random.default_rng(0))
            for choice in self._categories():
                places = sequence.random(32)
                spots += [self._settings(p, choice, snapped=True) for p in places]
        return spots

    def _inside(self, values: Mapping[str, FloatArray], name: str) -> NDArray[np.bool_]:
        low, high, _ = self.windows[name]
        return (values[name] >= low) & (values[name] <= high)

    def _widest(self, values: FloatArray, name: str) -> float:
        """Largest share of draws in any window of the target's width; folds on the log."""
        low, high, _ = self.windows[name]
        if not np.isfinite(low + high):
            return 1.0
        y = values[np.isfinite(values)]
        if self.problem.scales.get(name, "linear") != "linear" and low > 0:
            y, low, high = np.log(y), float(np.log(low)), float(np.log(high))
        y = np.sort(y)
        ends = np.searchsorted(y, y + (high - low), side="right")
        return float(np.max(ends - np.arange(len(y)))) / len(values) if len(y) else 0.0

    def _locations(self) -> tuple[Location, ...]:
        found = []
        middles = {name: float(np.nanmedian(y)) for name, y in self.evaluator.at().items()}
        for name in self.outcomes:
            low, high, _ = self.windows[name]
            if low <= middles[name] <= high:
                continue
            for knob in self.knobs:
                along = [
                    float(np.nanmedian(self.evaluator.at({knob.id: s})[name]))
                    for s in settings_along(knob, 5)
                ]
                limit = low if middles[name] < low else high
                found.append(Location(knob.id, name, min(along), max(along), limit))
        return tuple(found)
