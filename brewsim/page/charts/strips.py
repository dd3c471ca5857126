"""Fifty linked batches as strips of marks: one row for each target, the same batches in each."""

import math
from collections.abc import Sequence

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.chances import in_fifty
from brewsim.quantities.format import printed, with_unit
from brewsim.wording.page_parts import Pictures, Strip
from brewsim.wording.parts import Limits, Table

COLUMNS = 40
_MARGINS = (10, 10, 4, 20)
_FEWEST_ROWS = 4.0
_PAD = 0.04


def strip(pictures: Pictures, one: Strip) -> style.Drawn:
    """Draw one outcome of the fifty batches: discs land, diamonds miss, dark ones meet all."""
    at = [style.place(value, one.logged) for value in one.values]
    limits = _placed(one.target, one.logged)
    span = _span(at, limits)
    order = sorted(range(len(at)), key=lambda i: at[i])
    pile = dict(
        zip(order, piles([at[i] for i in order], (span[1] - span[0]) / COLUMNS), strict=True)
    )
    pitch = (style.WIDTH - _MARGINS[0] - _MARGINS[1]) / COLUMNS
    rows = max(_FEWEST_ROWS, max(height for _, height in pile.values()) + 0.3)
    height = round(rows * pitch) + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, span, (0.0, rows), _MARGINS)
    if limits is not None:
        _window(figure, limits, span, rows)
    for name, chosen in _groups(pictures, one):
        _marks(figure, one, pile, chosen, name, pitch)
    middle = style.place(one.middle, one.logged)
    figure.add_scatter(
        x=[middle], y=[0.0], mode="markers", hoverinfo="skip", name="median",
        marker={"symbol": "triangle-up", "size": 8, "color": style.INK, "line": {"width": 0}},
    )  # fmt: skip
    ticks = style.axis_ticks(span, one.look, one.logged)
    style.label_x(figure, *ticks, "")
    words = f"{one.heading}. Median {with_unit(one.look, printed(one.look, one.middle))}."
    return style.Drawn(figure, f"{one.look.title}: fifty batches", words, _twin(one))


def _groups(pictures: Pictures, one: Strip) -> list[tuple[str, list[int]]]:
    """Return the batches by what they do: meet all targets, this one only, miss, or no target."""
    count = len(one.values)
    if not one.inside:
        return [("a batch", list(range(count)))]
    every = pictures.together or one.inside
    alone = sum(s.count is not None for s in pictures.strips) < 2
    both = [i for i in range(count) if one.inside[i] and every[i]]
    some = [i for i in range(count) if one.inside[i] and not every[i]]
    missed = [i for i in range(count) if not one.inside[i]]
    return [
        ("in target" if alone else "meets all targets", both),
        ("meets this target only", some),
        ("misses", missed),
    ]


_LOOKS = {
    "in target": ("circle", style.INSIDE, style.INSIDE),
    "meets all targets": ("circle", style.INSIDE, style.INSIDE),
    "meets this target only": ("circle", "var(--part)", style.INSIDE),
    "misses": ("diamond-open", style.OUTSIDE, style.OUTSIDE),
    "a batch": ("circle", "var(--plain)", "var(--plain)"),
}


def _marks(
    figure: Sketch,
    one: Strip,
    pile: dict[int, tuple[float, int]],
    chosen: Sequence[int],
    name: str,
    pitch: float,
) -> None:
    if not chosen:
        return
    symbol, color, edge = _LOOKS[name]
    hollow = symbol.endswith("-open")
    figure.add_scatter(
        x=[pile[i][0] for i in chosen],
        y=[pile[i][1] - 0.5 for i in chosen],
        mode="markers",
        marker={
            "symbol": symbol,
            "size": pitch * (0.6 if hollow else 0.84),
            "color": color,
            "line": {"width": 1.6 if hollow else 0.8, "color": edge},
        },
        name=name,
        text=[
            f"batch {i + 1}: {with_unit(one.look, printed(one.look, one.values[i]))}"
            for i in chosen
        ],
        hovertemplate="%{text}<extra>%{fullData.name}</extra>",
    )


def piles(values: Sequence[float], width: float) -> list[tuple[float, int]]:
    """Return (centre, height from 1) for each sorted value; a pile spans at most one width."""
    placed: list[tuple[float, int]] = []
    start = 0
    for i in range(1, len(values) + 1):
        if i == len(values) or values[i] > values[start] + width:
            centre = (values[start] + values[i - 1]) / 2
            placed += [(centre, height) for height in range(1, i - start + 1)]
            start = i
    return placed


def _window(figure: Sketch, limits: Limits, span: tuple[float, float], rows: float) -> None:
    """Tint the target between its limits and draw those that are in sight."""
    low = max(span[0], limits.lower if limits.lower is not None else span[0])
    high = min(span[1], limits.upper if limits.upper is not None else span[1])
    if high <= low:
        return
    figure.add_scatter(
        x=[low, low, high, high], y=[0.0, rows, rows, 0.0], mode="lines", fill="toself",
        fillcolor="var(--window)", line={"width": 0, "color": style.TARGET}, opacity=1,
        hoverinfo="skip", name="target",
    )  # fmt: skip
    for limit in (limits.lower, limits.upper):
        if limit is not None and span[0] <= limit <= span[1]:
            figure.add_scatter(
                x=[limit, limit], y=[0.0, rows], mode="lines", hoverinfo="skip",
                line={"width": 1.5, "color": style.TARGET, "dash": "dash"}, name="target limit",
            )  # fmt: skip


def _placed(target: Limits | None, logged: bool) -> Limits | None:
    if target is None or not logged:
        return target
    lower, upper = target.lower, target.upper
    return Limits(
        style.place(lower, True) if lower is not None and lower > 0 else None,
        style.place(upper, True) if upper is not None and upper > 0 else None,
    )


def _span(at: Sequence[float], target: Limits | None) -> tuple[float, float]:
    low, high = min(at), max(at)
    reach = (high - low) or abs(low) * 0.1 or 1.0
    for limit in (target.lower, target.upper) if target else ():
        if limit is not None and low - 1.5 * reach <= limit <= high + 1.5 * reach:
            low, high = min(low, limit), max(high, limit)
    pad = _PAD * ((high - low) or reach)
    return low - pad, high + pad


def _twin(one: Strip) -> Table:
    """Return the strip as numbers: how many of the fifty lie below some values."""
    look, ordered = one.look, sorted(one.values)
    rows = []
    for count in (3, 13, 25, 38, 48):
        low, high = ordered[count - 1], ordered[count]
        between = math.sqrt(low * high) if one.logged and low > 0 else (low + high) / 2
        rows.append((f"{count} of 50 below", with_unit(look, printed(look.finer(), between))))
    if one.count is not None:
        rows.append(
            ("in target", f"{in_fifty(one.count / 50)} {one.heading.partition(' of 50')[2]}")
        )
    return Table(
        f"{one.look.title}: the fifty batches in numbers", ("batches", "value"), tuple(rows)
    )
