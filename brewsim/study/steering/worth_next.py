"""What the next brew can teach: how much an answer about it is worth to the brew that follows.

Rows are joint draws of the tasted batch, the next brew and the one after. For every answer that
could come, the settings of the brew that follows are those that then have the best chance. Half of
the replicates choose them and the other half judge, then the other way round, so that chance
itself teaches nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.panel import Panel
from brewsim.study.inference.predictive_check import answer_chances
from brewsim.study.inference.sensory_answers import Ladder, Pair, Word
from brewsim.study.model.batch import Answer
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.sweep import snap
from brewsim.study.steering.aims import Seen, all_met
from brewsim.study.steering.fewest_knobs import FewestKnobs
from brewsim.study.steering.relative_draws import NEXT, RelativeDraws
from brewsim.study.steering.relative_steering import Chance, Question

LEAST_GAIN = 0.02
"""A batch in 50: a smaller gain is not told as one."""
SHARES = (0.25, 0.5, 0.75, 1.0)
"""Glasses of a blend ladder."""
MOST_ANSWERS = 16
"""Answers that can be told apart; more of them are merged to neighbours."""
_HELD, _BEST = 0.8, 15
_ROWS = 1024
_FRESH_SEED = 11
_SAME = 1e-9
_BESIDE = f"{NEXT}, other part"

Kind = Literal["ladder", "words", "pair", "split"]


@dataclass(frozen=True)
class Sitting:
    """Who tastes what: an attribute, the quantity of its strength, what hides it, the people."""

    attribute: str
    strength: str
    panel: Panel
    tasters: tuple[str, ...]
    hidden_by: str | None = None

    @property
    def quantities(self) -> tuple[str, ...]:
        """Quantities of a brew that a taster of it depends on."""
        return (self.strength,) if self.hidden_by is None else (self.strength, self.hidden_by)


@dataclass(frozen=True)
class Trial:
    """A brew to learn from, and the settings of another part of its wort if it is split."""

    settings: Mapping[str, float | str]
    beside: Mapping[str, float | str] | None = None


@dataclass(frozen=True)
class Lesson:
    """What asking tasters is worth: the chance of the brew that follows, with and without.

    `lands` is the chance of the brew that is tasted, None for a ladder of the batch there is; then
    what follows is the next brew, else the one after. `gain` is a chance with its half width.
    """

    kind: Kind
    trial: Trial | None
    asked: int
    lands: Chance | None
    without: float
    gain: Chance

    @property
    def pays(self) -> bool:
        """Whether the gain is above its own error and worth a batch in 50."""
        return self.gain[0] > self.gain[1] and self.gain[0] >= LEAST_GAIN


def cross_fitted(answers: FloatArray, met: FloatArray, plan: Plan) -> tuple[float, Chance]:
    """Return the best chance without an answer, and what the answer adds to it.

    Args:
        answers: chance of every answer in every draw, (answers, draws); columns sum to 1.
        met: how far each setting meets what is wished, (settings, draws).
        plan: of the draws; its replicates are the halves.
    """
    blocks = np.arange(plan.draws).reshape(plan.replicates, -1)
    halves = np.array_split(np.arange(plan.replicates), 2)
    told, plain = np.empty(plan.replicates), np.empty(plan.replicates)
    for choosing, judging in (halves, halves[::-1]):
        rows = blocks[choosing].ravel()
        best = (answers[:, rows] @ met[:, rows].T).argmax(axis=1)
        usual = int(met[:, rows].mean(axis=1).argmax())
        for one in judging:
            seen = blocks[one]
            told[one] = (answers[:, seen] * met[np.ix_(best, seen)]).sum(axis=0).mean()
            plain[one] = met[usual, seen].mean()
    gain = told - plain
    return float(plain.mean()), (float(gain.mean()), float(half_width(gain)))


def summed(tables: Sequence[FloatArray]) -> FloatArray:
    """Return the chance of every sum of several people's answers, (sums, draws)."""

    def plus(one: FloatArray, other: FloatArray) -> FloatArray:
        total = np.zeros((len(one) + len(other) - 1, one.shape[1]))
        for place, row in enumerate(other):
            total[place : place + len(one)] += one * row
        return total

    return merged(reduce(plus, tables))


def merged(table: FloatArray) -> FloatArray:
    """Return answers merged to at most so many, neighbours together."""
    if len(table) <= MOST_ANSWERS:
        return table
    starts = np.unique(np.linspace(0, len(table), MOST_ANSWERS + 1)[:-1].astype(int))
    return np.add.reduceat(table, starts, axis=0)


