"""From content to what the template lays out: charts drawn, sections chosen, notes placed."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from brewsim.page.charts import batches, dots, drivers, kinds, knobs, style, svg
from brewsim.wording import sentences as words
from brewsim.wording.content import Content, Danger, Drivers, InputRow, Outcome, Place, Table
from brewsim.wording.what_if import as_json

NO_SPREAD = "no spread"
SECTIONS = (
    ("danger", "Danger first"),
    ("expect", "What to expect"),
    ("dots", "Fifty batches"),
    ("drivers", "What drives it"),
    ("knobs", "Knobs"),
    ("spec", "Limits you can promise"),
    ("kinds", "Lots, batches and what nobody knows"),
    ("batches", "Your batches"),
    ("understood", "I understood, I assumed"),
    ("method", "Method and cautions"),
)


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
class OutcomeView:
    """An outcome with its sentences and its chart."""

    outcome: Outcome
    expectation: str
    landing: str
    chart: Chart


@dataclass(frozen=True, slots=True)
class DriversView:
    """The drivers of one outcome with sentences and charts."""

    drivers: Drivers
    sentences: tuple[str, ...]
    hidden: int
    factors: Chart
    groups: Chart | None


@dataclass(frozen=True, slots=True)
class View:
    """The whole page, ready to lay out."""

    sections: tuple[tuple[str, str], ...]
    top: tuple[Danger, ...]
    notes: dict[str, tuple[Danger, ...]]
    joint: str
    outcomes: tuple[OutcomeView, ...]
    drivers: tuple[DriversView, ...]
    more_drivers: tuple[DriversView, ...]
    knobs: tuple[tuple[Chart, str], ...]
    kinds: Chart | None
    kinds_legend: tuple[tuple[str, str], ...]
    own: Table | None
    batches: tuple[Chart, ...]
    settings: tuple[InputRow, ...]
    stated: tuple[InputRow, ...]
    what_if: Markup
    tried_first: tuple[int, ...]
    tried_more: tuple[int, ...]


def view_of(content: Content) -> View:
    """Draw every chart of the content and decide which sections the page has."""
    asked = {o.name for o in content.outcomes if o.target is not None}
    driven = [_driven(one, n) for n, one in enumerate(content.drivers)]
    first = [d for d in driven if d.drivers.outcome in asked] or driven[:3]
    sections = tuple((key, name) for key, name in SECTIONS if _has(content, key))
    keys = {key for key, _ in sections}
    return View(
        sections=_named(sections, content),
        top=tuple(d for d in content.dangers if d.place == "top"),
        notes=_notes(content.dangers, keys),
        joint=joint_of(content),
        outcomes=tuple(_outcome(o, n) for n, o in enumerate(content.outcomes)),
        drivers=tuple(first),
        more_drivers=tuple(d for d in driven if d not in first),
        knobs=_knobs(content),
        kinds=chart(kinds.kind_bars(content.kinds), "kinds-chart") if content.kinds else None,
        kinds_legend=kinds.legend(),
        own=_own(content),
        batches=_batches(content),
        settings=tuple(row for row in content.understood if row.spread == NO_SPREAD),
        stated=tuple(row for row in content.understood if row.spread != NO_SPREAD),
        what_if=_data(as_json(content.what_if, content.outcomes, len(asked))),
        tried_first=_reached(content, asked, first=True),
        tried_more=_reached(content, asked, first=False),
    )


def _reached(content: Content, asked: set[str], *, first: bool) -> tuple[int, ...]:
    """Return the places of outcomes that a knob reaches: those with a target, or all others."""
    moved = {name for knob in content.what_if.knobs for name in knob.moved}
    wanted = asked or {outcome.name for outcome in content.outcomes[:4]}
    return tuple(
        place
        for place, outcome in enumerate(content.outcomes)
        if (outcome.name in moved or outcome.name in asked) and (outcome.name in wanted) is first
    )


def _data(text: str) -> Markup:
    """Return JSON as it can stand inside a script tag: no tag can open in it."""
    return Markup(text.replace("<", "\\u003c"))  # noqa: S704 - escaped here


def _named(sections: Sequence[tuple[str, str]], content: Content) -> tuple[tuple[str, str], ...]:
    """Call the first section by what it holds: danger, or only notes."""
    grave = any(d.place == "top" and d.level != "note" for d in content.dangers)
    return tuple(
        (key, "Before anything else" if key == "danger" and not grave else name)
        for key, name in sections
    )


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
    spec, log = content.spec, content.batches
    return {
        "danger": bool(content.events) or any(d.place == "top" for d in content.dangers),
        "expect": bool(content.outcomes),
        "dots": bool(content.outcomes),
        "drivers": bool(content.drivers),
        "knobs": bool(content.knobs or content.knob_panel.sentences),
        "spec": bool(spec.sentences or spec.tables),
        "kinds": bool(content.kinds),
        "batches": bool(log.points or log.panel.sentences or log.panel.tables),
        "understood": bool(content.understood or content.assumed or content.warnings),
        "method": True,
    }[key]


def _notes(dangers: Sequence[Danger], sections: set[str]) -> dict[str, tuple[Danger, ...]]:
    """Put every note into its section, or into the last one when the page lacks that section."""
    notes: dict[str, tuple[Danger, ...]] = {key: () for key, _ in SECTIONS}
    for danger in dangers:
        place: Place | str = danger.place if danger.place in sections else "method"
        if danger.place != "top":
            notes[place] = (*notes[place], danger)
    return notes


def joint_of(content: Content) -> str:
    """Return the sentence on all targets in one batch, "" where there are fewer than two."""
    targets = sum(outcome.target is not None for outcome in content.outcomes)
    if content.joint_chance is None or targets < 2:
        return ""
    return words.joint(content.joint_chance, content.joint_error, targets)


def _outcome(outcome: Outcome, number: int) -> OutcomeView:
    return OutcomeView(
        outcome=outcome,
        expectation=words.expectation(outcome),
        landing=words.landing(outcome),
        chart=chart(dots.quantile_dots(outcome), f"dots-{number}"),
    )


def _driven(one: Drivers, number: int) -> DriversView:
    groups = None
    if len(one.groups) > 1:
        groups = chart(drivers.driver_bars(one.label, one.groups), f"groups-{number}")
    return DriversView(
        drivers=one,
        sentences=words.ranking(one.factors),
        hidden=max(0, len(one.factors) - drivers.MOST),
        factors=chart(drivers.driver_bars(one.label, one.factors), f"drivers-{number}"),
        groups=groups,
    )


def _knobs(content: Content) -> tuple[tuple[Chart, str], ...]:
    return tuple(
        (chart(knobs.knob_curve(curve), f"knob-{number}"), curve.sentence)
        for number, curve in enumerate(content.knobs)
    )


def _own(content: Content) -> Table | None:
    rows = tuple(
        (
            kind.look.title,
            words.within(kind.look, kind.own_half, folds=kind.folds),
            words.within(kind.look, kind.middle_half, folds=kind.folds),
        )
        for kind in content.kinds
        if kind.own_half is not None and kind.middle_half is not None
    )
    header = ("outcome", "your batches", "your middle")
    return Table("Around your own middle, and where that lies", header, rows) if rows else None


def _batches(content: Content) -> tuple[Chart, ...]:
    points = sorted(content.batches.points, key=lambda point: point.outcome)
    return tuple(
        chart(batches.batch_points(tuple(group)), f"batch-{number}")
        for number, (_, group) in enumerate(groupby(points, key=lambda point: point.outcome))
    )
