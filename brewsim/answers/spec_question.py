"""Questions for `specify` beyond the recipe's targets, with readings in the judged quantity."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from brewsim.beer.requirements import Measured, Want, measured_as_judged
from brewsim.constants import WANTED_CHANCE
from brewsim.dims import FloatArray
from brewsim.quantities.gravity import log_as_judged, pair_of
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target


@dataclass(frozen=True)
class Asked:
    """Questions for `specify` beyond the recipe's targets."""

    wants: tuple[Want, ...] = ()
    measured: tuple[Measured, ...] = ()
    place: str = ""
    label: float | None = None
    log: Mapping[str, FloatArray] = field(default_factory=dict)
    batches: int = 0
    chance: float = WANTED_CHANCE


def as_judged(problem: Problem, asked: Asked) -> Asked:
    """Return the questions with readings converted to the quantity that is aimed at."""
    aims = {*own_targets(problem, asked.wants), *(w.quantity for w in asked.wants)}
    measured = tuple(measured_as_judged(m, aims) for m in asked.measured)
    return replace(asked, measured=measured, log=log_as_judged(asked.log, aims))


def own_targets(problem: Problem, wants: Sequence[Want]) -> dict[str, Target]:
    """Return the recipe's targets that no wanted limits replace."""
    wanted = {name for w in wants for name in pair_of(w.quantity)}
    return {name: target for name, target in problem.targets.items() if name not in wanted}


def posed_for(problem: Problem, asked: Asked) -> Problem:
    """Return the problem with every quantity of the questions among its outcomes."""
    wish = as_judged(problem, asked)
    named = [w.quantity for w in wish.wants] + [m.quantity for m in wish.measured]
    names = dict.fromkeys((*problem.outcomes, *named, *wish.log))
    known = [n for n in names if n in problem.graph]
    return replace(problem, outcomes=tuple(known))
