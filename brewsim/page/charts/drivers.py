"""What drives an outcome: ranked bars with their sampling error and what can be done about it."""

import textwrap
from collections.abc import Sequence

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.chances import percent
from brewsim.quantities.english import capital
from brewsim.wording.content import Bar, Mark
from brewsim.wording.parts import Table
from brewsim.wording.sentences import is_nothing, ranking, reach_words

MOST = 6
_SIGNS: dict[Mark, str] = {"turn": "▲", "measure": "◆", "nobody": "●"}
_COLORS: dict[Mark, str] = {
    "turn": "var(--turn)",
    "measure": "var(--measure)",
    "nobody": "var(--nobody)",
}
_MARGINS = (16, 44, 4, 46)
_ROW, _LINE = 46, 17
_LETTERS = 38


def driver_bars(label: str, bars: Sequence[Bar], most: int = MOST) -> style.Drawn:
    """Draw the largest inputs: solid alone, pale together with others, whiskers for the draws."""
    ordered = sorted(bars, key=lambda bar: -bar.together)
    first = [bar for bar in ordered[:most] if not is_nothing(bar)] or ordered[:1]
    end = max(0.05, *(min(1.3, bar.together_high) for bar in first)) * 1.05
    names = [_name(bar) for bar in first]
    tall = [_ROW + _LINE * (len(lines) - 1) for lines in names]
    total = sum(tall)
    feet = [float(total - sum(tall[: i + 1])) for i in range(len(first))]
    height = total + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, (0.0, end), (0.0, float(total)), _MARGINS)
    _add_bars(figure, first, [foot + 14 for foot in feet])
    for bar, lines, foot in zip(first, names, feet, strict=True):
        _add_words(figure, bar, lines, foot, end)
    at = style.ticks(0.0, end, 4)
    style.label_x(figure, at, [percent(value) for value in at], "share of the spread")
    title = f"{label}: what decides the spread"
    return style.Drawn(figure, title, " ".join(ranking(bars)), _twin(label, ordered))


def _name(bar: Bar) -> list[str]:
    sign = f"{_SIGNS[bar.mark]} " if bar.mark else ""
    return textwrap.wrap(f"{sign}{capital(bar.label)}", _LETTERS) or [""]


def _add_bars(figure: Sketch, bars: Sequence[Bar], at: Sequence[float]) -> None:
    together = [max(0.0, bar.together) for bar in bars]
    alone = [
        min(max(0.0, bar.within_reach), whole) for bar, whole in zip(bars, together, strict=True)
    ]
    colors = [_COLORS[bar.mark] if bar.mark else style.SOFT for bar in bars]
    words = [f"alone {percent(bar.alone)}, with others {percent(bar.together)}" for bar in bars]
    shared = {"orientation": "h", "y": at, "width": 15, "text": words, "textposition": "none"}
    hover = "%{text}<extra></extra>"
    figure.add_bar(x=alone, marker={"color": colors}, hovertemplate=hover, name="alone", **shared)
    figure.add_bar(
        x=together,
        marker={"color": "rgba(0,0,0,0)", "line": {"color": style.SOFT, "width": 1}},
        error_x={
            "type": "data",
            "array": [bar.together_high - bar.together for bar in bars],
            "arrayminus": [min(bar.together, bar.together - bar.together_low) for bar in bars],
            "color": style.INK,
            "thickness": 1.5,
            "width": 4,
        },
        hovertemplate=hover,
        name="together",
        **shared,
    )
    figure.update_layout(barmode="overlay")


def _add_words(figure: Sketch, bar: Bar, lines: Sequence[str], foot: float, end: float) -> None:
    plain = {"showarrow": False, "xref": "x", "yref": "y", "xanchor": "left", "align": "left"}
    figure.add_annotation(
        x=0,
        y=foot + 22,
        yanchor="bottom",
        text="\n".join(lines),
        font={"color": style.INK},
        **plain,
    )
    figure.add_annotation(
        x=min(end, bar.together_high),
        y=foot + 14,
        yanchor="middle",
        xshift=7,
        text=percent(bar.within_reach),
        font={"color": style.INK},
        **plain,
    )


def _twin(label: str, bars: Sequence[Bar]) -> Table:
    rows = tuple(
        (
            capital(bar.label),
            percent(bar.alone),
            f"{percent(bar.alone_low)} to {percent(bar.alone_high)}",
            percent(bar.together),
            f"{percent(bar.together_low)} to {percent(bar.together_high)}",
            "nothing to see" if is_nothing(bar) else reach_words(bar),
        )
        for bar in bars
    )
    header = (
        "input",
        "alone",
        "sampling range",
        "with others",
        "sampling range",
        "what you can do",
    )
    return Table(f"What drives {label}, all inputs", header, rows)
