"""The look all figures share: colour tokens, the drawing size, ticks, the drawn figure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.format import bare, number, times
from brewsim.wording.parts import Table

# Colours are CSS variables: one figure serves light, dark and print.
INK = "var(--ink)"


SOFT = "var(--soft)"


INSIDE = "var(--inside)"


OUTSIDE = "var(--outside)"


BAND = "var(--band)"


TARGET = "var(--target)"


PAPER = "var(--paper)"


WIDTH = 360


TEXT = 13


_FEWEST_TICKS = 3


_LOOK = {
    "font": {"family": "system-ui, sans-serif", "size": TEXT, "color": INK},
    "paper_bgcolor": "rgba(0,0,0,0)",
    "plot_bgcolor": "rgba(0,0,0,0)",
    "showlegend": False,
    "dragmode": False,
    "hoverlabel": {"font": {"size": TEXT}},
}


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chart ready for the page: the figure, its words for a reader, its twin as a table."""

    figure: Sketch
    title: str
    description: str
    table: Table


def frame(
    height: int, span: tuple[float, float], rise: tuple[float, float], margins: Sequence[int]
) -> Sketch:
    """Return an empty figure: fixed height, both ranges given, margins left right top bottom."""
    left, right, top, bottom = margins
    figure = Sketch()
    plain = {"fixedrange": True, "zeroline": False, "showgrid": False}
    figure.update_layout(
        **_LOOK,
        width=WIDTH,
        height=height,
        margin={"l": left, "r": right, "t": top, "b": bottom, "pad": 0},
        xaxis={"range": list(span), **plain, "showline": True, "linecolor": SOFT},
        yaxis={"range": list(rise), **plain, "visible": False},
    )
    return figure


def block(figure: Sketch, ends: tuple[float, float], at: float, half: float, name: str) -> None:
    """Add a pale bar from end to end, half as high on each side, with an edge that stands out."""
    low, high = ends
    figure.add_scatter(
        x=[low, high, high, low, low], y=[at - half, at - half, at + half, at + half, at - half],
        mode="lines", fill="toself", fillcolor=BAND, line={"width": 1, "color": INSIDE}, opacity=1,
        name=name, hoverinfo="name",
    )  # fmt: skip


def ticks(low: float, high: float, wanted: int = 5) -> list[float]:
    """Return round positions between low and high: steps of 1, 2 or 5 times a power of ten.

    The step is the least that gives no more than are wanted, a smaller one where that leaves less
    than three.
    """
    if not high > low:
        return [low]
    raw = (high - low) / wanted
    power = 10.0 ** math.floor(math.log10(raw))
    found: list[float] = []
    for step in (power * m for m in (10.0, 5.0, 2.0, 1.0)):
        if step < raw * (1 - 1e-9) and len(found) >= _FEWEST_TICKS:
            break
        first = math.ceil(low / step - 1e-9)
        last = math.floor(high / step + 1e-9)
        found = [k * step for k in range(first, last + 1)]
    return found


def place(value: float, logged: bool) -> float:
    """Return where a shown value stands on its axis: itself, or its log2."""
    return math.log2(value) if logged else value


def axis_ticks(
    span: tuple[float, float], look: Quantity, logged: bool, wanted: int = 5
) -> tuple[list[float], list[str]]:
    """Return tick positions and their words for an outcome's axis."""
    if not (logged or look.fold):
        at = ticks(*span, wanted)
        return at, tick_words(at)
    if look.fold:
        step = max(1, math.ceil((span[1] - span[0]) / (wanted + 1)))
        first = math.ceil(span[0] / step) * step
        at = [float(k) for k in range(first, math.floor(span[1]) + 1, step)]
        return at, [times(value) for value in at]
    values = _round_values(2.0 ** span[0], 2.0 ** span[1], wanted)
    return [math.log2(value) for value in values], [bare(value) for value in values]


def _round_values(low: float, high: float, wanted: int) -> list[float]:
    """Return round values for a log axis: 1, 2, 5 per power of ten, fewer on a long axis."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for leads in ((1.0, 2.0, 5.0), (1.0, 3.0), (1.0,)):
        at = [lead * 10.0**k for k in powers for lead in leads if low <= lead * 10.0**k <= high]
        if len(at) <= wanted + 1:
            break
    return at if len(at) > 1 else ticks(low, high, wanted - 1)


def tick_words(at: Sequence[float]) -> list[str]:
    """Return tick labels with just the decimals their step needs."""
    step = abs(at[1] - at[0]) if len(at) > 1 else abs(at[0]) or 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [number(value, decimals) for value in at]


def label_x(figure: Sketch, at: Sequence[float], words: Sequence[str], title: str) -> None:
    """Put ticks and a title on the x axis."""
    figure.update_xaxes(
        tickmode="array",
        tickvals=list(at),
        ticktext=list(words),
        ticks="outside",
        tickcolor=SOFT,
        ticklen=4,
        title={"text": title, "font": {"size": TEXT, "color": SOFT}, "standoff": 6},
    )
