"""What to do: the one setting that helps most, tried along every lever of the recipe."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model import targets
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, lands
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.sweep import current_setting, settings_along
from brewsim.study.steering.steering import Steered
from brewsim.study.steering.surfaces import Ratio, Surfaces

SIDES = {"thiol_lead": Ratio("thiol_activity", "hop_aroma_activity")}
"""Targets that compare two outcomes, and what they compare."""
NOTICED = 1.0
"""Odour units that half of a panel notices."""
WORTH_TURNING = 0.01
"""Half a batch in 50: a smaller gain is not advised."""
BEYOND = 0.02
"""A whole batch in 50 that a lever nobody listed must add to the best listed one."""
_POINTS = 17
_SEARCH, _CHECK = 256, 2048
_FRESH_SEED = 104_729
_MOST_OF_IT = 0.8
"""The nearest setting with this part of the best gain is advised: further away gains little."""


@dataclass(frozen=True)
class Lever:
    """One knob at the setting that helps most, judged on fresh draws beside today's setting.

    `gain` is how much the chance of all targets rises, `gain_error` the half width of its
    sampling interval; `chances` and `middles` hold for each target today's figure and the one
    there.
    """

    knob: Knob
    listed: bool
    now: float | str
    setting: float | str
    gain: float
    gain_error: float
    chances: Mapping[str, tuple[float, float]]
    middles: Mapping[str, tuple[float, float]]

    @property
    def worth_it(self) -> bool:
        """Whether the gain is above its own error and above half a batch in 50."""
        return self.gain >= WORTH_TURNING and self.gain > self.gain_error

    def helps(self) -> str:
        """Return the target whose chance rises most."""
        return max(self.chances, key=lambda name: self.chances[name][1] - self.chances[name][0])


@dataclass(frozen=True)
class Advice:
    """The best dial among the recipe's knobs, and what does better: a choice, an unlisted lever.

    The two are None where they do not add a whole batch in 50 to the best dial. `held` are the
    sides of ratios that no advised setting lets fall below what is noticed; `faint` the middles
    of those that are not noticed today.
    """

    listed: Lever | None = None
    choice: Lever | None = None
    unlisted: Lever | None = None
    held: Mapping[str, float] | None = None
    faint: Mapping[str, float] | None = None
    tried: int = 0
    together: float | None = None
    """How much the chance rises with all knobs at the best settings; None if not asked."""

    @property
    def best(self) -> Lever | None:
        """The lever to advise first, None where none is worth turning."""
        found = (self.unlisted, self.listed, self.choice)
        return next((one for one in found if one is not None and one.worth_it), None)

    @property
    def other(self) -> Lever | None:
        """A choice that does better than the best lever, None where there is none."""
        best, choice = self.best, self.choice
        better = choice is not None and best is not None and choice.gain >= best.gain + BEYOND
        return choice if better and choice is not best else None


def known_ratios(problem: Problem) -> dict[str, Ratio]:
    """Return the targets and outcomes that are ratios of two others of this model."""
    return {n: r for n, r in SIDES.items() if {n, r.top, r.bottom} <= set(problem.graph.nodes)}


def sides_of(problem: Problem) -> list[str]:
    """Return the outcomes that are sides of the ratios that are aimed at."""
    aimed = [r for name, r in known_ratios(problem).items() if name in problem.targets]
    return list(dict.fromkeys(side for r in aimed for side in (r.top, r.bottom)))


def sides_today(problem: Problem, seed: int = 1) -> dict[str, float]:
    """Return the middle of each side of the ratios that are aimed at."""
    names = sides_of(problem)
    if not names:
        return {}
    plan = Plan(rows=_SEARCH, seed=seed)
    usual = without_events(problem)
    values = Evaluator(usual, CommonDraws([usual], plan), names).at({})
    return {name: float(np.nanmedian(values[name])) for name in names}


def floors_of(problem: Problem, seed: int = 1) -> dict[str, float]:
    """Return the least middles that steering keeps: a ratio is not met by making nothing of it.

    A side that is below the floor today, or has a target of its own, is left alone.
    """
    return {
        name: NOTICED
        for name, middle in sides_today(problem, seed).items()
        if middle >= NOTICED and name not in problem.targets
    }


def advise(problem: Problem, unlisted: Sequence[Knob] = (), *, seed: int = 1) -> Advice:
    """Try every lever alone and return the best listed one, and a better one that is not listed.

    Settings are searched on some draws and judged on fresh ones, all common with today's. What
    advice keeps of the beer is in the ranges of the levers.
    """
    if not problem.targets:
        return Advice()
    held = floors_of(problem, seed)
    faint = {n: m for n, m in sides_today(problem, seed).items() if m < NOTICED}
    levers = (*problem.knobs, *unlisted)
    usual = replace(without_events(problem), knobs=levers)
    names = tuple(dict.fromkeys((*usual.targets, *held)))
    search = _evaluator(usual, names, Plan(rows=_SEARCH, seed=seed))
    plan = Plan(rows=_CHECK, seed=seed + _FRESH_SEED)
    check = _evaluator(usual, names, plan)
    today = check.at({})
    listed = {k.id for k in problem.knobs}
    found = []
    for knob in levers:
        setting = _best(search, knob, held)
        if setting is not None:
            moved = check.at({knob.id: setting})
            found.append(_lever(usual, knob, setting, today, moved, plan, knob.id in listed))
    dial = _most([x for x in found if x.listed and not x.knob.choices])
    choice = _most([x for x in found if x.listed and x.knob.choices])
    other = _most([x for x in found if not x.listed])
    if other is not None and other.gain < BEYOND + (dial.gain if dial is not None else 0.0):
        other = None
    return Advice(dial, choice, other, held, faint, len(levers))


def _most(levers: Sequence[Lever]) -> Lever | None:
    return max(levers, key=lambda lever: lever.gain, default=None)


def agreed(
    advice: Advice,
    surfaces: Surfaces | None,
    problem: Problem,
    steered: Steered | None = None,
    medians: Mapping[str, float] | None = None,
) -> Advice:
    """Return the advice with the figures that the page shows of the same settings.

    Chances are those of its dials; `medians` of today (by target) are those it prints, and a lever
    moves each by as much as on the draws it was judged on.
    """
    if medians is not None:
        listed, choice, other = (
            one and _moved_from(one, medians, problem)
            for one in (advice.listed, advice.choice, advice.unlisted)
        )
        advice = replace(advice, listed=listed, choice=choice, unlisted=other)
    if steered is not None:
        move = steered.smallest or steered.best
        gain = move.chance - steered.now.chance
        if surfaces is not None and set(problem.targets) <= {*surfaces.today}:
            gain = _gain(surfaces.values(move.settings), surfaces, problem)
        advice = replace(advice, together=gain)
    if surfaces is None:
        return advice
    listed, choice = (
        None if one is None else _as_turned(one, surfaces, problem)
        for one in (advice.listed, advice.choice)
    )
    return replace(advice, listed=listed, choice=choice)


def _moved_from(lever: Lever, medians: Mapping[str, float], problem: Problem) -> Lever:
    there = {}
    for name, (before, after) in lever.middles.items():
        today = medians.get(name, before)
        folds = problem.scales.get(name, "linear") != "linear" and before > 0
        there[name] = today, (today * after / before if folds else today + after - before)
    return replace(lever, middles=there)


def _as_turned(lever: Lever, surfaces: Surfaces, problem: Problem) -> Lever:
    moved = surfaces.values({lever.knob.id: lever.setting})
    shown = {n: t for n, t in problem.targets.items() if n in moved and n in surfaces.today}
    if set(shown) != set(lever.chances):
        return lever
    today = {n: surfaces.today[n] for n in shown}
    aimed = replace(problem, targets=shown)
    gain = _gain(moved, surfaces, aimed)
    chances = {
        n: (
            lever.chances[n][0],
            lever.chances[n][0]
            + float(targets.lands(moved[n], t).mean() - targets.lands(today[n], t).mean()),
        )
        for n, t in shown.items()
    }
    return replace(lever, gain=gain, chances=chances)


def _gain(moved: Mapping[str, FloatArray], surfaces: Surfaces, problem: Problem) -> float:
    """Return how much the chance of all targets rises over today's, on the surfaces' draws."""
    today = {name: surfaces.today[name] for name in problem.targets}
    return float((lands(moved, problem) - lands(today, problem)).mean())


def _evaluator(problem: Problem, names: Sequence[str], plan: Plan) -> Evaluator:
    return Evaluator(problem, CommonDraws([problem], plan), names)


def _best(search: Evaluator, knob: Knob, held: Mapping[str, float]) -> float | str | None:
    """Return the nearest setting that gains most of what the knob can, None where none gains."""
    now = current_setting(search.problem, knob)
    where = [s for s in settings_along(knob, _POINTS) if s != now]
    today = _chance(search, {}, {})
    gains = {s: _chance(search, {knob.id: s}, held) - today for s in where}
    most = max(gains.values(), default=0.0)
    if most <= 0:
        return None
    good = [s for s, gain in gains.items() if gain >= _MOST_OF_IT * most]
    if knob.choices:
        return good[0]
    return min(good, key=lambda s: abs(float(s) - float(now)))


def _chance(
    search: Evaluator, settings: Mapping[str, float | str], held: Mapping[str, float]
) -> float:
    values = search.at(settings)
    if any(np.nanmedian(values[name]) < least for name, least in held.items()):
        return 0.0
    return float(lands(values, search.problem).mean())


def _lever(
    problem: Problem,
    knob: Knob,
    setting: float | str,
    today: Mapping[str, FloatArray],
    moved: Mapping[str, FloatArray],
    plan: Plan,
    listed: bool,
) -> Lever:
    change = lands(moved, problem) - lands(today, problem)
    parts = change.reshape(plan.replicates, plan.rows).mean(axis=1)
    chances, middles = {}, {}
    for name, target in problem.targets.items():
        pair = (today[name], moved[name])
        before, after = (float(targets.lands(y, target).mean()) for y in pair)
        chances[name] = before, after
        middles[name] = float(np.nanmedian(pair[0])), float(np.nanmedian(pair[1]))
    return Lever(
        knob,
        listed,
        current_setting(problem, knob),
        setting,
        float(change.mean()),
        float(half_width(parts)),
        chances,
        middles,
    )
