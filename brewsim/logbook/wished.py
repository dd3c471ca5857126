"""Wishes against tasted batches as aims: which batch, which window, and what is held by default."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from brewsim.errors import InputError, did_you_mean
from brewsim.logbook.brew import Batches
from brewsim.logbook.entries import Entry
from brewsim.logbook.tasting_answers import WORDS, by_taster
from brewsim.logbook.tasting_entries import STRENGTHS
from brewsim.priors.library import Priors
from brewsim.priors.panel import panel_of
from brewsim.quantities.catalogue import quantity_of
from brewsim.quantities.phrases import read_phrase
from brewsim.recipe.faults import in_words
from brewsim.recipe.wishes import TASTED, Wish
from brewsim.study.inference.panel import EXPONENT, Panel
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.steering.aims import (
    Aim,
    AsStrong,
    Between,
    Difference,
    Fold,
    JustRight,
    NoFurtherOut,
)
from brewsim.units import unit_of

AMOUNTS = {
    "thiols": "thiol_activity",
    "hops": "hop_aroma_activity",
    "bitterness": "bitterness_ibu",
}
HALF_FOLD = 0.5
"""Doublings to either side that are still the same: about one cup's scatter."""
_STEPS = {
    "alcohol_by_volume_fraction": 0.003,
    "final_gravity_sg": 0.002,
}
"""Differences that are still the same beer. Common practice, no source."""
_COLOR = math.log2(1.2)
_IBU, _IBU_STEP = "bitterness_ibu", "bitterness_step_ibu"
_ABOUT = {
    "thiols": ("thiol", "free_3s", "free_4msp"),
    "hops": ("hop_aroma", "thiol_lead"),
    "bitterness": ("bitterness",),
}
"""Beginnings of the quantities that a wish decides instead of [targets]."""


@dataclass(frozen=True)
class Aims:
    """What is wished and held, in words and as aims, and the batch that the next is turned from.

    `default` says which holds came from the words on that batch, `set_aside` which targets the
    wish takes the place of.
    """

    start: Batch
    tasted: tuple[Batch, ...]
    wishes: Mapping[str, Aim]
    holds: Mapping[str, Aim]
    said: Mapping[str, str]
    default: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Desk:
    """What turning a wish into an aim needs."""

    log: Batches
    panel: Panel
    problem: Problem
    step: float

    def batch(self, name: str) -> str:
        wanted = " ".join(name.split())
        known = [entry.id for entry in self.log.entries]
        if wanted not in known:
            near = did_you_mean(wanted, known) or f" There is: {', '.join(known)}."
            raise ValueError(f"“{wanted}” is no batch of the log.{near}")
        return wanted

    def entry(self, name: str) -> Entry:
        return next(entry for entry in self.log.entries if entry.id == name)

    def aim(self, wish: Wish, start: str) -> Aim:
        """Return the aim of a wish; raises ValueError in words."""
        quantity = AMOUNTS.get(wish.name, quantity_of(wish.name))
        if quantity not in self.problem.graph:
            raise ValueError(f"this recipe has no {wish.name} to wish for")
        if wish.kind == "just right":
            tasters = self.entry(start).tasted.tasters if start else ()
            return JustRight(STRENGTHS[wish.name], wish.name, tuple(tasters), self.panel)
        if wish.kind == "between":
            one, other = (self.batch(name) for name in wish.batches)
            return Between(quantity, (one, other))
        batch = self.batch(wish.batches[0])
        if wish.kind == "strong":
            exponent = self.panel.trait(EXPONENT).panel
            ends = (-HALF_FOLD, HALF_FOLD)
            return AsStrong(quantity, batch, *ends, times=wish.times, exponent=exponent)
        if wish.kind == "window":
            return Fold(quantity, batch, math.log2(wish.low), math.log2(wish.high))
        if wish.kind == "times":
            middle = math.log2(wish.times)
            return Fold(quantity, batch, middle - HALF_FOLD, middle + HALF_FOLD)
        return self._side(wish.kind, quantity, batch)

    def _side(self, kind: str, quantity: str, batch: str) -> Aim:
        step = self.step if quantity == _IBU else _STEPS.get(quantity)
        half = step if step is not None else _COLOR if "color" in quantity else HALF_FOLD
        shape = Fold if step is None else Difference
        low = {"as": -half, "more": half, "not less": -half}.get(kind, -np.inf)
        high = {"as": half, "less": -half, "not more": half}.get(kind, np.inf)
        return shape(quantity, batch, low, high)

    def held_by_words(self, batch: str) -> Iterator[tuple[str, str, Aim]]:
        """Yield (attribute, what was said, aim) for what the tasters of a batch had words for."""
        for name in TASTED:
            text = self.entry(batch).tasted.words.get(name)
            if text is None or AMOUNTS[name] not in self.problem.graph:
                continue
            words = [word for _, word in by_taster(text, self.entry(batch).tasted.tasters)]
            if not words:
                continue
            said = _usual(words)
            kind = {"just right": "as"}.get(said, "not less" if "little" in said else "not more")
            yield name, said, self._side(kind, AMOUNTS[name], batch)


