"""What the first screen says to do: the best lever, all knobs together, or nothing."""

from brewsim.answers.advice import Advice, Lever
from brewsim.answers.everything import Everything
from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital, listed, lower
from brewsim.quantities.format import printed, with_unit
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.steering.steering import Steered
from brewsim.wording.knobs import knob_words
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import Action
from brewsim.wording.sentences import of_fifty

_LEAST_STEP = 0.04
"""Two batches in fifty that all knobs together must add to the best alone."""


def actions_of(found: Everything, looks: Looks, today: float) -> tuple[Action, ...]:
    """Return what a first screen says to do; `today` is the chance to land in all targets."""
    if not found.problem.targets:
        return (
            Action(
                "Say what the beer should be",
                "With targets in the recipe this page says how many batches land and what to turn.",
            ),
        )
    actions = [*_levers(found.advice, looks, today), *_together(found, today)]
    if actions:
        return tuple(actions)
    if of_fifty(today) >= 40:
        return (Action("Brew it as it stands", "No setting adds as much as one batch in fifty."),)
    told = (
        f"{found.advice.tried} settings were tried, those you did not list among them: none adds "
        "as much as half a batch in fifty. The spread decides; see below what to measure."
    )
    return (Action("Nothing to turn", told),)


def _levers(advice: Advice, looks: Looks, today: float) -> list[Action]:
    best = advice.best
    if best is None:
        return []
    return [_lever(best, looks, today)]


def _lever(lever: Lever, looks: Looks, today: float) -> Action:
    name = lever.helps()
    look = looks[name]
    before, after = (printed(look, m * look.per_model) for m in lever.middles[name])
    one = [of_fifty(chance) for chance in lever.chances[name]]
    own = "" if lever.listed else " (Not one of your knobs.)"
    count, now = of_fifty(today + lever.gain), of_fifty(today)
    told = (
        f"moves the median of {look.label} from {before} to {with_unit(look, after)}"
        f"{f' ({one[0]} to {one[1]} of {DOTS})' if one[0] != one[1] else ''}."
    )
    if len(lever.chances) > 1:
        told += f" All targets: {count} of {DOTS} instead of {now}."
    return Action(_move(lever), f"{capital(told)}{own}", _settings(lever))


def _move(lever: Lever) -> str:
    knob = lever.knob
    label = capital(knob.label.removesuffix(": mass").removesuffix(": dose"))
    now = knob_words(knob, lever.now).removesuffix(f" {knob.unit}")
    return f"{label}: {now} → {knob_words(knob, lever.setting)}"


def _settings(lever: Lever) -> dict[str, float | str]:
    if not lever.listed:
        return {}
    knob, setting = lever.knob, lever.setting
    return {knob.id: setting if isinstance(setting, str) else knob.as_shown(setting)}


def _together(found: Everything, today: float) -> list[Action]:
    """Return the best of all knobs together, where that adds a batch to the best alone."""
    steered = found.steered
    if steered is None:
        return []
    best = found.advice.best
    alone = today + (best.gain if best is not None else 0.0)
    reached = today + (found.advice.together or 0.0)
    if reached < alone + _LEAST_STEP or len(_moved(found.problem, steered)) < 2:
        return []
    moved = _moved(found.problem, steered)
    told = listed([f"{label} {to}" for label, to, _ in moved])
    return [
        Action(
            f"All knobs together: {of_fifty(reached)} of {DOTS}",
            "" if found.surfaces is not None else f"{capital(told)}.{_faint(found)}",
            {key: move_to for (_, _, (key, move_to)) in moved},
        )
    ]


def _moved(problem: Problem, steered: Steered) -> list[tuple[str, str, tuple[str, float | str]]]:
    move = steered.smallest or steered.best
    found = []
    for key, value in move.settings.items():
        knob = problem.knob(key)
        if value == _today(problem, knob):
            continue
        there = value if isinstance(value, str) else knob.as_shown(value)
        label = knob.label.removesuffix(": mass").removesuffix(": dose")
        found.append((label, knob_words(knob, value), (key, there)))
    return found


def _today(problem: Problem, knob: Knob) -> float | str:
    if knob.choices:
        return knob.current or knob.choices[0].label
    return problem.fixed_at(knob.quantity, knob.row)


def _faint(found: Everything) -> str:
    faint = found.advice.faint or {}
    if not faint:
        return ""
    names = [lower(found.problem.graph.label(name)) for name in faint]
    return f" {capital(listed(names))} is below what half of a panel notices."
