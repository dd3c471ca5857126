"""One line of the table of speeds."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """What was done, what it took here and beside it, their ratio, and what it should be."""

    work: str
    ours: str
    peer: str
    ratio: str
    aim: str
