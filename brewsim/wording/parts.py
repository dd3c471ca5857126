"""The smallest parts of a page: a caution, how an outcome is shown, the limits of a target."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["stop", "caution", "note"]
Place = Literal["top", "dots", "knobs", "spec", "understood", "method"]


@dataclass(frozen=True, slots=True)
class Danger:
    """A caution: what can go wrong, what to do, who says so, and where on the page it stands."""

    level: Level
    title: str
    text: str
    source: str
    place: Place = "top"
    short: str = ""
    """The same in one line, for the first screen."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A target in shown units (doublings for folds); None where that side is open."""

    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table of words: the twin of a chart, or a thing of its own."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
