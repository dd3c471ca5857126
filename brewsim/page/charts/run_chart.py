"""Readings in the order of their days: a house's band, control limits, the smoothed level."""

import datetime as dt
import math

from brewsim.page.charts import style
from brewsim.page.charts.house import house_panel
from brewsim.page.charts.sketch import Sketch
from brewsim.wording.page_parts import HousePanel
from brewsim.wording.parts import Table

_HEIGHT = 168
_MARGINS = (50, 12, 14, 24)
_PAD = 0.08
_MOST_NAMES = 4
_TICKS = 4
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def run_chart(panel: HousePanel) -> style.Drawn:
    """Draw one quantity in time; odd readings are diamonds, batches of a pattern are rings."""
    last = len(panel.points) - 1
    ends = [v for p in panel.points for v in (p.value, p.low, p.high) if math.isfinite(v)]
    ends += [v for v in panel.limits if math.isfinite(v)]
    low, high = min(ends), max(ends)
    pad = _PAD * ((high - low) or abs(high) or 1.0)
    rise = (low - pad, high + pad)
    figure = style.frame(_HEIGHT, (-0.7, last + 0.7), rise, _MARGINS)
    _band(figure, panel)
    _lines(figure, panel, last)
    _points(figure, panel)
    at = style.ticks(*rise, 4)
    figure.update_yaxes(
        visible=True, tickmode="array", tickvals=at, ticktext=style.tick_words(at),
        linecolor=style.SOFT, tickcolor=style.SOFT, ticks="outside", ticklen=4,
    )  # fmt: skip
    places = sorted({round(k * last / (_TICKS - 1)) for k in range(_TICKS)})
    style.label_x(figure, places, [_when(panel, p) for p in places], "")
    return style.Drawn(figure, f"{panel.label} in time", _words(panel), _twin(panel))


def in_house(panel: HousePanel) -> style.Drawn:
    """Draw a long log in time, a short one with a row for each batch."""
    return run_chart(panel) if panel.level else house_panel(panel)


def _band(figure: Sketch, panel: HousePanel) -> None:
    known = [(n, p) for n, p in enumerate(panel.points) if math.isfinite(p.low + p.high)]
    if not known:
        return
    places = [known[0][0] - 0.5, *(n for n, _ in known), known[-1][0] + 0.5]
    tops = [p.high for _, p in known]
    feet = [p.low for _, p in known]
    figure.add_scatter(
        x=[*places, *reversed(places)],
        y=[tops[0], *tops, tops[-1], feet[-1], *reversed(feet), feet[0]],
        mode="lines", fill="toself", fillcolor=style.BAND, line={"width": 0, "color": style.BAND},
        name="nine in ten of this house", hoverinfo="skip",
    )  # fmt: skip


def _lines(figure: Sketch, panel: HousePanel, last: int) -> None:
    low, middle, high = panel.limits
    if not math.isfinite(middle):
        return
    for at, dash, name in (
        (low, "dash", "lower control limit"),
        (middle, "", "centre line"),
        (high, "dash", "upper control limit"),
    ):
        figure.add_scatter(
            x=[-0.7, last + 0.7], y=[at, at], mode="lines", name=name, hoverinfo="name",
            line={"width": 1, "color": style.SOFT} | ({"dash": dash} if dash else {}),
        )  # fmt: skip
    figure.add_scatter(
        x=list(range(last + 1)), y=list(panel.level), mode="lines", name="smoothed level",
        hoverinfo="name", line={"width": 2, "color": style.INSIDE},
    )  # fmt: skip


def _points(figure: Sketch, panel: HousePanel) -> None:
    inside = {p for first, last in panel.runs for p in range(first, last + 1)}
    small = 4 if len(panel.points) > 60 else 6
    named = _named(panel)
    for place, point in enumerate(panel.points):
        color = style.OUTSIDE if point.odd or place in inside else style.INK
        figure.add_scatter(
            x=[place], y=[point.value], mode="markers",
            name="odd" if point.odd else "in a pattern" if place in inside else "as usual",
            marker={
                "symbol": "diamond" if point.odd else "square",
                "size": 11 if point.odd else small,
                "color": color,
                "line": {"width": 0, "color": color},
            },
            text=[_told(point.batch, point.date, point.text)],
            hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip
        if place in named:
            up = point.value < panel.limits[1]
            left = place < len(panel.points) / 2
            figure.add_annotation(
                x=place, y=point.value, text=point.batch, showarrow=False, xref="x", yref="y",
                xanchor="left" if left else "right", yanchor="bottom" if up else "top",
                xshift=7 if left else -7, font={"color": style.OUTSIDE},
            )  # fmt: skip


def _named(panel: HousePanel) -> set[int]:
    """Return the odd points that have room for their name, those farthest out first."""
    far = [p for p, point in enumerate(panel.points) if point.odd]
    far.sort(key=lambda p: -abs(panel.points[p].value - panel.limits[1]))
    room = len(panel.points) / 7
    found: set[int] = set()
    for place in far:
        if len(found) < _MOST_NAMES and all(abs(place - other) >= room for other in found):
            found.add(place)
    return found


def _told(batch: str, day: str, text: str) -> str:
    return f"{batch}, {day}: {text}" if day else f"{batch}: {text}"


def _when(panel: HousePanel, place: int) -> str:
    point = panel.points[place]
    if not point.date:
        return point.batch
    day = dt.date.fromisoformat(point.date)
    return f"{day.day} {_MONTHS[day.month - 1]}"


def _words(panel: HousePanel) -> str:
    odd = [p.batch for p in panel.points if p.odd]
    runs = [
        f"{panel.points[first].batch} to {panel.points[last].batch}" for first, last in panel.runs
    ]
    told = [f"{', '.join(odd)} beyond a control limit."] if odd else []
    told += [f"A pattern from {', '.join(dict.fromkeys(runs))}."] if runs else []
    return " ".join(told) or "No batch breaks a rule."


def _twin(panel: HousePanel) -> Table:
    inside = {p for first, last in panel.runs for p in range(first, last + 1)}
    rows = tuple(
        (p.batch, p.date, p.text, "odd" if p.odd else "in a pattern" if n in inside else "as usual")
        for n, p in enumerate(panel.points)
    )
    return Table(f"{panel.label} in time", ("batch", "day", "measured", ""), rows)
