"""The choice of settings: fewest knobs first, then the smallest change, by a chance on draws.

Every knob alone, every pair, then three; each looked setting is remembered. What is chosen is
judged once more on fresh draws and advised only where it gains enough: the one rule of what is
worth turning, for targets and for a tasted batch.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import combinations, product

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.sweep import current_setting, snap

POINTS, COARSE, MOST_KNOBS = 9, 5, 3
"""Places of a knob alone and of each of a pair, and how many knobs move at most."""
MOST_PAIRED = 12
"""Knobs that are tried together: looks at pairs grow with the square of their number."""
AS_GOOD, NEAR = 0.02, 0.01
"""Chance that one knob more must add; that a smaller change may lose."""
WORTH_TURNING = 0.04
"""Two batches in 50: a move that gains less, or no more than its own error, is not advised."""
_MOST_JUDGED = 12
_BEST_KEPT = 3
_ROUNDS = 3
_SAME = 1e-9

Setting = float | str
Key = tuple[tuple[str, Setting], ...]
Chance = Callable[[Settings], float]
Ahead = Callable[[Sequence[Settings]], object]
Gain = tuple[float, float]
"""What a move adds to today's chance on fresh draws, and the half width of its interval."""
Judge = Callable[[Settings], Gain]


def is_worth_turning(gain: Gain) -> bool:
    """Return whether a move is advised: it gains two batches in 50, and more than its error.

    >>> is_worth_turning((0.05, 0.01)), is_worth_turning((0.03, 0.01))
    (True, False)
    """
    return gain[0] >= WORTH_TURNING and gain[0] > gain[1]


