"""Where a tasted batch's thiols came from: a bar a source, nine in ten as a whisker."""

import textwrap

from brewsim.page.charts import style
from brewsim.quantities.chances import percent
from brewsim.wording.page_parts import OriginRow
from brewsim.wording.parts import Table

_ROW, _LINE, _BAR, _LETTERS = 44, 16, 12, 44
_MARGINS = (8, 64, 2, 40)


def origin(rows: tuple[OriginRow, ...], start: str) -> style.Drawn:
    """Draw the mean share of each source as a bar, 5 to 95 % as a line over it."""
    names = [textwrap.wrap(row.label, _LETTERS) for row in rows]
    tall = [_ROW + _LINE * (len(lines) - 1) for lines in names]
    total = float(sum(tall))
    most = max(row.high for row in rows)
    figure = style.frame(
        round(total) + _MARGINS[2] + _MARGINS[3], (0.0, most), (0.0, total), _MARGINS
    )
    foot = total
    for row, lines, high in zip(rows, names, tall, strict=True):
        foot -= high
        figure.add_bar(
            x=[row.mean], y=[foot + 12], orientation="h", width=_BAR, name=row.label,
            marker={"color": style.BAND}, textposition="none",
            text=[f"{row.label}: {percent(row.mean)}"], hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip
        figure.add_scatter(
            x=[row.low, row.high], y=[foot + 12, foot + 12], mode="lines", hoverinfo="name",
            line={"width": 2, "color": style.INK}, name=f"{row.label}: nine in ten",
        )  # fmt: skip
        for x, y, text, anchor, shift in (
            (0.0, foot + 22, "\n".join(lines), "bottom", 0),
            (most, foot + 12, row.largest, "middle", 4),
        ):
            figure.add_annotation(
                x=x, y=y, text=text, showarrow=False, xref="x", yref="y", xanchor="left",
                align="left", yanchor=anchor, xshift=shift, font={"color": style.INK},
            )  # fmt: skip
    at = [x for x in style.ticks(0.0, 1.0) if x <= most]
    style.label_x(figure, at, [percent(x) for x in at], f"share of the thiols of {start}")
    words = " ".join(f"{row.label}: {percent(row.mean)}." for row in rows)
    table = Table(
        f"Where the thiols of {start} came from, nine in ten between from and to",
        ("source", "mean", "from", "to", "the largest in"),
        tuple(
            (row.label, percent(row.mean), percent(row.low), percent(row.high), row.largest)
            for row in rows
        ),
    )
    return style.Drawn(figure, f"Where the thiols of {start} came from", words, table)
