"""Readings of brewed batches against the ordinary band of this house."""

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.wording.page_parts import HousePanel, HousePoint
from brewsim.wording.parts import Table

_ROW = 17
_MARGINS = (44, 10, 4, 22)
_PAD = 0.06
_HALF = 0.32
"""Half the height of the band of a house, in rows."""


def house_panel(panel: HousePanel) -> style.Drawn:
    """Draw one quantity over its batches: this house's band, the first forecast, the reading."""
    rows = len(panel.points)
    ends = [v for p in panel.points for v in (p.low, p.high, p.value, p.first_low, p.first_high)]
    low, high = min(ends), max(ends)
    pad = _PAD * ((high - low) or 1.0)
    height = _ROW * rows + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, (low - pad, high + pad), (-0.5, rows - 0.5), _MARGINS)
    for place, point in enumerate(panel.points):
        _row(figure, point, rows - 1 - place, low - pad)
    at = style.ticks(low - pad, high + pad, 4)
    style.label_x(figure, at, style.tick_words(at), "")
    odd = [p.batch for p in panel.points if p.odd]
    words = f"{', '.join(odd)} odd." if odd else "Every reading is as this house makes them."
    return style.Drawn(figure, f"{panel.label} by batch", words, _twin(panel))


def _row(figure: Sketch, point: HousePoint, row: int, left: float) -> None:
    style.block(figure, (point.low, point.high), row, _HALF, "this house")
    figure.add_scatter(
        x=[point.first_low, point.first_high], y=[row, row], mode="lines", hoverinfo="name",
        name="first forecast", line={"width": 1.5, "color": style.SOFT},
    )  # fmt: skip
    color = style.OUTSIDE if point.odd else style.INK
    figure.add_scatter(
        x=[point.value], y=[row], mode="markers", name="odd" if point.odd else "as usual",
        marker={
            "symbol": "diamond" if point.odd else "square",
            "size": 11 if point.odd else 7,
            "color": color,
            "line": {"width": 0, "color": color},
        },
        text=[f"{point.batch}: {point.text}"], hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip
    figure.add_annotation(
        x=left, y=row, text=point.batch, showarrow=False, xref="x", yref="y", xanchor="right",
        yanchor="middle", xshift=-6, font={"color": color},
    )  # fmt: skip


def _twin(panel: HousePanel) -> Table:
    rows = tuple((p.batch, p.text, "odd" if p.odd else "as usual") for p in panel.points)
    return Table(f"{panel.label} by batch", ("batch", "measured", ""), rows)
