"""The page's charts for a notebook: a study's dataset as a figure of the drawing library."""

import re
from functools import cache
from importlib.resources import files
from typing import Any, Literal

import numpy as np
import xarray as xr

from brewsim.errors import StudyError
from brewsim.page import page_figures
from brewsim.page.charts import drivers, kinds, strips, style
from brewsim.page.charts.sketch import Sketch
from brewsim.page.page_figures import chosen
from brewsim.quantities.catalogue import outcome_of
from brewsim.study.inference.posterior import Learned
from brewsim.study.propagation.summary import summarise
from brewsim.wording.content import Content
from brewsim.wording.outcomes import bars_of, kinds_of, looks_of, outcomes_of
from brewsim.wording.page_parts import Pictures, Strip
from brewsim.wording.scales import is_logged
from brewsim.wording.sentences import is_inside

Kind = Literal["dots", "drivers", "kinds", "knob", "batches", "sources", "moves"]
Found = xr.Dataset | Learned | Content
_MARGINS = (52, 12, 12, 46)
_HEIGHT = 260


def figure(dataset: Found, kind: Kind = "dots", *, outcome: str | None = None) -> Any:  # noqa: ANN401 - a Figure
    """Return a chart of the page as a live figure.

    Parameters
    ----------
    dataset
        What `simulate` returns ("dots"), `rank` ("drivers"; with `by="kind"` also "kinds"),
        `turn` ("knob") or `learn` ("batches"); or the page that `report` returns ("batches",
        "sources", "moves").
    kind
        The chart: fifty equally likely batches of one outcome, its ranked drivers, how the spread
        of every outcome divides by kind, one outcome along a knob; the readings of a log beside
        the band of their house, what a target's spread comes from, or the moves from a tasted
        batch.
    outcome
        The outcome drawn, by its quantity; the first one without. Not used for "kinds" and
        "moves".

    Returns
    -------
    plotly.graph_objects.Figure
        In the page's light colours, in the units of the catalogue.

    Raises
    ------
    StudyError
        For a dataset of another study, or an outcome that it does not have.

    Examples
    --------
    >>> import brewsim
    >>> problem = brewsim.pose(brewsim.read_recipe("demo-recipes/quillhaven-bitter.toml"))
    >>> draws = brewsim.simulate(problem, draws=1024)
    >>> shown = brewsim.figure(draws, outcome="bitterness_ibu")
    >>> sum(len(trace.x) for trace in shown.data if trace.text is not None)
    50
    """
    of_draws = {"dots": _dots, "drivers": _drivers, "kinds": _kinds, "knob": _knob}
    of_page = {"batches": page_figures.batches, "sources": page_figures.sources}
    of_page["moves"] = page_figures.moves
    if kind not in {*of_draws, *of_page}:
        raise StudyError(
            f"there is no figure {kind!r}; there is {', '.join([*of_draws, *of_page])}"
        )
    from plotly.graph_objects import Figure  # noqa: PLC0415 - slow to import

    if kind in of_page:
        sketch = of_page[kind](dataset, outcome)
    elif isinstance(dataset, xr.Dataset):
        sketch = of_draws[kind](dataset, outcome)
    else:
        raise StudyError(f"the figure {kind!r} is made of the Dataset of a study")
    return Figure(_colored(sketch.to_plotly()))


def _wants(dataset: xr.Dataset, part: str, study: str) -> None:
    if part not in dataset.variables and part not in dataset.dims:
        raise StudyError(f"this chart is made of what {study} returns")


def _dots(draws: xr.Dataset, outcome: str | None) -> Sketch:
    _wants(draws, "draw", "simulate")
    summary = summarise(draws)
    found = {one.name: one for one in outcomes_of(draws, summary, looks_of(summary))}
    one = found[chosen(list(found), outcome)]
    inside = tuple(is_inside(v, one.target) for v in one.dots) if one.target else ()
    logged = is_logged(one.scale, one.look, min(one.dots))
    strip = Strip(
        one.name, one.look, logged, one.dots, inside, one.target, one.low, one.middle, one.high,
        sum(inside) if inside else None, one.look.title,
    )  # fmt: skip
    return strips.strip(Pictures((strip,), inside), strip).figure


