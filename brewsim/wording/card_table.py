"""What to do when the gravity before the boil is not the planned one, as a table."""

from collections.abc import Mapping, Sequence

from brewsim.answers import brew_card as figures
from brewsim.answers.brew_card import BrewCard, Correction
from brewsim.quantities.format import in_unit, number
from brewsim.wording.card_numbers import CardNumbers


def correction_table(
    card: BrewCard, told: CardNumbers
) -> tuple[str, tuple[tuple[str, ...], ...], int, str]:
    """Return the correction table: its title, rows, the column to go on, and its note."""
    planned = told.find(figures.BEFORE_GRAVITY)
    useful = [c for c in card.corrections if c.amounts]
    if planned is None or not useful:
        return "", (), 0, ""
    name = figures.BEFORE_GRAVITY
    go = sum(c.gravity < planned.value for c in useful) + 1
    read = [told.bare(name, c.gravity) for c in useful]
    read.insert(go - 1, told.bare(name, planned.value))
    lines = [("read", *read)]
    for key, label, unit in (
        (figures.LONGER, "boil longer, hops as planned", "min"),
        (figures.SOLID, "or dry malt extract", "kg"),
        (figures.DILUTED, "water after the boil", "L"),
    ):
        cells = [_cell(c.amounts, key, unit, told) for c in useful]
        if any(cells):
            cells.insert(go - 1, "go")
            lines.append((label, *cells))
    return (
        f"Gravity before the boil is not {told.bare(name, planned.value)}",
        tuple(lines),
        go,
        _note(useful, planned.value, told),
    )


def _cell(amounts: Mapping[str, float], key: str, unit: str, told: CardNumbers) -> str:
    if key not in amounts:
        return ""
    if unit == "L":
        return told.volume("", amounts[key])
    if unit == "kg":
        return f"{number(in_unit(amounts[key], 'kg', told.solids), 2)} {told.solids}"
    return f"{number(amounts[key], 0)} {unit}"


def _note(useful: Sequence[Correction], planned: float, told: CardNumbers) -> str:
    doubtful = [c.gravity for c in useful if c.doubtful]
    name = figures.BEFORE_GRAVITY
    low = max((g for g in doubtful if g < planned), default=None)
    high = min((g for g in doubtful if g > planned), default=None)
    parts = []
    if low is not None:
        parts.append(f"{told.bare(name, low)} and lower")
    if high is not None:
        parts.append(f"{told.bare(name, high)} and higher")
    if not parts:
        return ""
    return f"{', or '.join(parts)}: read again first."