class Lessons:
    """Values trials: what can be asked of them, and what the settings of a later brew gain."""

    def __init__(
        self, question: Question, found: FewestKnobs, sitting: Sitting, *, seed: int = 1
    ) -> None:
        self.question, self.sitting = question, sitting
        self.plan = Plan(rows=_ROWS, seed=seed + _FRESH_SEED)
        self._land = RelativeDraws(
            question.learned,
            question.tasted,
            question.start,
            question.problem,
            tuple(dict.fromkeys((*question.wanted, *sitting.quantities))),
            self.plan,
            held=question.held,
            brews=2,
        )
        settings = self._weighed(found)
        self._after = {brew: np.stack([self._met(s, brew) for s in settings]) for brew in (1, 2)}

    def of_the_batch(self) -> Lesson:
        """Return what a blend ladder of the tasted batch is worth to the next brew."""
        sitting = self.sitting
        cups = self._cups(self._land.tasted[self.question.start.id], self.question.start.id)
        tables = []
        for taster in sitting.tasters:
            ladder = Ladder(
                cups=((self.question.start.id, sitting.strength),),
                panel=sitting.panel,
                taster=taster,
                attribute=sitting.attribute,
                place=0,
                shares=SHARES,
            )
            tables.append(self._chances(ladder, cups))
        return self._lesson("ladder", None, len(tables), summed(tables), None, 1)

    def of_a_brew(self, trial: Trial) -> list[Lesson]:
        """Return what tasting a brew is worth to the one after it."""
        lands = self._chance(self._met(trial.settings, 1))
        cups = self._cups(self._land.tasted[self.question.start.id], self.question.start.id)
        cups |= self._cups(self._land.next_brew(trial.settings), NEXT)
        people = len(self.sitting.tasters)
        if trial.beside is not None:
            cups |= self._cups(self._land.next_brew(trial.beside), _BESIDE)
            return [
                self._lesson("split", trial, n, self._pair(cups, NEXT, _BESIDE, n), lands, 2)
                for n in (people, 4 * people)
            ]
        words = summed([self._words(cups, taster) for taster in self.sitting.tasters])
        start = self.question.start.id
        return [
            self._lesson("words", trial, people, words, lands, 2),
            *(
                self._lesson("pair", trial, n, self._pair(cups, start, NEXT, n), lands, 2)
                for n in (people, 4 * people)
            ),
        ]

    def _weighed(self, found: FewestKnobs) -> list[Settings]:
        """Return settings that the brew after is chosen from: what is held stays held in most."""
        ranked = sorted(found.seen, key=lambda key: -found.seen[key])
        best = [key for key in ranked if self._holds(dict(key))][:_BEST]
        singles = [key for key in ranked if len(key) == 1]
        choosing = [key for key in singles if isinstance(key[0][1], str)]
        good = [key for key in singles if self._holds(dict(key))]
        return [dict(key) for key in dict.fromkeys([(), *best, *good, *choosing])]

    def _holds(self, settings: Settings) -> bool:
        return float(np.mean(self._held(settings))) >= _HELD

    def _held(self, settings: Settings) -> FloatArray:
        land = self._land
        if not self.question.holds:
            return np.ones(1)
        same = Seen(land.same_wort(settings), land.tasted, land.score)
        return all_met(self.question.holds, same, smooth=False)

    def _met(self, settings: Settings, brew: int) -> FloatArray:
        land = self._land
        seen = Seen(land.next_brew(settings, brew), land.tasted, land.score)
        wish = all_met(self.question.wishes, seen, smooth=False)
        return np.broadcast_to(wish * self._held(settings), (self.plan.draws,))

    def _cups(
        self, values: Mapping[str, FloatArray], brew: str
    ) -> dict[tuple[str, str], FloatArray]:
        return {(brew, name): values[name] for name in self.sitting.quantities}

    def _chances(self, answer: Answer, cups: Mapping[tuple[str, str], FloatArray]) -> FloatArray:
        scores = {name: self._land.score(name) for name in answer.latents}
        return answer_chances(answer, [cups[cup] for cup in answer.cups], scores)

    def _words(self, cups: Mapping[tuple[str, str], FloatArray], taster: str) -> FloatArray:
        sitting = self.sitting
        word = Word(
            cups=tuple((NEXT, name) for name in sitting.quantities),
            panel=sitting.panel,
            taster=taster,
            attribute=sitting.attribute,
            place=0,
        )
        return self._chances(word, cups)

    def _pair(
        self, cups: Mapping[tuple[str, str], FloatArray], first: str, second: str, asked: int
    ) -> FloatArray:
        strength = self.sitting.strength
        pair = Pair(
            cups=((first, strength), (second, strength)),
            panel=self.sitting.panel,
            count=0,
            asked=asked,
        )
        return merged(self._chances(pair, cups))

    def _lesson(
        self,
        kind: Kind,
        trial: Trial | None,
        asked: int,
        answers: FloatArray,
        lands: Chance | None,
        brew: int,
    ) -> Lesson:
        without, gain = cross_fitted(answers, self._after[brew], self.plan)
        return Lesson(kind, trial, asked, lands, without, gain)

    def _chance(self, met: FloatArray) -> Chance:
        means = met.reshape(self.plan.replicates, -1).mean(axis=1)
        return float(means.mean()), float(half_width(means))


def balanced(
    question: Question, settings: Settings, knob: str, outcome: str, *, seed: int = 1
) -> dict[str, float | str]:
    """Return settings with a knob turned so that an outcome stays as it was in the same wort.

    The outcome is taken as linear in the knob; where its range does not reach, the knob stands at
    the end.
    """
    turned = question.problem.knob(knob)
    land = replace(question, holds=(), about=(outcome,)).draws(Plan(rows=64, seed=seed), whole=True)
    there = {**settings, knob: turned.high}
    was, without, most = (
        float(np.median(land.same_wort(s)[outcome])) for s in ({}, settings, there)
    )
    now = question.problem.fixed_at(turned.quantity, turned.row)
    if abs(most - without) <= 0:
        return dict(settings)
    value = now + (was - without) / (most - without) * (turned.high - now)
    placed = float(snap(turned, np.array(value)))
    return dict(settings) if abs(placed - now) < _SAME else {**settings, knob: placed}
