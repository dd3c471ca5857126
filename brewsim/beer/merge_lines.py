"""Lines of one ingredient that differ only in amount are one row: splitting changes nothing.

Two lines of one sack, or one powder dosed twice, share what is not known of it. A line that a knob
turns stays a row of its own.
"""

from collections.abc import Collection, Mapping, Sequence

from brewsim.beer.lines import Line
from brewsim.quantities.statement import Stated
from brewsim.recipe.knob_ranges import KnobRange


def gathered(
    lines: Sequence[Line], turned: Collection[int], *, any_step: bool = False
) -> list[list[Line]]:
    """Return groups of lines; with `any_step`, those of a group may go in at different steps.

    `turned` are the places that a knob turns. The first line of a group stands for it.
    """
    groups: list[list[Line]] = []
    for line in lines:
        home = next(
            (
                group
                for group in groups
                if line.number not in turned
                and group[0].number not in turned
                and _weighed_alike(group[0], line)
                and _but_for_amount(group[0], any_step) == _but_for_amount(line, any_step)
            ),
            None,
        )
        if home is None:
            groups.append([line])
        else:
            home.append(line)
    return groups


def turned_places(knobs: Mapping[str, KnobRange], kind: str) -> frozenset[int]:
    """Return the places of the lines of a kind that a knob of the recipe turns."""
    return frozenset(k.row for k in knobs.values() if k.kind == kind and k.row is not None)


def _but_for_amount(line: Line, any_step: bool) -> tuple[object, ...]:
    return line.name, line.lot, line.said, line.words, None if any_step else line.when


def _weighed_alike(one: Line, other: Line) -> bool:
    """Whether both lines state their amount under the same key, without a spread of its own."""
    kinds = {_kind(one.amount), _kind(other.amount)}
    return one.amount_key == other.amount_key and len(kinds) == 1 and "spread" not in kinds


def _kind(amount: Stated | None) -> str:
    if amount is None:
        return ""
    return amount.phrase.kind if amount.phrase.kind in ("plain", "exactly") else "spread"
