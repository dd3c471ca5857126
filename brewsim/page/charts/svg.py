"""Draw the figures of this folder as plain SVG: what a page without scripts, and paper, show.

It reads the same figure that the live chart uses, so the two cannot differ. It knows what
these figures use: scatter lines, fills, markers and text, horizontal bars with error bars,
annotations, one x axis and one y axis with their ranges given.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape
from typing import Any

from brewsim.page.charts.sketch import Sketch

_DASHES = {"dash": "6 4", "dot": "2 4"}
_LINE = 17
_LETTER_WIDE = 10.0
_ANCHORS = {"left": "start", "center": "middle", "right": "end"}


@dataclass(frozen=True)
class _Sheet:
    """Turns data into places on the drawing."""

    left: float
    top: float
    wide: float
    high: float
    span: tuple[float, float]
    rise: tuple[float, float]
    key: str

    def x(self, value: float) -> float:
        return self.left + self.wide * (value - self.span[0]) / (self.span[1] - self.span[0])

    def y(self, value: float) -> float:
        return self.top + self.high * (self.rise[1] - value) / (self.rise[1] - self.rise[0])


def draw(figure: Sketch, key: str, title: str, description: str) -> str:
    """Return the figure as one SVG element, labelled by its title and description.

    `key` makes the ids unique on the page.
    """
    layout = figure.layout
    margin = layout.margin
    sheet = _Sheet(
        left=margin.l,
        top=margin.t,
        wide=layout.width - margin.l - margin.r,
        high=layout.height - margin.t - margin.b,
        span=tuple(layout.xaxis.range),
        rise=tuple(layout.yaxis.range),
        key=key,
    )
    parts = [
        (
            f'<svg class="chart" viewBox="0 0 {layout.width} {layout.height}" role="img" '
            f'aria-labelledby="{key}-title {key}-desc" preserveAspectRatio="xMidYMid meet">'
        ),
        f'<title id="{key}-title">{escape(title)}</title>',
        f'<desc id="{key}-desc">{escape(description)}</desc>',
    ]
    for number, trace in enumerate(figure.data):
        parts += _bars(trace, sheet) if trace.type == "bar" else _scatter(trace, sheet, number)
    parts += _x_axis(layout, sheet) + _y_axis(layout, sheet)
    parts += [_annotation(note, sheet) for note in layout.annotations]
    return "".join(parts) + "</svg>"


def _scatter(trace: Any, sheet: _Sheet, number: int) -> Iterable[str]:  # noqa: ANN401 - untyped
    points = [(sheet.x(x), sheet.y(y)) for x, y in zip(trace.x, trace.y, strict=True)]
    mode = trace.mode or ""
    parts = []
    if trace.fill == "toself":
        parts += _filled(trace, points, sheet, number)
    if "lines" in mode and trace.line.width != 0:
        dash = _DASHES.get(trace.line.dash or "", "")
        parts.append(
            f'<path d="{_path(points)}" style="fill:none;stroke:{trace.line.color};'
            f'stroke-width:{trace.line.width or 2};stroke-dasharray:{dash or "none"}"/>'
        )
    if "markers" in mode:
        parts += [_marker(trace.marker, x, y) for x, y in points]
    return parts


def _filled(
    trace: Any,  # noqa: ANN401 - untyped
    points: list[tuple[float, float]],
    sheet: _Sheet,
    number: int,
) -> list[str]:
    shape = _path(points) + "Z"
    if not trace.fillpattern.shape:
        opacity = trace.opacity if trace.opacity is not None else 1
        style = f"fill:{trace.fillcolor};stroke:none;opacity:{opacity}"
        return [f'<path d="{shape}" style="{style}"/>']
    key, size = f"{sheet.key}-hatch-{number}", trace.fillpattern.size
    stroke = f"stroke:{trace.fillpattern.fgcolor};stroke-width:1.4"
    return [
        (
            f'<pattern id="{key}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="{size}" '
            f'style="{stroke}"/></pattern>'
        ),
        f'<path d="{shape}" style="fill:url(#{key});stroke:none"/>',
    ]


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _marker(marker: Any, x: float, y: float) -> str:  # noqa: ANN401 - untyped
    radius = marker.size / 2
    hollow = str(marker.symbol).endswith("-open")
    style = (
        f"fill:{'none' if hollow else marker.color};stroke:{marker.line.color or marker.color};"
        f"stroke-width:{marker.line.width or (2 if hollow else 0)}"
    )
    symbol = str(marker.symbol or "circle").removesuffix("-open")
    return _SYMBOLS[symbol](x, y, radius, style)


def _circle(x: float, y: float, radius: float, style: str) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" style="{style}"/>'


def _polygon(corners: list[tuple[float, float]]) -> Callable[[float, float, float, str], str]:
    def mark(x: float, y: float, radius: float, style: str) -> str:
        at = [(x + dx * radius, y + dy * radius) for dx, dy in corners]
        return f'<path d="{_path(at)}Z" style="{style}"/>'

    return mark


_SYMBOLS: dict[str, Callable[[float, float, float, str], str]] = {
    "circle": _circle,
    "diamond": _polygon([(0, -1.2), (1.2, 0), (0, 1.2), (-1.2, 0)]),
    "square": _polygon([(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)]),
    "triangle-up": _polygon([(0, -1.1), (1.1, 0.9), (-1.1, 0.9)]),
}


def _bars(trace: Any, sheet: _Sheet) -> list[str]:  # noqa: ANN401 - untyped
    parts = []
    bases = trace.base if trace.base is not None else [0] * len(trace.x)
    colors = trace.marker.color
    for row, (length, y, base) in enumerate(zip(trace.x, trace.y, bases, strict=True)):
        color = colors if isinstance(colors, str) else colors[row]
        left, right = sheet.x(base), sheet.x(base + length)
        high, low = sheet.y(y + trace.width / 2), sheet.y(y - trace.width / 2)
        line = trace.marker.line
        parts.append(
            f'<rect x="{left:.1f}" y="{high:.1f}" width="{max(0.0, right - left):.1f}" '
            f'height="{low - high:.1f}" style="fill:{color};'
            f'stroke:{line.color or "none"};stroke-width:{line.width or 0}"/>'
        )
        if trace.marker.pattern.shape:
            parts += _bar_pattern(trace, sheet, row, (left, high, right, low))
    if trace.error_x.array is not None:
        parts += _whiskers(trace, sheet)
    return parts


def _bar_pattern(
    trace: Any,  # noqa: ANN401 - untyped
    sheet: _Sheet,
    row: int,
    box: tuple[float, float, float, float],
) -> list[str]:
    key = f"{sheet.key}-{escape(trace.name or '')}-{row}".replace(" ", "-")
    left, high, right, low = box
    color = trace.marker.pattern.fgcolor
    dots = trace.marker.pattern.shape == "."
    ink = (
        f'<circle cx="3" cy="3" r="1.3" style="fill:{color}"/>'
        if dots
        else f'<line x1="0" y1="0" x2="0" y2="6" style="stroke:{color};stroke-width:2"/>'
    )
    return [
        (
            f'<pattern id="{key}" width="6" height="6" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)">{ink}</pattern>'
        ),
        (
            f'<rect x="{left:.1f}" y="{high:.1f}" width="{max(0.0, right - left):.1f}" '
            f'height="{low - high:.1f}" style="fill:url(#{key})"/>'
        ),
    ]


def _whiskers(trace: Any, sheet: _Sheet) -> list[str]:  # noqa: ANN401 - untyped
    error = trace.error_x
    style = f"stroke:{error.color};stroke-width:{error.thickness};fill:none"
    parts = []
    for x, y, more, less in zip(trace.x, trace.y, error.array, error.arrayminus, strict=True):
        low, high, at = sheet.x(x - less), sheet.x(x + more), sheet.y(y)
        cap = error.width
        parts.append(
            f'<path d="M{low:.1f} {at:.1f}L{high:.1f} {at:.1f}M{low:.1f} {at - cap:.1f}'
            f'L{low:.1f} {at + cap:.1f}M{high:.1f} {at - cap:.1f}L{high:.1f} {at + cap:.1f}" '
            f'style="{style}"/>'
        )
    return parts


def _x_axis(layout: Any, sheet: _Sheet) -> list[str]:  # noqa: ANN401 - untyped
    axis = layout.xaxis
    if axis.visible is False:
        return []
    low = sheet.top + sheet.high
    parts = [_line(sheet.left, low, sheet.left + sheet.wide, low, axis.linecolor)]
    for at, words in zip(axis.tickvals or (), axis.ticktext or (), strict=True):
        x = sheet.x(at)
        parts.append(_line(x, low, x, low + 4, axis.tickcolor))
        half = _LETTER_WIDE / 2 * len(words)
        inside = min(max(x, half), layout.width - half)
        parts.append(_text(inside, low + 18, words, "middle", "var(--ink)"))
    if axis.title.text:
        middle = sheet.left + sheet.wide / 2
        parts.append(_text(middle, layout.height - 5, axis.title.text, "middle", "var(--soft)"))
    return parts


def _y_axis(layout: Any, sheet: _Sheet) -> list[str]:  # noqa: ANN401 - untyped
    axis = layout.yaxis
    if axis.visible is False:
        return []
    parts = [_line(sheet.left, sheet.top, sheet.left, sheet.top + sheet.high, axis.linecolor)]
    for at, words in zip(axis.tickvals or (), axis.ticktext or (), strict=True):
        y = sheet.y(at)
        parts.append(_line(sheet.left - 4, y, sheet.left, y, axis.tickcolor))
        parts.append(_text(sheet.left - 7, y + 4, words, "end", "var(--ink)"))
    return parts


def _line(x1: float, y1: float, x2: float, y2: float, color: str) -> str:
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" style="stroke:{color};fill:none"/>'


def _annotation(note: Any, sheet: _Sheet) -> str:  # noqa: ANN401 - untyped
    x = sheet.left + sheet.wide * note.x if note.xref == "paper" else sheet.x(note.x)
    y = sheet.top + sheet.high * (1 - note.y) if note.yref == "paper" else sheet.y(note.y)
    drop = {"top": 11, "middle": 4, "bottom": -4}[note.yanchor or "middle"]
    anchor = _ANCHORS[note.xanchor or "center"]
    color = note.font.color or "var(--ink)"
    lines = note.text.split("\n")
    rise = _LINE * (len(lines) - 1) if note.yanchor == "bottom" else 0
    at = y + drop - (note.yshift or 0) - rise
    return "".join(
        _text(x + (note.xshift or 0), at + _LINE * place, line, anchor, color)
        for place, line in enumerate(lines)
    )


def _text(x: float, y: float, words: str, anchor: str, color: str) -> str:
    style = f"fill:{color};text-anchor:{anchor}"
    return f'<text x="{x:.1f}" y="{y:.1f}" style="{style}">{escape(words)}</text>'
