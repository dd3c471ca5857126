"""Rows of "I understood" and "I assumed": every input with its spread, grade and source."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant
from brewsim.quantities.chances import percent
from brewsim.quantities.format import numbers_apart
from brewsim.quantities.statement import Z90
from brewsim.study.model.factor import Kinds

KIND_WORDS = {
    "knowledge": "the same in every brew, but not known",
    "lot": "new with every lot",
    "batch": "new with every brew",
}


@dataclass(frozen=True)
class Row:
    """One input as it was taken; `assumed` where the recipe did not state it."""

    quantity: str
    section: str
    what: str
    value: str
    spread: str
    kinds: str
    grade: str
    source: str
    assumed: bool


def spread_in_words(
    distribution: Distribution, unit: str, shown: Callable[[float], float] = lambda x: x
) -> str:
    """Return "nine in ten between 5.0 and 6.2 %", or "exactly" where there is no spread."""
    if isinstance(distribution, Constant):
        return "exactly"
    ends = distribution.from_score(np.array([-Z90, Z90]))
    low, high = shown(float(ends[0])), shown(float(ends[1]))
    if low == high:
        return "one of a few values"
    first, second = numbers_apart([low, high], abs(high - low))
    return f"nine in ten between {first} and {second}{f' {unit}' if unit else ''}"


def kinds_in_words(kinds: Kinds) -> str:
    """Return what returns every brew and what does not, about, in words."""
    parts = kinds.items()
    if len(parts) == 1:
        return KIND_WORDS[parts[0][0]]
    return "; ".join(f"about {percent(share)} {KIND_WORDS[kind]}" for kind, share in parts)
