"""What the first screens of a page show, as plain frozen data: pictures, advice, dials, card."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from brewsim.answers.sources import Mark
from brewsim.dims import FloatArray
from brewsim.quantities.catalogue import Quantity
from brewsim.study.steering.surfaces import Surfaces
from brewsim.wording.parts import Danger, Limits, Table


@dataclass(frozen=True, slots=True)
class Strip:
    """One outcome of fifty linked batches, shown units (doublings for folds).

    Place i is the same batch in every strip. `inside` is empty without a target; `heading` says
    how many land and where.
    """

    name: str
    look: Quantity
    logged: bool
    values: tuple[float, ...]
    inside: tuple[bool, ...]
    target: Limits | None
    low: float
    middle: float
    high: float
    count: int | None
    heading: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """The strips of the fifty batches, and which of the batches meet every target."""

    strips: tuple[Strip, ...] = ()
    together: tuple[bool, ...] = ()
    key: str = ""


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do: what, what comes of it, and the settings a dial shows it by.

    `settings` are by knob: a number in its shown unit, or the choice. `chances` by target and
    `joint` for all of them are those that the text tells; the dials give them there too. `brief`
    is title and text in a row of a terminal, without its full stop.
    """

    title: str
    text: str
    settings: Mapping[str, float | str] = field(default_factory=dict)
    chances: Mapping[str, float] = field(default_factory=dict)
    joint: float | None = None
    brief: str = ""


@dataclass(frozen=True, slots=True)
class FirstScreen:
    """Verdict, picture, what to do, why and the caution, each short enough for one screen.

    `figure` is the part of the verdict that is set apart by weight. `brief` is the verdict and
    `reasons` are the first of `why` in fewer words, for a terminal.
    """

    verdict: str
    figure: str
    beside: str
    pictures: Pictures
    actions: tuple[Action, ...]
    why: tuple[str, ...]
    caution: Danger | None
    brief: str = ""
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SourceRow:
    """An input with its share of a target's spread, in words, and what can be done about it."""

    label: str
    share: float
    mark: Mark


@dataclass(frozen=True, slots=True)
class SourceBar:
    """Where one target's spread comes from: five parts, the largest inputs, and the rest."""

    outcome: str
    label: str
    parts: tuple[tuple[str, str, float], ...]
    rows: tuple[SourceRow, ...]
    rest: tuple[str, ...]
    summary: str


@dataclass(frozen=True, slots=True)
class DialRow:
    """One dial: the settings it stops at, shown units, and where it stands today.

    `lines` are the table and the key of the recipe that hold it, for copying; `beside` the table
    and the whole line that go with a moved setting. `written` is the place of the recipe's own
    setting, -1 where no place is, None where the dial starts there.
    """

    id: str
    label: str
    unit: str
    decimals: int
    places: tuple[float, ...]
    start: int
    low: float
    high: float
    choices: tuple[str, ...]
    lines: tuple[str, str]
    beside: tuple[str, str] = ("", "")
    written: int | None = None


@dataclass(frozen=True, slots=True)
class Dials:
    """All dials with the surfaces they move, and what is said of them.

    `dots` are the places of the fifty batches among the draws; `chances` are the page's own
    chances today by outcome, `joint` that of all targets; `error` tells how well they are fitted.
    `ends` are windows that differ from draw to draw, shown units; `first` and `what` are the words
    for where the dials start and for what lands.
    """

    rows: tuple[DialRow, ...]
    surfaces: Surfaces
    strips: tuple[Strip, ...]
    per_model: Mapping[str, float]
    dots: tuple[int, ...]
    chances: Mapping[str, float]
    joint: float | None
    error: str
    notes: tuple[str, ...] = ()
    ends: Mapping[str, tuple[FloatArray, FloatArray]] = field(default_factory=dict)
    first: str = "Recipe"
    what: str = ""


@dataclass(frozen=True, slots=True)
class AgainRow:
    """An outcome's next batch, and inside it what a brewery's own batches scatter by."""

    label: str
    unit: str
    low: float
    middle: float
    high: float
    own_low: float
    own_high: float
    ends: tuple[str, str, str]
    own: str


@dataclass(frozen=True, slots=True)
class HousePoint:
    """One reading of one batch: where it lies in its house, shown units, and whether it is odd.

    `low` and `high` hold nine in ten of this house's readings, `first_low` and `first_high` those
    of the first forecast; nan where nobody asked.
    """

    batch: str
    value: float
    text: str
    odd: bool
    low: float
    high: float
    first_low: float
    first_high: float
    date: str = ""


@dataclass(frozen=True, slots=True)
class HousePanel:
    """The readings of one quantity over all batches, in the order of their days, shown units.

    `limits` are the lower control limit, the centre line and the upper one, nan without; `level`
    is the smoothed level at each point, and `runs` the first and last place of a pattern.
    """

    label: str
    unit: str
    points: tuple[HousePoint, ...]
    limits: tuple[float, float, float] = (math.nan, math.nan, math.nan)
    level: tuple[float, ...] = ()
    runs: tuple[tuple[int, int], ...] = ()
    outcome: str = ""


@dataclass(frozen=True, slots=True)
class HouseLog:
    """A batch log on the page: panels, the sentences of the odd readings, before and after.

    `narrowed` tells the interval that the log narrows most, "" where it narrows none; `plain` what
    is plainly odd, a sentence each.
    """

    panels: tuple[HousePanel, ...]
    odd: tuple[tuple[str, tuple[str, ...]], ...]
    before_after: tuple[tuple[str, str, str], ...]
    narrowed: str = ""
    next_reading: tuple[str, ...] = ()
    plain: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MoveRow:
    """One move from a tasted batch: where nine in ten next brews lie, and how many are as wished.

    `low`, `middle`, `high` are times the tasted batch, or steps from it; `same` is where nine in
    ten would lie had only the knobs been other in that batch itself.
    """

    label: str
    low: float
    middle: float
    high: float
    count: str
    same: tuple[float, float] = (math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class OriginRow:
    """One source of a tasted batch's thiols: its mean share, 5 and 95 %, how often the largest."""

    label: str
    mean: float
    low: float
    high: float
    largest: str


@dataclass(frozen=True, slots=True)
class TastedBeer:
    """The answer to a wish: moves to draw, sentences and a table; `window` in doublings.

    `moves` are those of the first screen, `rows` all that are told, `origin` where what was tasted
    came from. `verdict` is what to turn and what comes of it.
    """

    start: str
    label: str
    unit: str
    folds: bool
    window: tuple[float, float] | None
    moves: tuple[MoveRow, ...]
    sentences: tuple[str, ...]
    table: Table
    verdict: tuple[str, ...] = ()
    rows: tuple[MoveRow, ...] = ()
    origin: tuple[OriginRow, ...] = ()
    came: tuple[str, ...] = ()
    lessons: tuple[str, ...] = ()
