"""The dials of a page after a tasting: strips of what is wished and held, from the tasted batch."""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from brewsim.answers.wish_dials import WishDials
from brewsim.dims import FloatArray
from brewsim.logbook.tasting_entries import STRENGTHS
from brewsim.logbook.wished import AMOUNTS
from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.study.model.problem import Problem
from brewsim.wording.dials import dial_rows, error_words
from brewsim.wording.page_parts import DialRow, Dials, Strip
from brewsim.wording.parts import Limits

_NAMES = {q: name for table in (AMOUNTS, STRENGTHS) for name, q in table.items()}


def wish_dials_of(problem: Problem, start: str, found: WishDials) -> Dials:
    """Return the dials of a wish from a tasted batch, as the page shows them."""
    looks = {name: _look(problem, start, found, name) for name in found.kinds}
    order = (*found.wished, *(name for name in found.kinds if name not in found.wished))
    return Dials(
        rows=tuple(_row(row, found.written) for row in dial_rows(found.surfaces)),
        surfaces=found.surfaces,
        strips=tuple(_strip(found, looks[name], name) for name in order),
        per_model={name: look.per_model for name, look in looks.items()},
        dots=tuple(found.dots.tolist()),
        chances=found.chances,
        joint=found.joint,
        error=error_words(found.surfaces, {n: look.label for n, look in looks.items()}),
        ends={
            name: (low * looks[name].per_model, high * looks[name].per_model)
            for name, (low, high) in found.ends.items()
            if len(np.unique(low)) > 1 or len(np.unique(high)) > 1
        },
        first=start,
        what="are as you wish, the rest held",
    )


def _look(problem: Problem, start: str, found: WishDials, name: str) -> Quantity:
    look = outcome_of(name, problem.units)
    kind = found.kinds[name]
    if kind == "plain":
        return look
    label = f"{_NAMES.get(name, look.label)} against {start}"
    brew = "next brew" if name in found.wished else "same wort"
    if kind == "step":
        decimals = max(look.decimals or 0, 1)
        return replace(look, label=f"{label}, {brew}", decimals=decimals)
    return replace(
        look, label=f"{label}, {brew}", unit=f"× {start}", decimals=None, figures=2, per_model=1.0
    )


def _strip(found: WishDials, look: Quantity, name: str) -> Strip:
    low, high = (_shown(end, look.per_model) for end in found.ends[name])
    middle = found.middles[name] * look.per_model
    return Strip(
        name, look, found.kinds[name] in ("fold", "strength"), (), (), Limits(low, high),
        middle, middle, middle, None, "",
    )  # fmt: skip


def _shown(end: FloatArray, per_model: float) -> float | None:
    middle = float(np.median(end)) * per_model
    return middle if math.isfinite(middle) and middle != 0.0 else None


def _row(row: DialRow, written: Mapping[str, float | str]) -> DialRow:
    """Return a dial with the place of the recipe's own setting, which the batch may have left."""
    wanted = written.get(row.id)
    if isinstance(wanted, str):
        return replace(row, written=row.choices.index(wanted) if wanted in row.choices else -1)
    if wanted is None:
        return row
    near = min(range(len(row.places)), key=lambda place: abs(row.places[place] - wanted))
    exact = abs(row.places[near] - wanted) <= 0.5 * 10.0**-row.decimals
    return replace(row, written=near if exact else -1)
