"""Intervals before and after: with what a house learned, with priors of one's own."""

import xarray as xr

from brewsim.beer.display_units import rows_of
from brewsim.quantities.chances import percent
from brewsim.quantities.format import heading, span
from brewsim.study.model.problem import Problem

_TOLD = 0.95
"""Spreads of which more is left were hardly learned about: assumption."""


def narrowed_rows(
    problem: Problem, before: xr.Dataset, after: xr.Dataset
) -> list[tuple[str, str, str, str]]:
    """Return the rows of `before_after_rows` whose spread is narrower or wider by now."""
    ratio = after["standard_uncertainty"] / before["standard_uncertainty"]
    told = (ratio < _TOLD) | (ratio > 1 / _TOLD)
    rows = before_after_rows(problem, before, after)
    return [row for row, moved in zip(rows, told.to_numpy().tolist(), strict=True) if moved]


def before_after_rows(
    problem: Problem, before: xr.Dataset, after: xr.Dataset
) -> list[tuple[str, str, str, str]]:
    """Return a row per outcome: its name, both intervals, and the spread that is left."""
    rows = []
    for name, look in rows_of(problem, before["outcome"].to_numpy().tolist()).items():
        old, new = before.sel(outcome=name), after.sel(outcome=name)
        ratio = float(new["standard_uncertainty"]) / float(old["standard_uncertainty"])
        was, now = (span(look, float(t["low"]), float(t["high"])) for t in (old, new))
        rows.append((heading(look), was, now, percent(ratio)))
    return rows
