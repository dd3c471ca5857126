"""What the next beer should be, relative to tasted ones: windows of folds, differences, amounts.

An aim judges every draw: 1 where it is met, 0 where not, a share where several people are asked.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.study.inference.panel import EXPONENT, HALF, PEOPLE, WORDS, Panel, ideal_of

SOFTNESS = 0.15
"""Width of a smoothed edge, in half widths of the window."""
_OPEN_HALF = 0.5
"""Half width that stands for a window open on one side."""
_FAR = 1e9

Values = Mapping[str, FloatArray]
Score = Callable[[str], FloatArray]
"""Gives the scores of a person's latent, (n,)."""


@dataclass(frozen=True)
class Seen:
    """What an aim judges: a brew's outcomes, those of the tasted batches, and the people.

    `now` are outcomes of the brew that is judged, (n,) each, `then` those of each tasted batch.
    """

    now: Values
    then: Mapping[str, Values]
    score: Score


class Aim(ABC):
    """A condition on one outcome of a brew, judged draw by draw."""

    outcome: str

    @property
    def outcomes(self) -> tuple[str, ...]:
        """The quantities it has to be given."""
        return (self.outcome,)

    @abstractmethod
    def met(self, seen: Seen) -> FloatArray:
        """Return how far it is met, (n,) between 0 and 1."""

    @abstractmethod
    def nearly_met(self, seen: Seen) -> FloatArray:
        """Return the same with smoothed edges."""


@dataclass(frozen=True)
class Window(Aim):
    """A window of one number per draw; subclasses say of which, and where it lies."""

    outcome: str

    @abstractmethod
    def place(self, seen: Seen) -> FloatArray:
        """Return the number that is held against the window, (n,)."""

    @abstractmethod
    def ends(self, seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return the ends of the window, infinite where it is open."""

    def met(self, seen: Seen) -> FloatArray:
        """Return 1.0 where the number lies in the window."""
        low, high = self.ends(seen)
        x = self.place(seen)
        return ((x >= low) & (x <= high)).astype(float)

    def nearly_met(self, seen: Seen) -> FloatArray:
        """Return the product of the two smoothed edges."""
        low, high = self.ends(seen)
        x = np.nan_to_num(self.place(seen), nan=-_FAR, neginf=-_FAR, posinf=_FAR)
        half = np.where(np.isfinite(high - low), (high - low) / 2, _OPEN_HALF)
        width = SOFTNESS * np.maximum(half, 1e-12)
        with np.errstate(over="ignore", invalid="ignore"):
            below = np.where(np.isfinite(low), expit((x - low) / width), 1.0)
            above = np.where(np.isfinite(high), expit((high - x) / width), 1.0)
        return below * above


def _log2(values: FloatArray) -> FloatArray:
    with np.errstate(all="ignore"):
        return np.log2(values)


@dataclass(frozen=True)
class Fold(Window):
    """log2 of an outcome over that of a tasted batch."""

    batch: str
    low: float = -np.inf
    high: float = np.inf

    def place(self, seen: Seen) -> FloatArray:
        """Return the doublings from the tasted batch; 0 where neither has any."""
        here, there = seen.now[self.outcome], seen.then[self.batch][self.outcome]
        return np.where(here == there, 0.0, _log2(here) - _log2(there))

    def ends(self, _seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return the ends in doublings."""
        return np.array(self.low), np.array(self.high)


@dataclass(frozen=True)
class AsStrong(Fold):
    """So many times as strong as a tasted batch: the amount that a power law of strength needs."""

    times: float = 1.0
    exponent: Distribution | None = None

    def ends(self, seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return the ends in doublings of the amount, draw by draw."""
        n = np.ones(1) if self.exponent is None else self.exponent.from_score(seen.score(_EXPONENT))
        middle = np.log2(self.times) / n
        return middle + self.low, middle + self.high


_EXPONENT = f"{EXPONENT}{PEOPLE}"


@dataclass(frozen=True)
class Difference(Window):
    """An outcome less that of a tasted batch."""

    batch: str
    low: float = -np.inf
    high: float = np.inf

    def place(self, seen: Seen) -> FloatArray:
        """Return the difference."""
        return seen.now[self.outcome] - seen.then[self.batch][self.outcome]

    def ends(self, _seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return the ends in the outcome's unit."""
        return np.array(self.low), np.array(self.high)


@dataclass(frozen=True)
class NoFurtherOut(Window):
    """Limits of an outcome, or no further outside of them than a tasted batch is."""

    batch: str
    low: float = -np.inf
    high: float = np.inf

    def place(self, seen: Seen) -> FloatArray:
        """Return the outcome."""
        return seen.now[self.outcome]

    def ends(self, seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return the limits, widened to where the tasted batch lies."""
        there = seen.then[self.batch][self.outcome]
        slack = 1e-9 * np.maximum(np.abs(there), 1e-12)
        return np.minimum(self.low, there - slack), np.maximum(self.high, there + slack)


@dataclass(frozen=True)
class Between(Window):
    """Between two tasted batches, whichever has less."""

    batches: tuple[str, str]

    def place(self, seen: Seen) -> FloatArray:
        """Return log2 of the outcome."""
        return _log2(seen.now[self.outcome])

    def ends(self, seen: Seen) -> tuple[FloatArray, FloatArray]:
        """Return log2 of the smaller and the larger of the two."""
        one, other = (_log2(seen.then[name][self.outcome]) for name in self.batches)
        return np.minimum(one, other), np.maximum(one, other)


@dataclass(frozen=True)
class JustRight(Aim):
    """The share of the tasters who would say just right; one panel member where none is named.

    `outcome` is a strength in doublings.
    """

    outcome: str
    attribute: str
    tasters: tuple[str, ...]
    panel: Panel

    def met(self, seen: Seen) -> FloatArray:
        """Return the share of tasters within their own half width of their ideal."""
        return self._share(seen, lambda gap, half: (np.abs(gap) < half).astype(float))

    def nearly_met(self, seen: Seen) -> FloatArray:
        """Return the same with smoothed edges."""
        return self._share(
            seen,
            lambda gap, half: (
                expit((gap + half) / (SOFTNESS * half)) * expit((half - gap) / (SOFTNESS * half))
            ),
        )

    def _share(
        self, seen: Seen, judge: Callable[[FloatArray, FloatArray], FloatArray]
    ) -> FloatArray:
        y = np.nan_to_num(seen.now[self.outcome], nan=-_FAR, neginf=-_FAR, posinf=_FAR)
        total = np.zeros_like(y)
        for taster in self.tasters or ("",):
            ideal, half = self.ideal(taster, seen.score)
            total = total + judge(y - ideal, half)
        return total / max(len(self.tasters), 1)

    def ideal(self, taster: str, score: Score) -> tuple[FloatArray, FloatArray]:
        """Return a taster's ideal and half the width of just right, in doublings."""
        trait = ideal_of(self.attribute)
        names = tuple(self.panel.latents((trait, HALF, WORDS), taster))
        scores = {name: score(name) for name in names}
        half = self.panel.value(HALF, "", scores) * self.panel.value(WORDS, taster, scores)
        return self.panel.value(trait, taster, scores), half


def all_met(aims: Sequence[Aim], seen: Seen, *, smooth: bool) -> FloatArray:
    """Return the product of all aims, (n,) or (1,) where there is none."""
    total: FloatArray = np.ones(1)
    for aim in aims:
        judge = aim.nearly_met if smooth else aim.met
        total = total * judge(seen)
    return total