class FewestKnobs:
    """A search over knobs of a problem for the settings with the best chance.

    `chance` judges a setting between 0 and 1 and should be smooth; settings hold only what
    differs from today. `ahead` is given several that `chance` is about to be asked for: what
    judges can look at them together and remember.
    """

    def __init__(
        self,
        problem: Problem,
        knobs: Sequence[Knob],
        chance: Chance,
        ahead: Ahead = lambda _settings: None,
    ) -> None:
        self.knobs = {knob.id: knob for knob in knobs if knob.choices or knob.high > knob.low}
        self.now: Mapping[str, Setting] = {
            name: current_setting(problem, knob) for name, knob in self.knobs.items()
        }
        self._chance, self._ahead = chance, ahead
        self.seen: dict[Key, float] = {}

    def look(self, settings: Settings) -> float:
        """Judge a setting, or remember what was seen there."""
        key = self._key(settings)
        if key not in self.seen:
            self.seen[key] = self._chance(dict(key))
        return self.seen[key]

    def _look_each(self, settings: Iterable[Settings]) -> None:
        keys = dict.fromkeys(map(self._key, settings))
        self._ahead([dict(key) for key in keys if key not in self.seen])
        for key in keys:
            self.look(dict(key))

    def _key(self, settings: Settings) -> Key:
        moved = {n: v for n, v in settings.items() if not _alike(v, self.now[n])}
        return tuple(sorted(moved.items()))

    def search(self) -> "FewestKnobs":
        """Look at every knob alone, at pairs, and at three where pairs did best."""
        self.search_alone()
        self._look_each(
            {one.id: x, other.id: y}
            for one, other in combinations(self.paired(), 2)
            for x, y in product(self._values(one, COARSE), self._values(other, COARSE))
        )
        self._climb_best(2)
        self._look_each(
            {**dict(key), knob.id: value}
            for key in self._best_of(2)
            for knob in self.paired()
            if knob.id not in dict(key)
            for value in self._values(knob, POINTS)
        )
        self._climb_best(3)
        return self

    def also(self, settings: Settings) -> "FewestKnobs":
        """Look at settings found elsewhere, then with one knob after the other left as it is.

        The knob that is missed least is left first.
        """
        there: dict[str, Setting] = {}
        for name, value in settings.items():
            if name in self.knobs:
                text = isinstance(value, str)
                there[name] = value if text else _printed(self.knobs[name], np.array([value]))[0]
        there = dict(self._key(there))
        self.look(there)
        while there:
            fewer = [{n: v for n, v in there.items() if n != name} for name in there]
            there = max(fewer, key=self.look)
        return self

    def paired(self) -> list[Knob]:
        """Return the knobs that are tried together: of many, those that do most alone."""
        best = dict.fromkeys(self.knobs, -np.inf)
        for key, chance in self.seen.items():
            if len(key) == 1:
                best[key[0][0]] = max(best[key[0][0]], chance)
        kept = set(sorted(best, key=lambda name: -best[name])[:MOST_PAIRED])
        return [knob for name, knob in self.knobs.items() if name in kept]

    def search_alone(self) -> "FewestKnobs":
        """Look at every knob alone."""
        self.look({})
        self._look_each(
            {knob.id: value} for knob in self.knobs.values() for value in self._values(knob, POINTS)
        )
        self._climb_best(1)
        return self

    def _values(self, knob: Knob, count: int) -> Iterator[Setting]:
        now = self.now[knob.id]
        if knob.choices:
            yield from (c.label for c in knob.choices if c.label != now)
            return
        for value in dict.fromkeys(_printed(knob, np.linspace(knob.low, knob.high, count))):
            if not _alike(value, now):
                yield value

    def _climb_best(self, size: int) -> None:
        for key in self._best_of(size):
            self._climbed(dict(key))

    def _best_of(self, size: int) -> list[Key]:
        """Return the best settings that move so many knobs, no two of them the same knobs."""
        found: dict[tuple[str, ...], Key] = {}
        for key, chance in self.seen.items():
            who = tuple(name for name, _ in key)
            if len(key) == size and (who not in found or chance > self.seen[found[who]]):
                found[who] = key
        return sorted(found.values(), key=lambda key: -self.seen[key])[:_BEST_KEPT]

    def _climbed(self, settings: dict[str, Setting]) -> None:
        """Move each dial a step to either side, with steps that halve."""
        options: list[dict[str, Setting]]
        for halving in range(_ROUNDS):
            for name, here in list(settings.items()):
                knob = self.knobs[name]
                if isinstance(here, str):
                    continue
                step = (knob.high - knob.low) / (POINTS - 1) / 2**halving
                around = _printed(knob, np.array([here - step, here + step]))
                options = [{**settings, name: v} for v in (here, *around)]
                self._look_each(options)
                settings = max(options, key=self.look)

    def change(self, settings: Settings) -> float:
        """Sum of the moves in shares of each knob's range; another choice counts as 1."""
        total = 0.0
        for name, value in settings.items():
            knob, now = self.knobs[name], self.now[name]
            if isinstance(value, str) or isinstance(now, str):
                total += float(value != now)
            else:
                total += abs(value - now) / (knob.high - knob.low)
        return total

    def chosen_by(self, judge: Judge) -> dict[str, Setting]:
        """Return the fewest knobs as good as any, then the smallest change as good.

        `judge` gives gains on other draws than the search's; nothing is returned where no move
        that was looked at is worth turning by it.
        """
        best = {size: dict(self._best_of(size)[0]) for size in self._best_by_size() if size}
        gains = {size: judge(there) for size, there in best.items()}
        worth = {size: gain for size, gain in gains.items() if is_worth_turning(gain)}
        if not worth:
            return {}
        enough = max(gain for gain, _ in worth.values()) - AS_GOOD
        size = min(size for size, gain in worth.items() if gain[0] >= enough)
        return self._least(self._near(size), judge) or best[size]

    def _best_by_size(self) -> dict[int, float]:
        top: dict[int, float] = {}
        for key, chance in self.seen.items():
            top[len(key)] = max(top.get(len(key), -np.inf), chance)
        return top

    def _near(self, size: int) -> list[Key]:
        best = self._best_by_size()[size]
        return [k for k, c in self.seen.items() if len(k) == size and c >= best - NEAR]

    def _least(self, good: Iterable[Key], judge: Judge) -> dict[str, Setting] | None:
        """Return the fewest knobs and the smallest change of some that are worth turning."""
        ordered = sorted(
            good, key=lambda k: (len(k), round(self.change(dict(k)), 9), -self.seen[k])
        )
        found = (dict(key) for key in ordered[:_MOST_JUDGED])
        return next((one for one in found if is_worth_turning(judge(one))), None)

    def singles(self) -> list[dict[str, Setting]]:
        """Return each knob at its best place by itself, the best knob first."""
        best: dict[str, Key] = {}
        for key, chance in self.seen.items():
            if len(key) != 1:
                continue
            before = best.get(key[0][0])
            if before is None or chance > self.seen[before]:
                best[key[0][0]] = key
        return [dict(key) for key in sorted(best.values(), key=lambda k: -self.seen[k])]

    def best(self) -> dict[str, Setting]:
        """Return the settings with the best chance of all that were looked at."""
        best = max(self.seen, key=lambda key: self.seen[key])
        return dict(best)

    def nearer(self, one: Settings, other: Settings) -> Settings:
        """Return the one of two that moves fewer knobs, or as many less far."""
        return min(other, one, key=lambda s: (len(s), round(self.change(s), 9)))

    def nearest_useful(self, judge: Judge) -> dict[str, Setting] | None:
        """Return the least that goes half the way to the best chance; None where none is worth it.

        `judge` as in `chosen_by`.
        """
        now, best = self.seen[()], max(self.seen.values())
        half = now + (best - now) / 2
        good = [key for key, chance in self.seen.items() if key and chance >= half]
        return self._least(good, judge)


def _printed(knob: Knob, values: FloatArray) -> list[float]:
    """Return the knob's steps nearest to some settings, without steps those that are printed."""
    found = snap(knob, values)
    if knob.step <= 0:
        shown = np.round((found - knob.zero) / knob.per_shown, knob.decimals)
        found = np.clip(knob.zero + shown * knob.per_shown, knob.low, knob.high)
    return [float(value) for value in np.round(found, 12)]


def _alike(one: Setting, other: Setting) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= _SAME * max(1.0, abs(other))