def _usual(words: Sequence[str]) -> str:
    """Return the word most tasters said; of several, the one nearest to just right."""
    counts = Counter(words)
    most = max(counts.values())
    return min((w for w, n in counts.items() if n == most), key=lambda w: abs(WORDS.index(w) - 2))


def aims_of(
    wishes: Mapping[str, Wish],
    holds: Mapping[str, Wish],
    problem: Problem,
    log: Batches,
    priors: Priors,
) -> Aims:
    """Return what is wished and held of the next beer.

    Without a wish, thiols are wished to be just right where there are words on them. Without a
    hold, what the words of the same batch say is held. Targets hold too, in absolute terms.

    Raises
    ------
        InputError: with every fault of the wishes.
    """
    desk = _Desk(log, panel_of(priors), problem, _middle(problem, _IBU_STEP, priors))
    faults: list[str] = []
    start = _start(wishes, log)
    if not wishes and start is not None and "thiols" in desk.entry(start).tasted.words:
        wishes = {"thiols": Wish("thiols", "just right", text="just right")}
    if not wishes:
        told = 'say what you want, such as --wish "thiols: half of G1"'
        raise InputError("wish", [f"nothing is wished for, and no batch was tasted; {told}"])
    wished = dict(_each(desk, wishes, "wish", start or "", faults))
    kept = dict(_each(desk, holds, "hold", start or "", faults))
    twice = sorted(wished.keys() & kept.keys())
    faults += [f"hold {name}: is wished for and held; keep one" for name in twice]
    if faults or start is None:
        raise InputError("wish", faults or ["no batch of the log is named or was tasted"])
    said = {name: wish.text for name, wish in (*wishes.items(), *holds.items())}
    default: list[str] = []
    if not holds:
        for name, word, aim in desk.held_by_words(start):
            if name not in wished:
                kept[name] = aim
                said[name] = f"{word} in {start}"
                default.append(name)
    aside, absolute = _targets(problem, {*wished, *kept}, start)
    kept |= absolute
    named = dict.fromkeys(
        [start, *(b for w in (*wishes.values(), *holds.values()) for b in w.batches)]
    )
    batches = {batch.id: batch for batch in log.batches}
    tasted = tuple(batches[" ".join(name.split())] for name in named)
    return Aims(batches[start], tasted, wished, kept, said, tuple(default), aside)


def _each(
    desk: _Desk, wishes: Mapping[str, Wish], kind: str, start: str, faults: list[str]
) -> Iterator[tuple[str, Aim]]:
    for name, wish in wishes.items():
        try:
            yield name, desk.aim(wish, start)
        except ValueError as error:
            faults.append(in_words(wish.line, f"{kind} {name}", f"“{wish.text}”: {error}"))


def _start(wishes: Mapping[str, Wish], log: Batches) -> str | None:
    """Return the batch to turn from: the latest one named, else the latest tasted one."""
    order = [entry.id for entry in log.entries]
    named = {" ".join(name.split()) for wish in wishes.values() for name in wish.batches}
    for name in reversed(order):
        if name in named:
            return name
    tasted = [entry.id for entry in log.entries if entry.tasted.words]
    return tasted[-1] if tasted else (order[-1] if named and order else None)


def _targets(
    problem: Problem, decided: set[str], start: str
) -> tuple[tuple[str, ...], dict[str, Aim]]:
    """Return the targets that wishes and holds take the place of, and the others as holds."""
    beginnings = tuple(start for name in decided for start in _ABOUT.get(name, ()))
    quantities = {AMOUNTS.get(name, quantity_of(name)) for name in decided}
    aside, held = [], {}
    for name, target in problem.targets.items():
        if name in quantities or (beginnings and name.startswith(beginnings)):
            aside.append(name)
        else:
            held[name] = _held(name, target, start)
    return tuple(aside), held


def _held(name: str, target: Target, start: str) -> Aim:
    low, high = target.ends
    return NoFurtherOut(name, start, low, high)


def _middle(problem: Problem, quantity: str, priors: Priors) -> float:
    factor = next((f for f in problem.factors if f.quantity == quantity), None)
    if factor is not None:
        return float(factor.distribution.median)
    if quantity in problem.fixed:
        return problem.fixed_at(quantity)
    prior = priors.scalar(quantity)
    return 5.0 if prior is None else prior.value


def question_problem(aims: Aims, problem: Problem, log: Batches) -> Problem:
    """Return the problem to turn from: the batch as brewed, with the recipe's knobs.

    A batch that left out a line of the recipe has none; then the recipe's are set as it says.

    Raises
    ------
        InputError: where such a batch also changed what is no knob.
    """
    brewed = aims.start.problem
    if [k.id for k in brewed.knobs] == [k.id for k in problem.knobs]:
        return brewed
    entry = next(entry for entry in log.entries if entry.id == aims.start.id)
    settings: dict[str, float | str] = {}
    for where, text in entry.changed.items():
        knob = next((k for k in problem.knobs if k.id == where), None)
        if knob is None:
            told = f"left out a line and changed {where}, which is no knob; add it to [knobs]"
            raise InputError(f"batch {entry.id}", [told])
        plain = read_phrase(text, unit_of(knob.quantity) or "").value if not knob.choices else ""
        settings[where] = plain or (str(text) if knob.choices else 0.0)
    return problem.set(settings)
