"""Brewed batches: what was expected of each and what was measured."""

from collections.abc import Sequence

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.format import printed, reading, with_unit
from brewsim.wording.content import BatchPoint, Table
from brewsim.wording.scales import is_logged

_ROW = 34
_MARGINS = (8, 14, 8, 46)


def batch_points(points: Sequence[BatchPoint]) -> style.Drawn:
    """Draw one outcome over its batches: a bar for nine chances in ten, a mark for the reading."""
    look = points[0].look
    logged = is_logged(points[0].scale, look, min(min(p.low, p.measured) for p in points))
    rows = len(points)
    ends = [value for p in points for value in (p.low, p.high, p.measured)]
    low, high = style.place(min(ends), logged), style.place(max(ends), logged)
    pad = 0.06 * ((high - low) or 1.0)
    span = (low - pad, high + pad)
    height = _ROW * rows + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, span, (-0.5, rows - 0.5), _MARGINS)
    for i, point in enumerate(points):
        _add(figure, point, rows - 1 - i, span[0], logged)
    style.label_x(figure, *style.axis_ticks(span, look, logged), style.axis_title(look))
    outside = [p.batch for p in points if not p.low <= p.measured <= p.high]
    words = f"{len(outside)} of {rows} readings lie outside what was expected of them."
    return style.Drawn(figure, f"{look.title}: expected and measured", words, _twin(points))


def _add(figure: Sketch, point: BatchPoint, row: int, left: float, logged: bool) -> None:
    low, middle, high, measured = (
        style.place(value, logged)
        for value in (point.low, point.middle, point.high, point.measured)
    )
    y = row - 0.22
    figure.add_scatter(
        x=[low, high],
        y=[y, y],
        mode="lines",
        line={"width": 7, "color": style.BAND},
        hoverinfo="skip",
        name="expected",
    )
    figure.add_scatter(
        x=[middle, middle],
        y=[y - 0.16, y + 0.16],
        mode="lines",
        line={"width": 2, "color": style.INSIDE},
        hoverinfo="skip",
        name="expected middle",
    )
    inside = point.low <= point.measured <= point.high
    color = style.INK if inside else style.OUTSIDE
    figure.add_scatter(
        x=[measured],
        y=[y],
        mode="markers",
        marker={
            "symbol": "square" if inside else "diamond-open",
            "size": 9 if inside else 12,
            "color": color,
            "line": {"width": 0 if inside else 2, "color": color},
        },
        text=[f"{point.batch}: {_measured(point)}"],
        hovertemplate="%{text}<extra></extra>",
        name="measured",
    )
    figure.add_annotation(
        x=left, y=row + 0.24, text=point.batch, showarrow=False, xref="x", yref="y",
        xanchor="left", yanchor="middle", font={"color": style.INK},
    )  # fmt: skip


def _twin(points: Sequence[BatchPoint]) -> Table:
    look = points[0].look
    rows = tuple(
        (
            p.batch,
            f"{printed(look, p.low)} to {printed(look, p.high)}",
            printed(look, p.middle),
            _measured(p),
            "inside" if p.low <= p.measured <= p.high else "outside",
        )
        for p in points
    )
    header = ("batch", "expected", "middle", "measured", "")
    return Table(f"{look.title} by batch", header, rows)


def _measured(point: BatchPoint) -> str:
    look = point.look
    return with_unit(look, reading(look, point.measured / look.per_model))
