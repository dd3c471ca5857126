"""What a ranking changes together: a factor, a group, a kind, or a block that belongs together."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.factor import KINDS
from brewsim.study.model.latents import Latents
from brewsim.study.model.problem import Problem

By = Literal["factor", "group", "kind"]

KIND_LABELS = {
    "knowledge": "What is not known",
    "lot": "A new lot of each ingredient",
    "batch": "What varies from brew to brew",
}
STILL_NOT_KNOWN = "still not known"


@dataclass(frozen=True, slots=True)
class Unit:
    """Coordinates that are exchanged together, and what they are to a person."""

    id: str
    label: str
    group: str
    turnable: bool
    measurable: bool
    coordinates: frozenset[int]
    factors: tuple[int, ...]
    merged: bool = False


def units_by(problem: Problem, found: Latents, by: By) -> tuple[Unit, ...]:
    """Return the units to rank, sorted by id; raises StudyError for an unknown `by`.

    Factors that share coordinates (correlated ones) become one unit; what was learned together
    is one unit, since a posterior draw cannot be taken apart.
    """
    makers: dict[str, Callable[[Problem, Latents], Iterable[Unit]]] = {
        "factor": _by_factor,
        "group": _by_group,
        "kind": _by_kind,
    }
    if by not in makers:
        raise StudyError(f"there is no ranking by {by}.{did_you_mean(by, makers)}")
    return tuple(sorted(makers[by](problem, found), key=lambda unit: unit.id))


def merged_notes(problem: Problem, units: Iterable[Unit]) -> str:
    """Return a JSON list that names the factors ranked together because they are correlated."""
    return json.dumps([[problem.factors[i].id for i in u.factors] for u in units if u.merged])


def _by_factor(problem: Problem, found: Latents) -> list[Unit]:
    names = [f.id for f in problem.factors]
    return _joined(problem, found, names, {f.id: f.label for f in problem.factors})


def _by_group(problem: Problem, found: Latents) -> list[Unit]:
    names = [f.group or f.id for f in problem.factors]
    return _joined(problem, found, names, {name: name for name in names})


def _joined(
    problem: Problem, found: Latents, names: list[str], labels: Mapping[str, str]
) -> list[Unit]:
    """Join factors of one name, then names that share coordinates, and make units of them."""
    pick = found.pick
    blocks: list[tuple[set[str], set[int], list[int]]] = []
    for i, name in enumerate(names):
        own = set(found.coordinates(i)) - {pick}
        if not own:
            continue
        block: tuple[set[str], set[int], list[int]] = ({name}, set(own), [i])
        apart = []
        for other in blocks:
            if other[0].isdisjoint(block[0]) and other[1].isdisjoint(block[1]):
                apart.append(other)
            else:
                block = (block[0] | other[0], block[1] | other[1], sorted(block[2] + other[2]))
        blocks = [*apart, block]
    units = []
    for together, coordinates, members in blocks:
        factors = [problem.factors[i] for i in members]
        units.append(
            Unit(
                id=" + ".join(sorted(together)),
                label=" + ".join(labels[name] for name in sorted(together)),
                group=" + ".join(dict.fromkeys(f.group for f in factors)),
                turnable=any(f.turnable for f in factors),
                measurable=any(f.measurable for f in factors),
                coordinates=frozenset(coordinates),
                factors=tuple(members),
                merged=len(together) > 1,
            )
        )
    return units if pick is None else [*units, _learned_unit(found, pick)]


def _learned_unit(found: Latents, pick: int) -> Unit:
    members = tuple(i for i in range(len(found.terms)) if found.learned(i))
    return _named(STILL_NOT_KNOWN, "what is still not known", frozenset({pick}), members)


def _named(name: str, label: str, places: frozenset[int], members: tuple[int, ...]) -> Unit:
    return Unit(
        id=name,
        label=label,
        group=name,
        turnable=False,
        measurable=False,
        coordinates=places,
        factors=members,
    )


def _by_kind(problem: Problem, found: Latents) -> list[Unit]:
    units = []
    for kind in KINDS:
        places = frozenset(i for i, own in enumerate(found.kinds) if own == kind)
        if places:
            members = tuple(
                i
                for i in range(len(problem.factors))
                if not places.isdisjoint(found.coordinates(i))
            )
            units.append(_named(kind, KIND_LABELS[kind], places, members))
    return units
