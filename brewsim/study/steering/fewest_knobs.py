"""The choice of settings: fewest knobs first, then the smallest change, by a chance on draws.

Every knob alone, every pair, then three; each looked setting is remembered.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, product

import numpy as np

from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.sweep import current_setting, snap

POINTS, COARSE, MOST_KNOBS = 9, 5, 3
"""Places of a knob alone and of each of a pair, and how many knobs move at most."""
MOST_PAIRED = 12
"""Knobs that are tried together: looks at pairs grow with the square of their number."""
AS_GOOD, NEAR, NO_HELP = 0.02, 0.01, 0.02
"""Chance that one knob more must add; that a smaller change may lose; below which none helps."""
_BEST_KEPT = 3
_ROUNDS = 3
_SAME = 1e-9

Setting = float | str
Key = tuple[tuple[str, Setting], ...]
Chance = Callable[[Settings], float]


class FewestKnobs:
    """A search over knobs of a problem for the settings with the best chance.

    `chance` judges a setting between 0 and 1 and should be smooth; settings hold only what
    differs from today.
    """

    def __init__(self, problem: Problem, knobs: Sequence[Knob], chance: Chance) -> None:
        self.knobs = {knob.id: knob for knob in knobs if knob.choices or knob.high > knob.low}
        self.now: Mapping[str, Setting] = {
            name: current_setting(problem, knob) for name, knob in self.knobs.items()
        }
        self._chance = chance
        self.seen: dict[Key, float] = {}

    def look(self, settings: Settings) -> float:
        """Judge a setting, or remember what was seen there."""
        key = self._key(settings)
        if key not in self.seen:
            self.seen[key] = self._chance(dict(key))
        return self.seen[key]

    def _key(self, settings: Settings) -> Key:
        moved = {n: v for n, v in settings.items() if not _alike(v, self.now[n])}
        return tuple(sorted(moved.items()))

    def search(self) -> "FewestKnobs":
        """Look at every knob alone, at pairs, and at three where pairs did best."""
        self.search_alone()
        for one, other in combinations(self.paired(), 2):
            for x, y in product(self._values(one, COARSE), self._values(other, COARSE)):
                self.look({one.id: x, other.id: y})
        self._climb_best(2)
        for key in self._best_of(2):
            for knob in self.paired():
                if knob.id not in dict(key):
                    for value in self._values(knob, POINTS):
                        self.look({**dict(key), knob.id: value})
        self._climb_best(3)
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
        for knob in self.knobs.values():
            for value in self._values(knob, POINTS):
                self.look({knob.id: value})
        self._climb_best(1)
        return self

    def _values(self, knob: Knob, count: int) -> Iterator[Setting]:
        now = self.now[knob.id]
        if knob.choices:
            yield from (c.label for c in knob.choices if c.label != now)
            return
        where = snap(knob, np.linspace(knob.low, knob.high, count))
        for value in dict.fromkeys(np.round(where, 12).tolist()):
            if not _alike(value, now):
                yield float(value)

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
                around = snap(knob, np.array([here - step, here + step]))
                options = [{**settings, name: v} for v in (here, *np.round(around, 12).tolist())]
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

    def chosen(self) -> dict[str, Setting]:
        """Return the fewest knobs that are as good as any, then the smallest change as good."""
        best = max(self.seen.values())
        sizes = self._best_by_size().items()
        size = min(count for count, chance in sizes if chance >= best - AS_GOOD)
        return self._least(size)

    def chosen_by(self, judged: Callable[[Settings], float]) -> dict[str, Setting]:
        """Return the same where another judge, on other draws, says how many knobs are enough."""
        best = {size: dict(self._best_of(size)[0]) for size in sorted(self._best_by_size()) if size}
        chances = {0: judged({}), **{size: judged(there) for size, there in best.items()}}
        enough = max(chances.values()) - AS_GOOD
        return self._least(next(size for size, chance in chances.items() if chance >= enough))

    def _best_by_size(self) -> dict[int, float]:
        top: dict[int, float] = {}
        for key, chance in self.seen.items():
            top[len(key)] = max(top.get(len(key), -np.inf), chance)
        return top

    def _least(self, size: int) -> dict[str, Setting]:
        best = self._best_by_size()[size]
        good = [k for k, c in self.seen.items() if len(k) == size and c >= best - NEAR]
        least = min(good, key=lambda k: (round(self.change(dict(k)), 9), -self.seen[k]))
        return dict(least)

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

    def nearest_useful(self) -> dict[str, Setting] | None:
        """Return the least that goes half the way to the best chance; None where nothing helps."""
        now, best = self.seen[()], max(self.seen.values())
        if best - now < NO_HELP:
            return None
        good = [key for key, chance in self.seen.items() if chance >= now + (best - now) / 2]
        least = min(good, key=lambda k: (len(k), round(self.change(dict(k)), 9)))
        return dict(least)


def _alike(one: Setting, other: Setting) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= _SAME * max(1.0, abs(other))
