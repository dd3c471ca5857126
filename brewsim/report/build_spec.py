"""Limits a process can keep, label tolerances and what to tighten, as sentences and tables."""

from collections.abc import Mapping, Sequence

import xarray as xr

from brewsim.report.build import Looks
from brewsim.report.content import (
    Look,
    Outcome,
    Panel,
    Table,
)
from brewsim.report.looks import look_of
from brewsim.report.words import (
    capital,
    listed,
    lower,
    number,
    percent,
    shown,
    span_words,
    with_unit,
)
from brewsim.study.problem import Problem
from brewsim.study.specification import Tightening

_EU, _EU_STRONG, _US = 0.5, 1.0, 0.3
_WORTH = 0.005


def spec_panel(
    problem: Problem,
    specified: xr.Dataset,
    looks: Looks,
    outcomes: Sequence[Outcome] = (),
    tightened: Mapping[str, Sequence[Tightening]] | None = None,
) -> Panel:
    """Return the limits each outcome can keep, label tolerances, and what to tighten."""
    content = number(100 * float(specified.attrs["content"]), 0)
    sure = number(100 * float(specified.attrs["confidence"]), 0)
    scopes = specified["scope"].to_numpy().tolist()
    rows = [
        _limits_row(specified.sel(outcome=name), looks[name], scopes)
        for name in specified["outcome"].to_numpy().tolist()
        if name in looks
    ]
    header = ("outcome", *scopes, "promise in the long run")
    limits = Table(f"Limits that hold {content} of 100 batches", header, tuple(rows))
    sentences = [
        (
            f"Each column holds {content} of 100 batches: of the very next brew with all that is "
            "not known, and of brews in one brewery in the middle of what is not known. The "
            f"last column is what to promise: limits that hold {content} of 100 of your own brews, "
            f"with {sure} chances in 100, whatever turns out to be true of your brewery."
        )
    ]
    sentences += label_sentences(outcomes)
    tables = [limits]
    for name, found in (tightened or {}).items():
        helpful = [one for one in found if one.reaches or one.best > one.now + _WORTH]
        if helpful:
            tables.append(_tighten_table(problem, name, helpful, looks))
        else:
            sentences.append(_no_tightening(lower(looks[name].label)))
    return Panel(tuple(sentences), tuple(tables))


def _limits_row(row: xr.Dataset, look: Look, scopes: Sequence[str]) -> tuple[str, ...]:
    cells = [
        _span(row["low"].sel(scope=s).item(), row["high"].sel(scope=s).item(), look) for s in scopes
    ]
    promise = _span(row["long_run_low"].item(), row["long_run_high"].item(), look)
    return (look.label, *cells, with_unit(promise, look))


def _span(low: float, high: float, look: Look) -> str:
    return f"{shown(low * look.per_model, look)} to {shown(high * look.per_model, look)}"


def label_sentences(outcomes: Sequence[Outcome]) -> list[str]:
    """Say how often a label with the middle strength would be off by more than a tolerance.

    Counted in the 50 dots. EU: Regulation 1169/2011, Annex XII; US: 27 CFR part 7.
    """
    strong = [o for o in outcomes if o.name == "alcohol_by_volume_fraction"]
    if not strong:
        return []
    label = round(strong[0].middle, 1)
    eu = _EU_STRONG if label > 5.5 else _EU
    off = [
        f"by more than {number(tolerance, 1)} points ({rule}) in "
        f"{sum(abs(dot - label) > tolerance for dot in strong[0].dots) or 'none'} of the 50 dots"
        for tolerance, rule in ((eu, "EU"), (_US, "US"))
    ]
    printed = f"A label of {number(label, 1)} % ABV, printed before the beer is measured,"
    return [f"{printed} would be off {listed(off)}."]


def _no_tightening(label: str) -> str:
    return (
        f"To land {label} more often, making lots and brews more alike does not help: no single "
        "input raises the chance by half a point. Move its middle with a knob, or learn what is "
        "not known."
    )


def _tighten_table(problem: Problem, name: str, found: Sequence[Tightening], looks: Looks) -> Table:
    rows = tuple(
        (
            capital(one.label),
            _factor_span(problem, one, one.spread_now),
            _factor_span(problem, one, one.spread_then) if one.reaches else "not enough alone",
            percent(one.now),
            percent(one.best),
        )
        for one in found[:6]
    )
    header = ("tighten", "nine in ten now", "nine in ten needed", "chance now", "best it can do")
    return Table(f"To land {lower(looks[name].label)} more often", header, rows)


def _factor_span(problem: Problem, one: Tightening, span: tuple[float, float]) -> str:
    look = look_of(problem.factor(one.factors[0]).quantity)
    return span_words(span[0] * look.per_model, span[1] * look.per_model, look.unit)
