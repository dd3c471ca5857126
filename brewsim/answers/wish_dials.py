"""The dials of a page after a tasting: how many next brews would be as wished, at any settings."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from brewsim.answers.next_beer import NextBeer
from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.linked_draws import DOTS, Count, Margin, linked_draws
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.steering.surface_fit import surfaces_of
from brewsim.study.steering.surfaces import DRAWS_PER_REPLICATE, Surfaces
from brewsim.study.steering.wish_values import Kind, WishValues

ALL = "all"
_CHECK_ROWS, _FRESH_SEED = 2048, 104_729
_LEAST = 1e-12


@dataclass(frozen=True)
class WishDials:
    """Surfaces of what is wished and held, the windows of their draws, and what is so today.

    `ends` are (low, high) by outcome, (draws,) each; `chances` are those of many draws with nothing
    turned, `joint` that of all together, `middles` their medians. `dots` are the places of fifty
    draws that stand for all; `written` is where the recipe's own knobs stand, shown units.
    """

    surfaces: Surfaces
    kinds: Mapping[str, Kind]
    wished: tuple[str, ...]
    ends: Mapping[str, tuple[FloatArray, FloatArray]]
    chances: Mapping[str, float]
    joint: float
    middles: Mapping[str, float]
    dots: NDArray[np.intp]
    written: Mapping[str, float | str]


def wish_dials(answer: NextBeer, posed: Problem, *, seed: int = 1) -> WishDials | None:
    """Return the dials of an answered wish, None where nothing can be turned or seen.

    `posed` is the recipe's own problem, which the tasted batch may have been brewed apart from.
    """
    question = answer.question
    ids = {knob.id for knob in answer.knobs}
    problem = question.problem
    turned = replace(problem, targets={}, knobs=tuple(k for k in problem.knobs if k.id in ids))
    plan = Plan(8, DRAWS_PER_REPLICATE, seed)
    few = WishValues(question, plan)
    found = surfaces_of(turned, few, plan)
    if found is None:
        return None
    here = few.shown({})
    many = WishValues(question, Plan(8, _CHECK_ROWS, seed + _FRESH_SEED)).shown({})
    chances = {name: float(one.inside.mean()) for name, one in many.items()}
    together = np.prod([one.inside for one in many.values()], axis=0)
    counts = {n: Count(one.inside > 0, chances[n]) for n, one in here.items()}
    both = np.prod([one.inside for one in here.values()], axis=0)
    counts[ALL] = Count(both > 0, float(together.mean()))
    logged = {n for n, kind in few.kinds.items() if kind in ("fold", "strength")}
    margins = {n: _margin(here[n].values, many[n].values, logged=n in logged) for n in few.wished}
    try:
        linked = linked_draws(margins, counts, seed=seed)
    except StudyError:
        return None
    return WishDials(
        found,
        few.kinds,
        few.wished,
        {n: (one.low, one.high) for n, one in here.items()},
        chances,
        answer.steering.unchanged.all_met[0],
        {n: float(np.nanmedian(one.values)) for n, one in many.items()},
        linked.places,
        {k.id: _written(posed, k) for k in posed.knobs if k.id in ids},
    )


def _written(posed: Problem, knob: Knob) -> float | str:
    now = current_setting(posed, knob)
    return now if isinstance(now, str) else knob.as_shown(now)


def _margin(here: FloatArray, many: FloatArray, *, logged: bool) -> Margin:
    known = many[np.isfinite(many)]
    wanted = np.quantile(known, (np.arange(DOTS) + 0.5) / DOTS)
    if logged:
        return Margin(np.log2(np.maximum(here, _LEAST)), np.log2(np.maximum(wanted, _LEAST)))
    return Margin(here, wanted)
