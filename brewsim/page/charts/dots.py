"""Fifty equally likely batches as fifty dots, piled where they are likely."""

import math
from collections.abc import Sequence

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.format import printed, with_unit
from brewsim.wording.content import Limits, Outcome, Table
from brewsim.wording.scales import is_logged
from brewsim.wording.sentences import expectation, is_inside, landing, target_words

_COLUMNS = 24
_MARGINS = (12, 12, 8, 46)


def quantile_dots(outcome: Outcome) -> style.Drawn:
    """Draw the 50 quantiles: filled discs inside the target, hollow diamonds outside it."""
    look, target = outcome.look, outcome.target
    logged = is_logged(outcome.scale, look, min(outcome.dots))
    at = [style.place(value, logged) for value in outcome.dots]
    span = _span(at, _placed(target, logged))
    pile = piles(at, (span[1] - span[0]) / _COLUMNS)
    tallest = max(height for _, height in pile)
    pitch = (style.WIDTH - _MARGINS[0] - _MARGINS[1]) / _COLUMNS
    rows = max(6.0, tallest + 0.4)
    height = round(rows * pitch) + _MARGINS[2] + _MARGINS[3]
    figure = style.frame(height, span, (0.0, rows), _MARGINS)
    limits = _placed(target, logged)
    if limits:
        style.target_band(figure, limits, span, (0.0, rows))
    inside = [target is None or is_inside(value, target) for value in outcome.dots]
    for wanted in (True, False):
        _add_dots(figure, outcome, pile, [k == wanted for k in inside], wanted, pitch)
    style.label_x(figure, *style.axis_ticks(span, look, logged), style.axis_title(look))
    words = " ".join(filter(None, (expectation(outcome), landing(outcome))))
    return style.Drawn(figure, f"{look.title}: 50 equally likely batches", words, _twin(outcome))


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


def _add_dots(
    figure: Sketch,
    outcome: Outcome,
    pile: Sequence[tuple[float, int]],
    chosen: Sequence[bool],
    inside: bool,
    pitch: float,
) -> None:
    rows = [i for i, take in enumerate(chosen) if take]
    if not rows:
        return
    color = style.INSIDE if inside else style.OUTSIDE
    marker = {
        "symbol": "circle" if inside else "diamond-open",
        "size": pitch * (0.9 if inside else 0.62),
        "color": color,
        "line": {"width": 0 if inside else 2, "color": color},
    }
    name = "a batch" if outcome.target is None else "in target" if inside else "out of target"
    figure.add_scatter(
        x=[pile[i][0] for i in rows],
        y=[pile[i][1] - 0.5 for i in rows],
        mode="markers",
        marker=marker,
        name=name,
        text=[with_unit(outcome.look, printed(outcome.look, outcome.dots[i])) for i in rows],
        hovertemplate="%{text}<extra>%{fullData.name}</extra>",
    )


def _placed(target: Limits | None, logged: bool) -> Limits | None:
    if target is None:
        return None
    lower, upper = target.lower, target.upper
    if logged:
        lower = style.place(lower, True) if lower is not None and lower > 0 else None
        upper = style.place(upper, True) if upper is not None and upper > 0 else None
    return Limits(lower, upper)


def _span(at: Sequence[float], target: Limits | None) -> tuple[float, float]:
    low, high = min(at), max(at)
    reach = (high - low) or abs(low) * 0.1 or 1.0
    for limit in (target.lower, target.upper) if target else ():
        if limit is not None and low - 1.5 * reach <= limit <= high + 1.5 * reach:
            low, high = min(low, limit), max(high, limit)
    pad = 0.06 * ((high - low) or reach)
    return low - pad, high + pad


def _between(outcome: Outcome, below: int) -> float:
    """Return the value that so many dots lie below: half way to the next one."""
    low, high = outcome.dots[below - 1], outcome.dots[below]
    if outcome.scale != "linear" and not outcome.look.fold and low > 0:
        return math.sqrt(low * high)
    return (low + high) / 2


def _twin(outcome: Outcome) -> Table:
    look = outcome.look
    fine = look.finer()
    rows = [
        (f"{share} in 50 below", with_unit(fine, printed(fine, _between(outcome, share))))
        for share in (3, 5, 10, 15, 20, 25, 30, 35, 40, 45, 48)
    ]
    rows.append(
        ("nine chances in ten", f"{printed(look, outcome.low)} to {printed(look, outcome.high)}")
    )
    rows.append(("middle", with_unit(look, printed(look, outcome.middle))))
    if outcome.target is not None:
        rows.append(("target", target_words(outcome.target, look)))
        rows.append(("dots in target", landing(outcome)))
    return Table(f"{look.title} as numbers", ("batches", "value"), tuple(rows))
