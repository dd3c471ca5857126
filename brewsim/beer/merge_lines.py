"""Lines of one ingredient that differ only in amount are one row: splitting changes nothing.

Two lines of one sack, or one powder dosed twice, share what is not known of it. A line that a knob
turns stays a row of its own.
"""

from collections.abc import Collection, Sequence
from typing import TypeVar

from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Block, Recipe

Line = TypeVar("Line", bound=Block)
_AMOUNTS = ("mass", "dose")


def gathered(
    lines: Sequence[Line], turned: Collection[int], apart: Sequence[str] = ()
) -> list[list[tuple[int, Line]]]:
    """Return groups of (place in the file, line); lines of a group may also differ in `apart`.

    `turned` are the places that a knob turns. The first line of a group stands for it.
    """
    groups: list[list[tuple[int, Line]]] = []
    for place, line in enumerate(lines):
        told = _without_amount(line, apart)
        home = next(
            (
                group
                for group in groups
                if place not in turned
                and group[0][0] not in turned
                and _weighed_alike(group[0][1], line)
                and _without_amount(group[0][1], apart) == told
            ),
            None,
        )
        if home is None:
            groups.append([(place, line)])
        else:
            home.append((place, line))
    return groups


def turned_places(recipe: Recipe, kind: str) -> frozenset[int]:
    """Return the places of the lines of a kind that a knob of the recipe turns."""
    knobs = recipe.knobs.values()
    return frozenset(k.row for k in knobs if k.kind == kind and k.row is not None)


def _without_amount(line: Block, apart: Sequence[str]) -> dict[str, object]:
    told = {name: getattr(line, name) for name in type(line).model_fields}
    return {name: told[name] for name in told if name not in ("line", *_AMOUNTS, *apart)}


def _weighed_alike(one: Block, other: Block) -> bool:
    """Whether both lines state their amount in the same field, without a spread of its own."""
    pairs = [(getattr(one, name, None), getattr(other, name, None)) for name in _AMOUNTS]
    return all(_plain(a) == _plain(b) for a, b in pairs) and not any(
        _plain(a) == "spread" for a, _ in pairs
    )


def _plain(amount: Stated | None) -> str:
    if amount is None:
        return ""
    return amount.phrase.kind if amount.phrase.kind in ("plain", "exactly") else "spread"
