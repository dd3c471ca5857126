"""Where a target's spread comes from: one stacked bar, and the largest inputs below it."""

import textwrap

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.chances import percent
from brewsim.wording.page_parts import SourceBar
from brewsim.wording.parts import Table
from brewsim.wording.sentences import mark_words

_PARTS = {
    "turn": ("var(--turn)", ""),
    "measure": ("var(--measure)", ""),
    "lot": ("var(--measure)", "/"),
    "brew": ("var(--turn)", "."),
    "always": ("var(--nobody)", ""),
    "together": ("var(--nobody)", "/"),
}
_SIGNS = {"turn": "▲", "measure": "◆", "nobody": "●"}
_COLORS = {"turn": "var(--turn)", "measure": "var(--measure)", "nobody": "var(--nobody)"}
_MARGINS = (8, 52, 2, 4)
_TOP, _ROW, _LINE, _BAR = 34, 36, 16, 12
_LETTERS = 44


def source_bar(bar: SourceBar) -> style.Drawn:
    """Draw the five parts as one bar, then each input with its share at the end of its bar."""
    names = [textwrap.wrap(f"{_SIGNS[row.mark]} {row.label}", _LETTERS) for row in bar.rows]
    tall = [_ROW + _LINE * (len(lines) - 1) for lines in names]
    total = float(_TOP + sum(tall))
    height = round(total) + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, (0.0, 1.0), (0.0, total), _MARGINS)
    figure.update_xaxes(visible=False)
    _stack(figure, bar, total - 14)
    foot = total - _TOP
    for row, lines, high in zip(bar.rows, names, tall, strict=True):
        foot -= high
        figure.add_bar(
            x=[row.share], y=[foot + 9], orientation="h", width=_BAR, name=row.label,
            marker={"color": _COLORS[row.mark]}, textposition="none",
            text=[f"{row.label}: {percent(row.share)}, {mark_words(row.mark)}"],
            hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip
        _words(figure, 0.0, foot + 18, "\n".join(lines), "bottom")
        _words(figure, row.share, foot + 9, percent(row.share), "middle", 6)
    return style.Drawn(figure, f"{bar.label}: where its spread comes from", bar.summary, _twin(bar))


def _stack(figure: Sketch, bar: SourceBar, at: float) -> None:
    whole = sum(share for _, _, share in bar.parts) or 1.0
    base = 0.0
    for key, name, share in bar.parts:
        color, pattern = _PARTS[key]
        figure.add_bar(
            x=[share / whole], y=[at], base=[base], orientation="h", width=22, name=name,
            marker={
                "color": color,
                "line": {"color": style.PAPER, "width": 1.5},
                "pattern": {"shape": pattern, "fgcolor": style.PAPER, "size": 6},
            },
            text=[f"{name}: {percent(share)}"], textposition="none",
            hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip
        base += share / whole
    figure.update_layout(barmode="overlay")


def _words(figure: Sketch, x: float, y: float, text: str, anchor: str, shift: int = 0) -> None:
    figure.add_annotation(
        x=x, y=y, text=text, showarrow=False, xref="x", yref="y", xanchor="left", align="left",
        yanchor=anchor, xshift=shift, font={"color": style.INK},
    )  # fmt: skip


def legend(bar: SourceBar) -> tuple[tuple[str, str], ...]:
    """Return (class of the sample, words with the share) of each part."""
    return tuple((f"part-{key}", f"{name} {percent(share)}") for key, name, share in bar.parts)


def _twin(bar: SourceBar) -> Table:
    rows = [(name, percent(share), "") for _, name, share in bar.parts]
    rows += [(row.label, percent(row.share), mark_words(row.mark)) for row in bar.rows]
    return Table(
        f"{bar.label}: shares of the spread", ("source or input", "share", ""), tuple(rows)
    )
