"""What was read, in words: a value with the unit that a person uses."""

from collections.abc import Callable, Mapping

from brewsim.recipe.outcomes import outcome_of
from brewsim.recipe.telling import value, with_unit


def told_in(units: Mapping[str, str]) -> Callable[[str, float], str]:
    """Return what writes down a value of a quantity; `units` are those of `Problem.units`."""

    def told(quantity: str, number: float) -> str:
        row = outcome_of(quantity, units)
        return with_unit(row, value(row, number))

    return told


def counted(number: int, what: str) -> str:
    """Return "1 batch" or "3 batches"."""
    plural = f"{what}es" if what.endswith("ch") else f"{what}s"
    return f"{number} {what if number == 1 else plural}"
