"""Numbers for people: an outcome's value in its shown unit, rounded as it deserves."""

import math
from collections.abc import Iterable

from brewsim.quantities.catalogue import Outcome, outcome_of
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, rows_for


def rows(problem: Problem, names: Iterable[str]) -> dict[str, Outcome]:
    """Return how each outcome is shown, in the units of the recipe's writer."""
    return {name: outcome_of(name, problem.units) for name in names}


def value(row: Outcome, number: float) -> str:
    """Return a value in its shown unit, without the unit."""
    return _rounded(row, number * row.per_model)


def _rounded(row: Outcome, number: float) -> str:
    if not math.isfinite(number):
        return "no value"
    if row.decimals is None:
        return _two_figures(number)
    text = f"{number:.{row.decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def _two_figures(number: float) -> str:
    if number == 0:
        return "0"
    digits = max(0, 1 - math.floor(math.log10(abs(number))))
    return f"{round(number, digits - 0):.{digits}f}" if digits else f"{float(f'{number:.2g}'):.0f}"


def label(row: Outcome) -> str:
    """Return an outcome's label with its unit."""
    return f"{row.label} ({row.unit})" if row.unit else row.label


def span(row: Outcome, low: float, high: float) -> str:
    """Return "4.7 to 5.3"."""
    return f"{value(row, low)} to {value(row, high)}"


def in_fifty(chance: float) -> str:
    """Return a chance as a count of 50, or a dash where there is no target."""
    return "–" if not math.isfinite(chance) else f"{round(50 * chance)} of 50"


def slight(row: Outcome, size: float) -> float:
    """Return the largest change of an outcome of that size that is not worth a word.

    A twentieth of the last digit that is printed of it: in model units, or as a share of 1 for
    folds.
    """
    if row.scale != "linear":
        return 0.005
    last = 0.01 * abs(size) if row.decimals is None else 10.0**-row.decimals / abs(row.per_model)
    return 0.05 * last


def percent(share: float) -> str:
    """Return a share in percent."""
    return f"{100 * share:.0f} %" if math.isfinite(share) else "–"


def drawn(draws: int, seed: int) -> str:
    """Return how many draws a study takes that was asked for so many, and their seed."""
    return f"{Plan(rows=rows_for(draws), seed=seed).draws} draws, seed {seed}"
