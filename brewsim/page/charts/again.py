"""The next batch, and inside it what a brewery's own batches scatter by."""

from brewsim.page.charts import style
from brewsim.wording.page_parts import AgainRow
from brewsim.wording.parts import Table

_MARGINS = (8, 8, 2, 22)
_HEIGHT = 62
_HALF = 0.26
_PAD = 0.06


def again(row: AgainRow) -> style.Drawn:
    """Draw one outcome: a pale bar for the next batch, a dark one for the own scatter."""
    ends = (row.low, row.high, row.own_low, row.own_high)
    low, high = min(ends), max(ends)
    pad = _PAD * ((high - low) or 1.0)
    figure = style.frame(_HEIGHT, (low - pad, high + pad), (0.0, 1.0), _MARGINS)
    style.block(figure, (row.low, row.high), 0.5, _HALF, "the next batch")
    figure.add_scatter(
        x=[row.own_low, row.own_high], y=[0.5, 0.5], mode="lines", name="your own batches",
        line={"width": 8, "color": style.INSIDE}, hoverinfo="name",
    )  # fmt: skip
    figure.add_scatter(
        x=[row.middle], y=[0.5], mode="markers", name="median", hoverinfo="name",
        marker={"symbol": "triangle-up", "size": 9, "color": style.INK, "line": {"width": 0}},
    )  # fmt: skip
    style.label_x(figure, [row.low, row.middle, row.high], list(row.ends), "")
    words = (
        f"The next batch: {row.ends[0]} to {row.ends[2]}, nine in ten; your own batches: {row.own} "
        "around their own median."
    )
    header = ("outcome", "next batch", "own batches")
    table = Table(
        f"{row.label}: again and again",
        header,
        ((row.label, f"{row.ends[0]} to {row.ends[2]}", row.own),),
    )
    return style.Drawn(figure, f"{row.label}: the next batch and your own", words, table)
