"""An outcome along one knob: its band, the target, today's setting and the stretch that lands."""

from brewsim.page.charts import style
from brewsim.page.charts.sketch import Sketch
from brewsim.quantities.chances import percent
from brewsim.quantities.english import capital
from brewsim.quantities.format import number, printed, with_unit
from brewsim.wording.content import KnobCurve, Limits, Table
from brewsim.wording.scales import is_logged
from brewsim.wording.sentences import target_words

_MARGINS = (52, 16, 10, 46)
_HEIGHT = 252


def knob_curve(curve: KnobCurve) -> style.Drawn:
    """Draw the outcome's band (nine chances in ten) and middle along the knob."""
    look = curve.look
    logged = is_logged(curve.scale, look, min(curve.low))
    low, middle, high = (
        [style.place(value, logged) for value in values]
        for values in (curve.low, curve.middle, curve.high)
    )
    target = _placed(curve.target, logged)
    rise = _rise(low, high, target)
    span = (curve.settings[0], curve.settings[-1])
    if curve.choices:
        span = (-0.5, len(curve.choices) - 0.5)
    figure = style.frame(_HEIGHT, span, rise, _MARGINS)
    if curve.choices:
        _bars(figure, curve, low, high)
    else:
        _band(figure, curve, low, high)
    if target:
        style.target_band_across(figure, target, rise, span)
    _middle(figure, curve, middle)
    _marks(figure, curve, rise)
    _axes(figure, curve, rise, logged)
    title = f"{look.title} along {curve.knob}"
    return style.Drawn(figure, title, curve.sentence or title, _twin(curve))


def _placed(target: Limits | None, logged: bool) -> Limits | None:
    if target is None or not logged:
        return target
    lower, upper = target.lower, target.upper
    return Limits(
        style.place(lower, True) if lower is not None and lower > 0 else None,
        style.place(upper, True) if upper is not None and upper > 0 else None,
    )


def _rise(low: list[float], high: list[float], target: Limits | None) -> tuple[float, float]:
    bottom, top = min(low), max(high)
    reach = (top - bottom) or abs(top) * 0.1 or 1.0
    for limit in (target.lower, target.upper) if target else ():
        if limit is not None and bottom - reach <= limit <= top + reach:
            bottom, top = min(bottom, limit), max(top, limit)
    pad = 0.06 * (top - bottom or reach)
    return bottom - pad, top + pad


def _band(figure: Sketch, curve: KnobCurve, low: list[float], high: list[float]) -> None:
    settings = list(curve.settings)
    figure.add_scatter(
        x=settings + settings[::-1],
        y=low + high[::-1],
        mode="lines",
        line={"width": 1, "color": style.INSIDE},
        fill="toself",
        fillcolor=style.BAND,
        hoverinfo="skip",
        name="nine chances in ten",
    )


def _bars(figure: Sketch, curve: KnobCurve, low: list[float], high: list[float]) -> None:
    for x, bottom, top in zip(curve.settings, low, high, strict=True):
        figure.add_scatter(
            x=[x, x],
            y=[bottom, top],
            mode="lines",
            line={"width": 10, "color": style.BAND},
            hoverinfo="skip",
            name="nine chances in ten",
        )


def _middle(figure: Sketch, curve: KnobCurve, middle: list[float]) -> None:
    shape = {"mode": "lines", "line": {"width": 3, "color": style.INSIDE}}
    if curve.choices:
        marker = {"symbol": "circle", "size": 12, "color": style.INSIDE, "line": {"width": 0}}
        shape = {"mode": "markers", "marker": marker}
    figure.add_scatter(
        x=list(curve.settings),
        y=middle,
        text=_words(curve),
        hovertemplate="%{text}<extra></extra>",
        name="middle",
        **shape,
    )


def _words(curve: KnobCurve) -> list[str]:
    look = curve.look
    return [
        f"{_setting(curve, x)}: {printed(look, m)} ({printed(look, a)} to {printed(look, b)})"
        for x, a, m, b in zip(curve.settings, curve.low, curve.middle, curve.high, strict=True)
    ]


def _setting(curve: KnobCurve, at: float) -> str:
    if curve.choices:
        return curve.choices[round(at)]
    return f"{number(at, curve.decimals)} {curve.unit}".strip()


def _marks(figure: Sketch, curve: KnobCurve, rise: tuple[float, float]) -> None:
    if curve.current is not None:
        figure.add_scatter(
            x=[curve.current, curve.current],
            y=list(rise),
            mode="lines",
            line={"width": 1.5, "color": style.INK, "dash": "dot"},
            hoverinfo="skip",
            name="today",
        )
        _note(figure, curve, curve.current, rise[1], "today")
    if curve.bracket is None:
        return
    figure.add_scatter(
        x=list(curve.bracket),
        y=[rise[0], rise[0]],
        mode="lines",
        line={"width": 7, "color": style.INK},
        hoverinfo="skip",
        name="lands",
    )
    _note(figure, curve, sum(curve.bracket) / 2, rise[0] + 0.06 * (rise[1] - rise[0]), "lands")


def _note(figure: Sketch, curve: KnobCurve, x: float, y: float, words: str) -> None:
    share = (x - curve.settings[0]) / ((curve.settings[-1] - curve.settings[0]) or 1.0)
    anchor = "right" if share > 0.8 else "left"
    figure.add_annotation(
        x=x,
        y=y,
        text=words,
        showarrow=False,
        xref="x",
        yref="y",
        xanchor=anchor,
        yanchor="top" if words == "today" else "middle",
        xshift=-5 if anchor == "right" else 5,
        font={"color": style.INK},
    )


def _axes(figure: Sketch, curve: KnobCurve, rise: tuple[float, float], logged: bool) -> None:
    name = capital(curve.knob.rpartition(": ")[2])
    title = f"{name}, {curve.unit}" if curve.unit else name
    if curve.choices:
        style.label_x(figure, curve.settings, curve.choices, title)
    else:
        at = style.ticks(curve.settings[0], curve.settings[-1])
        style.label_x(figure, at, style.tick_words(at), title)
    at, words = style.axis_ticks(rise, curve.look, logged)
    figure.update_yaxes(
        visible=True,
        showline=True,
        linecolor=style.SOFT,
        tickmode="array",
        tickvals=at,
        ticktext=words,
        ticks="outside",
        tickcolor=style.SOFT,
        ticklen=4,
    )


def _twin(curve: KnobCurve) -> Table:
    look = curve.look
    header = [capital(curve.knob), "middle", "nine chances in ten"]
    rows = []
    every = max(1, (len(curve.settings) - 1) // 8)
    for i in range(0, len(curve.settings), every):
        span = f"{printed(look, curve.low[i])} to {with_unit(look, printed(look, curve.high[i]))}"
        row = [_setting(curve, curve.settings[i]), printed(look, curve.middle[i]), span]
        if curve.chance is not None and curve.target is not None:
            row.append(percent(curve.chance[i]))
        rows.append(tuple(row))
    if curve.chance is not None and curve.target is not None:
        header.append(f"chance of {target_words(curve.target, look)}")
    return Table(f"{look.title} along {curve.knob}", tuple(header), tuple(rows))
