"""Rows of the recipe's lists, and what their lines state."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.beer.set_points import factor_of
from brewsim.dims import FloatArray
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Block


@dataclass(frozen=True)
class Row:
    """One row of a list: its ingredient, lot, what the recipe states of it, and where it stands.

    `stated` is by quantity name without the list prefix; `origin` is (kind, number in the file).
    """

    name: str
    label: str
    stated: Mapping[str, Stated]
    lot: str = ""
    origin: tuple[str, int] = ("", 0)
    wrap: str = ""
    amount: Stated | None = None


@dataclass
class Lists:
    """Rows by list, and the settings the recipe fixes, by whole quantity name."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    fixed: dict[str, FloatArray] = field(default_factory=dict)
    stated: dict[str, Stated] = field(default_factory=dict)
    """What rows say of the batch as a whole: the hop stand's time and temperature."""

    def row_of(self, axis: str, origin: tuple[str, int]) -> int | None:
        """Return the place of a line of the file in a list, or None."""
        for place, row in enumerate(self.rows.get(axis, [])):
            if row.origin == origin:
                return place
        return None


def column(values: Sequence[float]) -> FloatArray:
    """Return the values as a list that every draw agrees on, (values, 1)."""
    return np.array(values, dtype=float).reshape(-1, 1)


def weighed(amount: Stated | None) -> Stated | None:
    """Return the spread of an amount around one, or None where the usual one holds."""
    return factor_of(amount) if amount is not None else None


def stated_of(block: Block, **named: Stated | None) -> dict[str, Stated]:
    """Return what a line states, by quantity without the list prefix."""
    return {name: value for name, value in named.items() if value is not None} | dict(block.given)


def named(name: str, lot: str) -> str:
    """Return an ingredient's name with its lot, if it has one."""
    return f"{name}, lot {lot}" if lot else name
