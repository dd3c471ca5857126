"""Rows of the recipe's lists, and what their lines state."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.quantities.statement import Stated


@dataclass(frozen=True)
class Row:
    """One row of a list: its ingredient, lot, what the recipe states of it, and where it stands.

    `stated` is by whole quantity name; `origin` is (kind, number in the file).
    """

    name: str
    label: str
    stated: Mapping[str, Stated]
    lot: str = ""
    origin: tuple[str, int] = ("", 0)
    wrap: str = ""
    amount: Stated | None = None


@dataclass(frozen=True)
class Lists:
    """Rows by list, and the settings the recipe fixes, by whole quantity name.

    `stated` is what rows say of the batch as a whole: the hop stand's time and temperature.
    """

    rows: Mapping[str, tuple[Row, ...]] = field(default_factory=dict)
    fixed: Mapping[str, FloatArray] = field(default_factory=dict)
    stated: Mapping[str, Stated] = field(default_factory=dict)

    def __or__(self, other: "Lists") -> "Lists":
        """Return both together."""
        return Lists(
            {**self.rows, **other.rows},
            {**self.fixed, **other.fixed},
            {**self.stated, **other.stated},
        )

    def row_of(self, axis: str, origin: tuple[str, int]) -> int | None:
        """Return the place of a line of the file in a list, or None."""
        for place, row in enumerate(self.rows.get(axis, ())):
            if row.origin == origin:
                return place
        return None


def column(values: Sequence[float]) -> FloatArray:
    """Return the values as a list that every draw agrees on, (values, 1)."""
    return np.array(values, dtype=float).reshape(-1, 1)


def named(name: str, lot: str) -> str:
    """Return an ingredient's name with its lot, if it has one."""
    return f"{name}, lot {lot}" if lot else name
