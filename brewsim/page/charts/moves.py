"""Moves from a tasted batch: where the next brew would lie, move by move."""

import math
import textwrap

from brewsim.page.charts import style
from brewsim.quantities.format import number
from brewsim.wording.page_parts import MoveRow, TastedBeer
from brewsim.wording.parts import Table

_ROW, _LINE, _LETTERS = 40, 16, 44
_MARGINS = (8, 64, 2, 40)
_PAD = 0.06


def moves(tasted: TastedBeer, told: tuple[MoveRow, ...]) -> style.Drawn:
    """Draw nine in ten next brews of each move, against the tasted batch; bars: the same wort."""

    def place(value: float) -> float:
        return math.log2(max(value, 1e-6)) if tasted.folds else value

    ends = [place(v) for m in told for v in (m.low, m.high, *m.same) if math.isfinite(v)]
    low, high = min(*ends, 0.0), max(*ends, 0.0)
    pad = _PAD * ((high - low) or 1.0)
    names = [textwrap.wrap(move.label, _LETTERS) for move in told]
    tall = [_ROW + _LINE * (len(lines) - 1) for lines in names]
    span, total = (low - pad, high + pad), float(sum(tall))
    figure = style.frame(round(total) + _MARGINS[2] + _MARGINS[3], span, (0.0, total), _MARGINS)
    if tasted.window is not None:
        left, right = max(tasted.window[0], span[0]), min(tasted.window[1], span[1])
        figure.add_scatter(
            x=[left, left, right, right], y=[0.0, total, total, 0.0], mode="lines",
            fill="toself", fillcolor="var(--window)",
            line={"width": 0, "color": style.TARGET}, name="the wish", hoverinfo="name",
        )  # fmt: skip
    figure.add_scatter(
        x=[0.0, 0.0], y=[0.0, total], mode="lines", name=tasted.start, hoverinfo="name",
        line={"width": 1.5, "color": style.SOFT, "dash": "dash"},
    )  # fmt: skip
    foot = total
    for move, lines, high_ in zip(told, names, tall, strict=True):
        foot -= high_
        y = foot + 0.28 * _ROW
        for ends_, width, color, name in (
            (move.same, 11, style.BAND, "same wort"),
            ((move.low, move.high), 2, style.INSIDE, "next brew"),
        ):
            if all(map(math.isfinite, ends_)):
                figure.add_scatter(
                    x=[place(v) for v in ends_], y=[y, y], mode="lines", hoverinfo="name",
                    line={"width": width, "color": color}, name=f"{move.label}: {name}",
                )  # fmt: skip
        figure.add_scatter(
            x=[place(move.middle)], y=[y], mode="markers", name=move.label,
            marker={"symbol": "circle", "size": 9, "color": style.INSIDE, "line": {"width": 0}},
            text=[f"{move.label}: {number(move.middle)} {tasted.unit}"],
            hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip
        for x, text, anchor, high_at in (
            (span[0], "\n".join(lines), "bottom", foot + 0.5 * _ROW),
            (span[1], move.count, "middle", y),
        ):
            figure.add_annotation(
                x=x, y=high_at, text=text, showarrow=False, xref="x", yref="y", xanchor="left",
                align="left", yanchor=anchor, xshift=4 if text == move.count else 0,
                font={"color": style.INK},
            )  # fmt: skip
    if tasted.folds:
        places = [float(k) for k in range(math.ceil(span[0]), math.floor(span[1]) + 1)]
        style.label_x(figure, places, [f"{number(2.0**k)}×" for k in places], tasted.unit)
    else:
        places = style.ticks(*span, 4)
        style.label_x(figure, places, style.tick_words(places), tasted.unit)
    words = " ".join(f"{m.label}: {m.count}." for m in told)
    rows_of = tuple(
        (m.label, number(m.low), number(m.middle), number(m.high), m.count) for m in told
    )
    table = Table(
        f"{tasted.label} of the next brew, {tasted.unit}",
        ("move", "from", "middle", "to", "as wished"),
        rows_of,
    )
    return style.Drawn(figure, f"{tasted.label} of the next brew", words, table)
