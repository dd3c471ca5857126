"""Kinds of answers that tasters give, each with its exact likelihood.

A cup's value is a strength in doublings, log2(1 + activity). A taster without a name is somebody
new each time: how people differ is then added to the scatter.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import comb, log, sqrt

import numpy as np
from scipy.special import ndtr

from brewsim.dims import FloatArray
from brewsim.study.inference import sensory_likelihood as likely
from brewsim.study.inference.panel import (
    DAY,
    HALF,
    HIDING,
    SCATTER,
    WIDTH,
    WORDS,
    Panel,
    ideal_of,
    salience_of,
)
from brewsim.study.model.batch import Answer, Cup

_LEAST_SHARE = 1e-9
_LEAST_ACTIVITY = 1e-9
_NARROWEST = 1e-6

Scores = Mapping[str, FloatArray]


@dataclass(frozen=True, kw_only=True)
class _Said(Answer):
    """What all kinds have: the cups, who said it, and the priors of the people."""

    cups: tuple[Cup, ...]
    panel: Panel
    taster: str = ""
    label: str = ""

    @property
    def traits(self) -> tuple[str, ...]:
        """Traits of the people it depends on."""
        return (SCATTER,)

    @property
    def latents(self) -> tuple[str, ...]:
        """Names of the people's latents that it depends on."""
        return tuple(self.panel.latents(self.traits, self.taster))

    def fingerprint(self, latent: str) -> str:
        """Return what a score of one of its latents means; equal texts mean the same."""
        return self.panel.fingerprint(latent)

    def _scatter(self, scores: Scores, *, day: bool = False, between: str = "") -> FloatArray:
        """Return the sd of one judgement: the cup's, the day's, and between people not named."""
        variance = self._trait(SCATTER, scores) ** 2
        if day:
            variance = variance + self.panel.value(DAY, "", scores) ** 2
        if between and not self.taster:
            variance = variance + self.panel.trait(between).variance
        return np.sqrt(variance)

    def _trait(self, name: str, scores: Scores) -> FloatArray:
        return self.panel.value(name, self.taster, scores)

    def row(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return -sqrt(-2 log likelihood), whose square is the exact one."""
        return -np.sqrt(np.maximum(-2 * self.log(ys, scores), 0.0))


@dataclass(frozen=True, kw_only=True)
class Word(_Said):
    """One of the five words of a just-about-right scale, 0 "far too little" to 4.

    A second cup is what hides the first: the taster reads y1 - kappa y2.
    """

    attribute: str
    place: int

    @property
    def traits(self) -> tuple[str, ...]:
        """Traits of the people it depends on."""
        hiding = (HIDING,) if len(self.cups) > 1 else ()
        return (SCATTER, ideal_of(self.attribute), HALF, WIDTH, WORDS, *hiding)

    def _parts(self, ys: Sequence[FloatArray], scores: Scores) -> tuple[FloatArray, ...]:
        own = self._trait(WORDS, scores)
        ideal = self._trait(ideal_of(self.attribute), scores)
        half = self.panel.value(HALF, "", scores) * own
        width = self.panel.value(WIDTH, "", scores) * own
        y = ys[0] if len(ys) == 1 else ys[0] - self.panel.value(HIDING, "", scores) * ys[1]
        sd = self._scatter(scores, day=True, between=ideal_of(self.attribute))
        return y, ideal, half, width, sd

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the word."""
        y, ideal, half, width, sd = self._parts(ys, scores)
        cuts = likely.just_about_right_cuts(ideal, half, width)
        return likely.log_category(self.place, y, cuts, sd)

    def row(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return a residual about an inner word's middle; of an end word the exact root."""
        if self.place in (0, 4):
            return (1.0 if self.place == 0 else -1.0) * -super().row(ys, scores)
        y, ideal, half, width, sd = self._parts(ys, scores)
        away = (half + width / 2) * (self.place - 2)
        return _about_middle(y - ideal - away, half if self.place == 2 else width / 2, sd)

    @property
    def outcomes(self) -> tuple["Word", ...]:
        """All five words."""
        return tuple(replace(self, place=place) for place in range(5))


@dataclass(frozen=True, kw_only=True)
class InFront(_Said):
    """Which attribute stands in front; one cup for each attribute, the first is the reference."""

    attributes: tuple[str, ...]
    chosen: int

    @property
    def traits(self) -> tuple[str, ...]:
        """Traits of the people it depends on."""
        return (SCATTER, *map(salience_of, self.attributes[1:]))

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the choice."""
        names = [salience_of(a) for a in self.attributes[1:]]
        moved = [y + self._trait(n, scores) for y, n in zip(ys[1:], names, strict=True)]
        sd = self._scatter(scores, day=True, between=names[0])
        return likely.log_dominant(self.chosen, [ys[0], *moved], sd)

    @property
    def outcomes(self) -> tuple["InFront", ...]:
        """All attributes."""
        return tuple(replace(self, chosen=i) for i in range(len(self.attributes)))


@dataclass(frozen=True, kw_only=True)
class _Counted(_Said):
    """So many of those asked: stronger in a pair, right in a difference test."""

    count: int
    asked: int

    @property
    def log_ways(self) -> float:
        """Log of the number of ways to choose them."""
        return log(comb(self.asked, self.count))

    @property
    def outcomes(self) -> tuple["_Counted", ...]:
        """All counts."""
        return tuple(replace(self, count=count) for count in range(self.asked + 1))

    def row(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the arcsine residual of the share."""
        one = np.exp(replace(self, count=1, asked=1).log(ys, scores))
        share = np.clip(one, _LEAST_SHARE, 1 - _LEAST_SHARE)
        seen = np.arcsin(sqrt(self.count / self.asked))
        return np.asarray(2 * sqrt(self.asked) * (np.arcsin(np.sqrt(share)) - seen))


@dataclass(frozen=True, kw_only=True)
class Pair(_Counted):
    """How many of those asked found the first cup stronger than the second."""

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the count."""
        return likely.log_paired(self.count, self.asked, ys[0], ys[1], self._scatter(scores))


@dataclass(frozen=True, kw_only=True)
class Difference(_Counted):
    """How many were right in a difference test, which does not say which cup is stronger."""

    method: likely.Method

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the count."""
        distance = np.abs(ys[0] - ys[1]) / self._scatter(scores)
        return likely.log_difference(self.count, self.asked, self.method, distance)


@dataclass(frozen=True, kw_only=True)
class Ranking(_Said):
    """An order with ties, strongest first: groups of places among the cups."""

    places: tuple[tuple[int, ...], ...]

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the order."""
        return likely.log_ranking(self.places, ys, self._scatter(scores))

    @property
    def outcomes(self) -> tuple["Ranking", ...]:
        """All orders with ties."""
        orders = likely.weak_orders(range(len(self.cups)))
        return tuple(replace(self, places=order) for order in orders)


@dataclass(frozen=True, kw_only=True)
class Ladder(_Said):
    """Which of several blends was just right: rising shares of the beer in a plain one.

    A second cup is the plain beer; without one it has nothing of the attribute.
    """

    attribute: str
    place: int
    shares: tuple[float, ...]

    @property
    def traits(self) -> tuple[str, ...]:
        """Traits of the people it depends on."""
        return (SCATTER, ideal_of(self.attribute))

    def _parts(
        self, ys: Sequence[FloatArray], scores: Scores
    ) -> tuple[list[FloatArray], FloatArray, FloatArray]:
        """Return the glasses in rising order, the ideal and the scatter.

        Where the plain beer has more of the attribute, both are turned round.
        """
        amount = np.maximum(np.exp2(ys[0]) - 1, _LEAST_ACTIVITY)
        plain = np.maximum(np.exp2(ys[1]) - 1, 0.0) if len(ys) > 1 else np.zeros_like(amount)
        turned = np.where(amount >= plain, 1.0, -1.0)
        glasses = [turned * np.log2(1 + s * amount + (1 - s) * plain) for s in self.shares]
        trait = ideal_of(self.attribute)
        ideal = turned * self._trait(trait, scores)
        return glasses, ideal, self._scatter(scores, between=trait)

    def log(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return the log likelihood of the glass."""
        return likely.log_ladder(self.place, *self._parts(ys, scores))

    def row(self, ys: Sequence[FloatArray], scores: Scores) -> FloatArray:
        """Return a residual about an inner glass's middle; of an end glass the exact root."""
        if self.place in (0, len(self.shares) - 1):
            return (1.0 if self.place == 0 else -1.0) * -super().row(ys, scores)
        glasses, ideal, sd = self._parts(ys, scores)
        low, high = likely.ladder_limits(self.place, glasses)
        return _about_middle(ideal - 0.5 * (low + high), 0.5 * (high - low), sd)

    @property
    def outcomes(self) -> tuple["Ladder", ...]:
        """All glasses."""
        return tuple(replace(self, place=place) for place in range(len(self.shares)))


def _about_middle(gap: FloatArray, half: FloatArray, sd: FloatArray) -> FloatArray:
    """Return a residual with the curvature that a category of that half width has in its middle."""
    x = np.maximum(half / sd, _NARROWEST)
    curvature = 2 * x * likely.density(x) / (2 * ndtr(x) - 1)
    return np.asarray(gap / sd * np.sqrt(curvature))
