"""What somebody wants of an outcome, or measured of it, as one line: "alcohol ± 0.2 %"."""

import re
from dataclasses import dataclass

from brewsim.errors import InputError, did_you_mean
from brewsim.recipe.instruments import (
    REFRACTOMETER,
    Instrument,
    instrument_named,
    instruments_for,
)
from brewsim.recipe.kinds import model_unit_of
from brewsim.recipe.outcomes import (
    BY_QUANTITY,
    OUTCOMES,
    TWINS,
    Outcome,
    outcome_of,
    quantity_of,
)
from brewsim.recipe.phrases import read_phrase
from brewsim.recipe.possible import refuse_impossible
from brewsim.recipe.priors import Priors
from brewsim.recipe.quantities import read_amounts, total
from brewsim.recipe.refractometer import WORTS, wort_shown
from brewsim.recipe.stated import Stated
from brewsim.study.problem import Problem, Target

_SPREAD = re.compile(r"(?:±|\+/-|\+-)\s*(.+)")
_FACTOR = re.compile(r"within\s+(?:a\s+)?factor\s+(?:of\s+)?([0-9.,]+)", re.IGNORECASE)
_RELATIVE = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*%\s*")


@dataclass(frozen=True, slots=True)
class Want:
    """Limits wanted for an outcome: outright, or as a spread around the middle to be expected.

    `half` is a half width in model units, a share of the middle where `relative`; `factor` a
    number of times either way.
    """

    text: str
    quantity: str
    target: Target | None = None
    half: float = 0.0
    relative: bool = False
    factor: float = 1.0

    def limits(self, middle: float) -> Target:
        """Return the limits, given the middle of the outcome."""
        if self.target is not None:
            return self.target
        if self.factor > 1:
            return Target(middle / self.factor, middle * self.factor)
        half = self.half * (abs(middle) if self.relative else 1.0)
        return Target(middle - half, middle + half)


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value and the instrument it was read with."""

    text: str
    quantity: str
    value: float
    instrument: Instrument


def read_want(text: str, problem: Problem) -> Want:
    """Read "alcohol ± 0.2 %", "bitterness ± 10 %", "bitterness 25 to 30 IBU", ...

    A spread alone stands around the middle to be expected; % is of the middle unless the outcome
    is itself in %. Raises InputError.
    """
    quantity, rest = _named(text, problem, "--want")
    unit, row = model_unit_of(quantity) or "", outcome_of(quantity, problem.units)
    try:
        if (match := _SPREAD.fullmatch(rest)) is not None:
            relative = _RELATIVE.fullmatch(match[1]) if unit != "fraction" else None
            if relative is not None:
                share = float(relative[1].replace(",", ".")) / 100
                return _positive(Want(text, quantity, half=share, relative=True))
            return _positive(Want(text, quantity, half=_width(match[1], unit, row)))
        if (match := _FACTOR.fullmatch(rest)) is not None:
            return _positive(Want(text, quantity, factor=float(match[1].replace(",", "."))))
        return Want(text, quantity, _target(rest, unit))
    except ValueError as error:
        raise InputError("--want", [f"“{text}”: {error}"]) from None


def _positive(want: Want) -> Want:
    if want.half <= 0 and want.factor <= 1:
        raise ValueError("a spread is above 0, a factor above 1")
    return want


def _width(text: str, unit: str, row: Outcome) -> float:
    """Return a half width in model units: "0.2 %", "0.002", "3 IBU"; gravities also in points."""
    unit = "Δ°C" if unit == "°C" else unit
    amounts = read_amounts(text, unit)
    if unit == "SG":
        (amount,) = amounts
        points = amount.unit is not None and amount.unit.symbol != "SG"
        if points and amount.unit is not None and amount.unit.symbol not in ("points", "point"):
            raise ValueError("write a spread of gravity as 0.002 or 2 points")
        return amount.number / 1000 if points or amount.number >= 0.5 else amount.number
    if amounts[0].unit is None:
        return amounts[0].number / row.per_model
    return total(amounts, unit)


def _target(text: str, unit: str) -> Target:
    phrase = read_phrase(text, unit).phrase
    if phrase.kind not in ("range90", "uniform", "at_most", "at_least"):
        raise ValueError("write limits, such as ± 0.2 %, 4.8 to 5.4 % or at most 30 IBU")
    low = phrase.low if phrase.kind != "at_most" else None
    return Target(low, phrase.high if phrase.kind != "at_least" else None)


def read_measured(text: str, problem: Problem, priors: Priors) -> Measured:
    """Read "alcohol 4.4 %" or "alcohol 4.4 % by bench alcohol meter"; raises InputError.

    Without an instrument the best one that reads the outcome is taken.
    """
    quantity, rest = _named(text, problem, "--measured")
    words, _, name = rest.partition(" by ")
    try:
        stated = read_phrase(words, model_unit_of(quantity) or "")
        value = _of_brix(quantity, stated) if stated.unit == "°Bx" else stated.value
        refuse_impossible(quantity, value, words)
    except ValueError as error:
        raise InputError("--measured", [f"“{text}”: {error}"]) from None
    name = name.strip() or (REFRACTOMETER if stated.unit == "°Bx" else "")
    fitting = instruments_for(priors, quantity)
    if not name and not fitting:
        raise InputError("--measured", [f"“{text}”: no instrument that is known reads it"])
    instrument = instrument_named(priors, name, quantity) if name else fitting[0]
    return Measured(text, quantity, value, instrument)


def _of_brix(quantity: str, stated: Stated) -> float:
    """Return what a refractometer showed of wort, which is its extract; raises ValueError."""
    extract = TWINS.get(quantity, "")
    if extract in WORTS:
        told = BY_QUANTITY[extract].name
        raise ValueError(f"°Bx is what a refractometer shows of extract; write it of {told}")
    return wort_shown(quantity, stated).value


def _named(text: str, problem: Problem, where: str) -> tuple[str, str]:
    """Split the outcome's name off the head of a text; spaces and underscores are the same."""
    words = text.strip().split()
    for count in range(min(4, len(words)), 0, -1):
        quantity = quantity_of("_".join(words[:count]).lower())
        if quantity in problem.graph and not problem.graph.axes(quantity):
            return quantity, " ".join(words[count:])
    known = [*OUTCOMES, *problem.outcomes]
    near = did_you_mean(words[0] if words else "", known) or f" There is: {', '.join(OUTCOMES)}."
    raise InputError(where, [f"“{text}” names no outcome.{near}"])
