"""A wish as numbers with windows, draw by draw, at any settings: what dials can carry along.

Each aim becomes one outcome: times the tasted batch, a step from it, or as it is; its window is
that of every draw. What is wished is seen in the next brew, what is held in the same wort.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.sampling import Plan
from brewsim.study.steering.aims import Aim, Between, Difference, Fold, JustRight, Seen, Window
from brewsim.study.steering.relative_steering import Question

Kind = Literal["fold", "strength", "step", "plain"]
"""Times the tasted batch, in amount or in strength; a difference; the outcome itself."""


@dataclass(frozen=True)
class Shown:
    """An aim's outcome, (draws,), and the ends of its window in every draw."""

    values: FloatArray
    low: FloatArray
    high: FloatArray

    @property
    def inside(self) -> FloatArray:
        """1.0 where a draw lies in its window, else 0.0."""
        return ((self.values >= self.low) & (self.values <= self.high)).astype(float)


class WishValues:
    """The outcomes of a wish on some draws; a taster is drawn for each row of "just right"."""

    def __init__(self, question: Question, plan: Plan) -> None:
        self.question, self.plan = question, plan
        self.graph = question.problem.graph
        self._aims: Mapping[str, tuple[Aim, bool]] = {
            **{aim.outcome: (aim, False) for aim in question.holds},
            **{aim.outcome: (aim, True) for aim in question.wishes},
        }
        self.outcomes = tuple(self._aims)
        self.wished = tuple(aim.outcome for aim in question.wishes)
        self.kinds: Mapping[str, Kind] = {n: _kind(a) for n, (a, _) in self._aims.items()}
        self._land = question.draws(plan)

    def at(self, settings: Settings) -> dict[str, FloatArray]:
        """Return the outcome of every aim, (draws,), at settings by knob."""
        return {name: one.values for name, one in self.shown(settings).items()}

    def at_each(self, settings: Sequence[Settings]) -> list[dict[str, FloatArray]]:
        """Return the same at each of several settings."""
        return [self.at(one) for one in settings]

    def shown(self, settings: Settings) -> dict[str, Shown]:
        """Return every aim's outcome with the ends of its window."""
        land = self._land
        after = Seen(land.next_brew(settings), land.tasted, land.score)
        same = Seen(land.same_wort(settings), land.tasted, land.score)
        return {
            name: self._shown(aim, after if wished else same)
            for name, (aim, wished) in self._aims.items()
        }

    def _shown(self, aim: Aim, seen: Seen) -> Shown:
        if isinstance(aim, JustRight):
            return self._just_right(aim, seen)
        if not isinstance(aim, Window):
            raise TypeError(aim)
        value, (low, high) = aim.place(seen), aim.ends(seen)
        if isinstance(aim, Fold | Between):
            then = seen.then[self.question.start.id][aim.outcome]
            with np.errstate(all="ignore"):
                start = np.log2(then) if isinstance(aim, Between) else np.zeros(1)
                value, low, high = (np.exp2(x - start) for x in (value, low, high))
        return self._whole(value, low, high)

    def _just_right(self, aim: JustRight, seen: Seen) -> Shown:
        """Return how many times as strong as the tasted batch, and one taster's window a row."""
        tasters = aim.tasters or ("",)
        ideals = [aim.ideal(taster, seen.score) for taster in tasters]
        whose = np.arange(self.plan.draws) % len(tasters)
        ideal, half = (
            np.choose(whose, [np.broadcast_to(one[i], whose.shape) for one in ideals])
            for i in (0, 1)
        )
        then = seen.then[self.question.start.id][aim.outcome]
        ends = (seen.now[aim.outcome], ideal - half, ideal + half)
        return self._whole(*(np.exp2(x - then) for x in ends))

    def _whole(self, value: FloatArray, low: FloatArray, high: FloatArray) -> Shown:
        size = (self.plan.draws,)
        return Shown(*(np.broadcast_to(x, size).astype(float) for x in (value, low, high)))


def _kind(aim: Aim) -> Kind:
    if isinstance(aim, JustRight):
        return "strength"
    if isinstance(aim, Fold | Between):
        return "fold"
    return "step" if isinstance(aim, Difference) else "plain"
