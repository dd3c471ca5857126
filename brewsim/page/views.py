"""From content to what the template lays out: charts drawn, sections chosen, notes placed."""

from dataclasses import dataclass

from markupsafe import Markup

from brewsim.page.charts import (
    again,
    drivers,
    kinds,
    moves,
    origin,
    run_chart,
    sources,
    strips,
    style,
    svg,
)
from brewsim.page.dials import as_json
from brewsim.wording import sentences as words
from brewsim.wording.content import Content, Drivers, InputRow
from brewsim.wording.page_parts import FirstScreen, Strip, TastedBeer
from brewsim.wording.page_tables import driver_table, outcome_table
from brewsim.wording.parts import Danger, Table

NO_SPREAD = "no spread"
SECTIONS = (
    ("verdict", "Does it land?"),
    ("tasted", "From the beer in the glass"),
    ("batches", "Your batches"),
    ("turn", "Turn all of them"),
    ("why", "Why"),
    ("again", "Again and again"),
    ("card", "Brew-day card"),
    ("more", "Everything else"),
)
_FIRST_PANELS = 2
"""Panels of odd readings on the first screen of a page with a log."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart as the template needs it: still picture, live figure as JSON, table twin."""

    key: str
    title: str
    description: str
    svg: Markup
    live: Markup
    table: Table


@dataclass(frozen=True, slots=True)
class StripView:
    """One strip of the fifty batches: its label, what lands, its chart."""

    strip: Strip
    chart: Chart


@dataclass(frozen=True, slots=True)
class HouseView:
    """The readings of one quantity over all batches, and whether one of them is odd."""

    label: str
    unit: str
    odd: bool
    chart: Chart


@dataclass(frozen=True, slots=True)
class SourceView:
    """One target's sources: chart, legend and the rest in words."""

    label: str
    chart: Chart
    legend: tuple[tuple[str, str], ...]
    rest: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DriversView:
    """All drivers of one outcome in the fold: a chart by step, and a table of what counts."""

    label: str
    sentences: tuple[str, ...]
    table: Table
    groups: Chart | None


@dataclass(frozen=True, slots=True)
class TastedView:
    """A tasted batch: the moves of the first screen, all moves, where the thiols came from."""

    moves: Chart
    all_moves: Chart
    origin: Chart | None


@dataclass(frozen=True, slots=True)
class View:
    """The whole page, ready to lay out."""

    sections: tuple[tuple[str, str], ...]
    screen: FirstScreen | None
    strips: tuple[StripView, ...]
    top: tuple[Danger, ...]
    notes: tuple[Danger, ...]
    joint: str
    dials: Markup
    sources: tuple[SourceView, ...]
    again: tuple[Chart, ...]
    promise: tuple[str, ...]
    house: tuple[HouseView, ...]
    house_first: tuple[HouseView, ...]
    tasted: TastedView | None
    outcomes: Table | None
    swatches: tuple[str, str, str] | None
    drivers: tuple[DriversView, ...]
    kinds: Chart | None
    kinds_legend: tuple[tuple[str, str], ...]
    settings: tuple[InputRow, ...]
    stated: tuple[InputRow, ...]


def view_of(content: Content) -> View:
    """Draw every chart of the content and decide which sections the page has."""
    sections = tuple((key, name) for key, name in SECTIONS if _has(content, key))
    plan = content.forecast or content.screen
    panels = _house(content)
    panels_first = tuple(one for one in panels if one.odd)[:_FIRST_PANELS] or panels[:1]
    if content.house and content.house.panels and content.house.panels[0].level:
        panels_first = panels[:1]  # a long log: what is plainly odd stands first
    return View(
        sections=sections,
        screen=content.screen,
        strips=_strips(plan),
        top=tuple(d for d in content.dangers if d.place == "top"),
        notes=tuple(d for d in content.dangers if d.place != "top"),
        joint=joint_of(content),
        dials=_dials(content, plan),
        sources=tuple(
            SourceView(bar.label, chart(sources.source_bar(bar), f"source-{n}"),
                       sources.legend(bar), bar.rest)
            for n, bar in enumerate(content.sources_of)
        ),
        again=tuple(chart(again.again(row), f"again-{n}") for n, row in enumerate(content.again)),
        promise=_promise(content),
        house=tuple(one for one in panels if one not in panels_first),
        house_first=panels_first,
        tasted=None if content.tasted is None else _tasted(content.tasted),
        outcomes=outcome_table(content.outcomes),
        swatches=next((o.swatches for o in content.outcomes if o.swatches), None),
        drivers=tuple(_driven(one, n) for n, one in enumerate(content.drivers)),
        kinds=chart(kinds.kind_bars(content.kinds), "kinds-chart") if content.kinds else None,
        kinds_legend=kinds.legend(),
        settings=tuple(row for row in content.understood if row.spread == NO_SPREAD),
        stated=tuple(row for row in content.understood if row.spread != NO_SPREAD),
    )  # fmt: skip


