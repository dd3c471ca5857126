"""A move from a tasted batch in words: what is turned, folds of that batch, counts of fifty."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from brewsim.logbook.wished import AMOUNTS
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import number
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.steering.aims import Aim
from brewsim.study.steering.relative_steering import Chance, Ends
from brewsim.wording.knobs import knob_words

SLIGHT = 0.02
"""A fold this near to 1 is written as the same."""


def of_fifty(chance: Chance) -> str:
    """Return "21 (± 1)" of 50; the error of a count is never less than 1."""
    error = max(1, math.ceil(DOTS * chance[1] - 0.05))
    return f"{number(DOTS * chance[0], 0)} (± {error})"


def fold(ends: Ends) -> str:
    """Return a middle fold with its ends, "0.55 times (0.19 to 1.5, nine in ten)"."""
    if abs(ends.low - 1) < SLIGHT and abs(ends.high - 1) < SLIGHT:
        return "the same"
    low, middle, high = (number(v, decimals(v)) for v in (ends.low, ends.middle, ends.high))
    return f"{middle} times ({low} to {high}, nine in ten)"


def decimals(value: float) -> int | None:
    """Return how many decimals a fold is written with; None leaves it to the figures."""
    return 2 if 0.1 <= abs(value) < 1 else 1 if abs(value) >= 1 else None


def moved_words(problem: Problem, settings: Mapping[str, float | str]) -> str:
    """Return settings as "powder: dose 3 → 1.5 g/L; mash hops: mass 70 → 40 g"."""
    return _moved(problem, settings, lambda knob: knob.label)


def short_moved_words(problem: Problem, settings: Mapping[str, float | str]) -> str:
    """Return the same without "mass" and "dose", which the unit says."""
    return _moved(problem, settings, short_label)


def _moved(
    problem: Problem, settings: Mapping[str, float | str], label: Callable[[Knob], str]
) -> str:
    parts = []
    for name, value in settings.items():
        knob = problem.knob(name)
        now = knob_words(knob, current_setting(problem, knob))
        then = knob_words(knob, value)
        unit = f" {knob.unit}" if knob.unit and not knob.choices else ""
        short = now.removesuffix(unit) if unit and then.endswith(unit) else now
        parts.append(f"{label(knob)} {short} → {then}")
    return "; ".join(parts) or "nothing"


def short_label(knob: Knob) -> str:
    """Return a knob's label without "mass" and "dose", which its unit says."""
    return knob.label.removesuffix(": mass").removesuffix(": dose")


def stopped_sentences(problem: Problem, stopped: Sequence[str]) -> Iterator[str]:
    """Say it where a move takes the ids `stopped` as low as a source of aroma may go."""
    if not stopped:
        return
    sources = capital(listed([short_label(problem.knob(name)) for name in stopped]))
    one = len(stopped) == 1
    yield (
        f"{sources} {'stops' if one else 'stop'} at a quarter of "
        f"{'what it is' if one else 'what they are'}, so that the beer keeps its "
        f"{'source' if one else 'sources'} of aroma; a lower limit in the recipe lets "
        f"{'it' if one else 'them'} go further."
    )


def as_shown(problem: Problem, settings: Mapping[str, float | str]) -> dict[str, float | str]:
    """Return settings in the units of their dials."""
    return {
        name: value if isinstance(value, str) else problem.knob(name).as_shown(value)
        for name, value in settings.items()
    }


def amount_of(aim: Aim) -> str:
    """Return the quantity an aim is about: the amount behind a tasted attribute, or its outcome."""
    return AMOUNTS.get(str(getattr(aim, "attribute", "")), aim.outcome)
