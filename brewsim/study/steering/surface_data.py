"""The settings that response surfaces are fitted to and judged by, computed on common draws."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Protocol

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.sobol_sequence import sobol_sequence
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.steering.surfaces import Dial, Ratio

_STARTS, _MOST_CORNERS, _MOST_CHOICES = 128, 5, 8
_PROBES = 6
_UNMOVED = 1e-3
"""Standard deviations by which a dial must move an outcome to be one of its dials."""


class AtSettings(Protocol):
    """Gives every outcome, (draws,), at settings by knob."""

    outcomes: tuple[str, ...]
    graph: Graph

    def at(self, settings: Settings) -> dict[str, FloatArray]:
        """Return outcome -> (draws,)."""

    def at_each(self, settings: Sequence[Settings]) -> list[dict[str, FloatArray]]:
        """Return the same at each of several settings."""


class ComputedSettings:
    """A problem's outcomes at the settings a surface is fitted to and those it is judged by.

    `values` gives them; without it they are those of the problem on the plan's draws.
    """

    def __init__(
        self,
        problem: Problem,
        outcomes: Sequence[str],
        ratios: Mapping[str, Ratio],
        plan: Plan,
        fresh: int,
        values: AtSettings | None = None,
    ) -> None:
        self.problem, self.outcomes, self.ratios = problem, tuple(outcomes), ratios
        sides = [side for r in ratios.values() for side in (r.top, r.bottom)]
        self.fitted = [n for n in dict.fromkeys((*outcomes, *sides)) if n not in ratios]
        self.dials = tuple(_dial(problem, k) for k in problem.knobs if not k.choices)
        self.choosers = _few(tuple(k for k in problem.knobs if k.choices))
        asked = dict.fromkeys((*self.fitted, *outcomes))
        self.evaluator: AtSettings = values or Evaluator(
            problem, CommonDraws([problem], plan), asked
        )
        self.today = self.evaluator.at({})
        self.usable = np.logical_and.reduce([np.isfinite(y) for y in self.today.values()])
        self.combinations = list(product(*([c.label for c in k.choices] for k in self.choosers)))
        rng = np.random.default_rng((plan.seed, 7))
        self.starts = _spread(len(self.dials), rng)
        self.fresh = rng.random((fresh, len(self.dials)))
        self._moved: dict[int, set[str]] = {}
        self.true = [self.computed(self.fresh, choice) for choice in self.combinations]

    def computed(self, places: FloatArray, choice: Sequence[str]) -> dict[str, FloatArray]:
        """Return every outcome, (places, draws), computed at places with some choices made."""
        chosen = {k.id: label for k, label in zip(self.choosers, choice, strict=True)}
        rows = self.evaluator.at_each(
            [
                {
                    **{d.knob.id: d.setting(x) for d, x in zip(self.dials, row, strict=True)},
                    **chosen,
                }
                for row in places
            ]
        )
        return {n: np.array([row[n] for row in rows]) for n in self.evaluator.outcomes}

    def reaching(self, name: str) -> tuple[list[int], list[int]]:
        """Return the dials and the choosers that move an outcome."""
        above = self.evaluator.graph.upstream([name])
        quantity = {f.id: f.quantity for f in self.problem.factors}
        moved = [
            {q for c in k.choices for q in (*c.fixed, *(quantity[i] for i in c.distributions))}
            for k in self.choosers
        ]
        wired = [i for i, d in enumerate(self.dials) if d.knob.quantity in above]
        choosers = [i for i, names in enumerate(moved) if names & above]
        return [i for i in wired if name in self._probed(i)], choosers

    def _probed(self, dial: int) -> set[str]:
        """Return the outcomes that a dial moves, tried from end to end at a few other settings."""
        if dial not in self._moved:
            found: set[str] = set()
            for combination in self.combinations:
                ends = []
                for end in (0.0, 1.0):
                    places = self.starts[:_PROBES].copy()
                    places[:, dial] = end
                    ends.append(self.computed(places, combination))
                for name in self.fitted:
                    spread = float(self.today[name][self.usable].std()) or 1.0
                    apart = np.abs(ends[1][name] - ends[0][name])
                    if np.nanmax(apart) > _UNMOVED * spread:
                        found.add(name)
            self._moved[dial] = found
        return self._moved[dial]

    @property
    def now(self) -> FloatArray:
        """Where the dials stand today, between 0 and 1."""
        return np.array([d.place for d in self.dials])

    def blocks(self, choosers: Sequence[int]) -> list[int]:
        """Return one combination of all choices for each combination of some of them."""
        seen: dict[tuple[str, ...], int] = {}
        for place, combination in enumerate(self.combinations):
            seen.setdefault(tuple(combination[i] for i in choosers), place)
        return list(seen.values())


def _dial(problem: Problem, knob: Knob) -> Dial:
    now = float(current_setting(problem, knob))
    return Dial(knob, min(knob.low, now), max(knob.high, now), now)


def _few(choosers: tuple[Knob, ...]) -> tuple[Knob, ...]:
    """Keep as many choosers as make no more combinations than are computed."""
    kept: list[Knob] = []
    for knob in choosers:
        if np.prod([len(k.choices) for k in (*kept, knob)]) <= _MOST_CHOICES:
            kept.append(knob)
    return tuple(kept)


def _spread(dials: int, rng: np.random.Generator) -> FloatArray:
    """Return places that fill the dials, their corners among them where those are few."""
    if not dials:
        return np.zeros((1, 0))
    places = sobol_sequence(dials, rng).random(_STARTS)
    if dials > _MOST_CORNERS:
        return np.asarray(sobol_sequence(dials, rng).random(2 * _STARTS))
    return np.vstack([places, np.array(list(product((0.0, 1.0), repeat=dials)))])
