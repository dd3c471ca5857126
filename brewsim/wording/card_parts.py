"""The brew-day card as plain frozen data."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Blank:
    """A reading to write down: the field of the log it becomes, what stands before and after.

    `unit` is that of a number written without one.
    """

    field: str
    before: str
    after: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class CardRow:
    """One step of a brew day: what to do, what to read, and what if it is otherwise.

    `do` are (text, in bold, box to tick); `practice` marks what is common practice.
    """

    when: str
    do: tuple[tuple[str, bool, bool], ...]
    read: tuple[Blank, ...] = ()
    go: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BrewDayCard:
    """One sheet for the kettle: steps, a table of corrections, and what to expect."""

    title: str
    size: str
    rows: tuple[CardRow, ...]
    table_title: str
    table: tuple[tuple[str, ...], ...]
    go_column: int
    table_note: str
    foot: tuple[str, ...]
