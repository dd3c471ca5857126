"""Everything the page says, as plain frozen data: what is here is only drawn, never computed."""

from dataclasses import dataclass
from typing import Literal

from brewsim.quantities.catalogue import Quantity
from brewsim.wording.card_parts import BrewDayCard
from brewsim.wording.page_parts import (
    AgainRow,
    Dials,
    FirstScreen,
    HouseLog,
    SourceBar,
    TastedBeer,
)
from brewsim.wording.parts import Danger, Limits, Table

Mark = Literal["turn", "measure", "nobody"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome in shown units (doublings for folds): 50 equally likely values and the numbers.

    `low` and `high` hold nine chances in ten; `chance` is the chance of meeting the target and
    `chance_error` the half width of its sampling interval.
    """

    name: str
    look: Quantity
    scale: str
    dots: tuple[float, ...]
    low: float
    middle: float
    high: float
    target: Limits | None = None
    chance: float | None = None
    chance_error: float = 0.0
    swatches: tuple[str, str, str] | None = None


@dataclass(frozen=True, slots=True)
class Bar:
    """One input's share of the spread of an outcome: alone, and with the others, as fractions.

    `by_measuring` is what measuring it before the brew takes away: what lasts or comes with a
    lot, not what it scatters from brew to brew; None where that was not asked.
    """

    label: str
    alone: float
    alone_low: float
    alone_high: float
    together: float
    together_low: float
    together_high: float
    mark: Mark | None = None
    by_measuring: float | None = None

    @property
    def within_reach(self) -> float:
        """The share that would go: of an input to be measured only what measuring reaches."""
        if self.mark != "measure" or self.by_measuring is None:
            return self.alone
        return min(self.alone, self.by_measuring)


@dataclass(frozen=True, slots=True)
class Drivers:
    """What drives one outcome, largest first, by single input and by ingredient or step."""

    outcome: str
    label: str
    factors: tuple[Bar, ...]
    groups: tuple[Bar, ...] = ()


@dataclass(frozen=True, slots=True)
class Panel:
    """Sentences and tables under one heading; `more` are tables to be opened by who wants them.

    `heads`, where there are any, stand before the sentences, one for each, "" for none.
    """

    sentences: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    heads: tuple[str, ...] = ()
    more: tuple[Table, ...] = ()


@dataclass(frozen=True, slots=True)
class KindShares:
    """How an outcome's spread divides: the same in every brew, new with a lot, new every brew.

    The three shares sum to 1. `own_half` is half the width that holds nine in ten of a brewery's
    batches around its own middle, `middle_half` how well that middle is known; shown units, or
    doublings when `folds`.
    """

    outcome: str
    look: Quantity
    knowledge: float
    lot: float
    batch: float
    own_half: float | None = None
    middle_half: float | None = None
    folds: bool = False


@dataclass(frozen=True, slots=True)
class BatchPoint:
    """A reading of a brewed batch beside what was expected of it, shown units."""

    batch: str
    outcome: str
    look: Quantity
    scale: str
    low: float
    middle: float
    high: float
    measured: float


@dataclass(frozen=True, slots=True)
class Batches:
    """Expected against measured, and why: sentences and tables of causes."""

    points: tuple[BatchPoint, ...] = ()
    panel: Panel = Panel()


@dataclass(frozen=True, slots=True)
class InputRow:
    """One input as it was taken: where it stands, its value and spread in words, who says so."""

    what: str
    value: str
    spread: str
    grade: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Content:
    """The whole page. A part without content leaves its section out."""

    title: str
    version: str
    seed: int
    draws: int
    replicates: int
    outcomes: tuple[Outcome, ...]
    dangers: tuple[Danger, ...] = ()
    joint_chance: float | None = None
    joint_error: float = 0.0
    events: tuple[str, ...] = ()
    drivers: tuple[Drivers, ...] = ()
    knob_panel: Panel = Panel()
    spec: Panel = Panel()
    kinds: tuple[KindShares, ...] = ()
    batches: Batches = Batches()
    understood: tuple[InputRow, ...] = ()
    assumed: tuple[InputRow, ...] = ()
    warnings: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    method: tuple[str, ...] = ()
    sources: tuple[tuple[str, str], ...] = ()
    screen: FirstScreen | None = None
    forecast: FirstScreen | None = None
    """The screen that plans the next batch, where a log has the first."""
    dials: Dials | None = None
    sources_of: tuple[SourceBar, ...] = ()
    again: tuple[AgainRow, ...] = ()
    house: HouseLog | None = None
    card: BrewDayCard | None = None
    tasted: TastedBeer | None = None