def _tasted(beer: TastedBeer) -> TastedView:
    came = origin.origin(beer.origin, beer.start) if beer.origin else None
    return TastedView(
        chart(moves.moves(beer, beer.moves), "moves"),
        chart(moves.moves(beer, beer.rows), "all-moves"),
        None if came is None else chart(came, "origin"),
    )


def _house(content: Content) -> tuple[HouseView, ...]:
    return tuple(
        HouseView(
            panel.label,
            panel.unit,
            any(point.odd for point in panel.points),
            chart(run_chart.in_house(panel), f"house-{n}"),
        )
        for n, panel in enumerate(content.house.panels if content.house else ())
    )


def _strips(plan: FirstScreen | None) -> tuple[StripView, ...]:
    if plan is None:
        return ()
    return tuple(
        StripView(one, chart(strips.strip(plan.pictures, one), f"strip-{n}"))
        for n, one in enumerate(plan.pictures.strips)
    )


def _dials(content: Content, plan: FirstScreen | None) -> Markup:
    if content.dials is None:
        return Markup()
    shown = content.screen if content.tasted is not None else plan
    return _data(as_json(content.dials, shown.actions if shown is not None else ()))


def _data(text: str) -> Markup:
    """Return JSON as it can stand inside a script tag: no tag can open in it."""
    return Markup(text.replace("<", "\\u003c"))  # noqa: S704 - escaped here


def chart(drawn: style.Drawn, key: str) -> Chart:
    """Give a drawn figure its still picture and its live form."""
    still = svg.draw(drawn.figure, key, drawn.title, drawn.description)
    return Chart(
        key=key,
        title=drawn.title,
        description=drawn.description,
        svg=Markup(still),  # noqa: S704 - every word in it went through html.escape
        live=_data(drawn.figure.to_json()),
        table=drawn.table,
    )


def _has(content: Content, key: str) -> bool:
    return {
        "verdict": content.screen is not None,
        "turn": content.dials is not None,
        "tasted": content.tasted is not None,
        "why": bool(content.sources_of),
        "again": bool(content.again),
        "batches": content.house is not None,
        "card": content.card is not None,
        "more": True,
    }[key]


def joint_of(content: Content) -> str:
    """Return the sentence on all targets in one batch, "" where there are fewer than two."""
    targets = sum(outcome.target is not None for outcome in content.outcomes)
    if content.joint_chance is None or targets < 2:
        return ""
    return words.joint(content.joint_chance, content.joint_error, targets)


def _promise(content: Content) -> tuple[str, ...]:
    """Return the limit to promise and the first thing to tighten, a sentence each."""
    heads, told = content.spec.heads, content.spec.sentences
    first = told[:1]
    wanted = ("What to tighten", "On the label")
    more = [
        f"{head}: {text}"
        for head, text in zip(heads, told, strict=False)
        if head in wanted and len(text) < 400
    ]
    return (*first, *more)


def _driven(one: Drivers, number: int) -> DriversView:
    groups = None
    if len(one.groups) > 1:
        groups = chart(drivers.driver_bars(one.label, one.groups), f"groups-{number}")
    return DriversView(
        label=one.label,
        sentences=words.ranking(one.factors),
        table=driver_table(one.label, one.factors),
        groups=groups,
    )