def _drivers(ranked: xr.Dataset, outcome: str | None) -> Sketch:
    _wants(ranked, "first_order", "rank")
    name = chosen([str(n) for n in ranked["outcome"].to_numpy()], outcome)
    bars = bars_of(ranked.sel(outcome=name))
    return drivers.driver_bars(outcome_of(name).title, bars).figure


def _kinds(ranked: xr.Dataset, _outcome: str | None) -> Sketch:
    _wants(ranked, "first_order", 'rank(by="kind")')
    if not {"knowledge", "lot", "batch"} & set(ranked["factor"].to_numpy().tolist()):
        raise StudyError('this chart is made of what rank(by="kind") returns')
    looks = {str(n): outcome_of(str(n)) for n in ranked["outcome"].to_numpy()}
    return kinds.kind_bars(kinds_of(ranked, looks)).figure


def _knob(turned: xr.Dataset, outcome: str | None) -> Sketch:
    _wants(turned, "setting", "turn")
    name = chosen([str(n) for n in turned["outcome"].to_numpy()], outcome)
    look, row = outcome_of(name), turned.sel(outcome=name)
    settings = turned["setting"].to_numpy()
    choices = settings.dtype.kind not in "if"
    scale = (1.0, 0.0) if choices else (turned.attrs["per_shown"], turned.attrs["zero"])
    at = np.arange(len(settings)) if choices else (settings - scale[1]) / scale[0]
    low, middle, high = (row[k].to_numpy() * look.per_model for k in ("low", "middle", "high"))
    known = [v for v in (*low, *high) if np.isfinite(v)]
    rise = (min(known), max(known)) if known else (0.0, 1.0)
    figure_ = style.frame(_HEIGHT, (float(at[0]), float(at[-1])), rise, _MARGINS)
    figure_.add_scatter(
        x=[*at.tolist(), *at[::-1].tolist()], y=[*low.tolist(), *high[::-1].tolist()],
        mode="lines", fill="toself", fillcolor=style.BAND, line={"width": 0, "color": style.BAND},
        name="nine chances in ten", hoverinfo="skip",
    )  # fmt: skip
    figure_.add_scatter(
        x=at.tolist(), y=middle.tolist(), mode="lines+markers", name="median",
        line={"width": 2, "color": style.INSIDE},
        marker={"size": 6, "color": style.INSIDE, "symbol": "circle", "line": {"width": 0}},
    )  # fmt: skip
    ticks = style.ticks(float(at[0]), float(at[-1]))
    words = [str(s) for s in settings] if choices else style.tick_words(ticks)
    where = at.tolist() if choices else ticks
    unit = f" ({turned.attrs['unit']})" if turned.attrs["unit"] else ""
    style.label_x(figure_, where, words, f"{turned.attrs['label']}{unit}")
    figure_.update_yaxes(visible=True, title={"text": f"{look.title} {look.unit}".strip()})
    return figure_


@cache
def palette() -> dict[str, str]:
    """Return the page's light colours by the name of their variable."""
    sheet = files("brewsim.page").joinpath("templates", "page.css").read_text(encoding="utf-8")
    return dict(re.findall(r"(--[a-z]+): (#[0-9a-f]{6})", sheet.partition("}")[0]))


def _colored(part: Any) -> Any:  # noqa: ANN401 - any property
    """Return a part of a figure with the page's variables replaced by their colours."""
    if isinstance(part, dict):
        return {key: _colored(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_colored(value) for value in part]
    found = re.fullmatch(r"var\((--[a-z]+)\)", part) if isinstance(part, str) else None
    return palette()[found[1]] if found else part
