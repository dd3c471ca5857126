"""Wanted limits and measured values of an outcome, as one line: "alcohol ± 0.2 %"."""

import re
from collections.abc import Collection
from dataclasses import dataclass, replace

from brewsim.errors import InputError, did_you_mean
from brewsim.priors.instruments import (
    REFRACTOMETER,
    Instrument,
    instrument_named,
    instruments_for,
    kind_meant,
)
from brewsim.priors.library import Priors
from brewsim.quantities.amounts import read_amounts, total
from brewsim.quantities.catalogue import OUTCOMES, Quantity, outcome_of, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.gravity import in_unit, pair_of, read_as_written, twin_value
from brewsim.quantities.measured_value import read_value
from brewsim.quantities.statement import Phrase
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target

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
    is itself in %. A gravity in °P is wanted of the extract, and back. Raises InputError.
    """
    quantity, rest = _named(text, problem, "--want")
    try:
        if (match := _SPREAD.fullmatch(rest)) is not None:
            return _positive(_around(text, quantity, match[1], problem))
        if (match := _FACTOR.fullmatch(rest)) is not None:
            return _positive(Want(text, quantity, factor=float(match[1].replace(",", "."))))
        quantity, stated = read_as_written(quantity, rest)
        return Want(text, quantity, _target(stated.phrase))
    except ValueError as error:
        raise InputError("--want", [f"“{text}”: {error}"]) from None


def _spread_of(quantity: str, written: str) -> str:
    """Return the quantity of a spread: in °P the extract, whichever of the two is named."""
    if model_unit_of(quantity) != "SG":
        return quantity
    unit = read_amounts(written, "SG")[0].unit
    return quantity if unit is None else in_unit(quantity, unit.symbol)


def _around(text: str, quantity: str, written: str, problem: Problem) -> Want:
    """Return a want of a spread around the middle to be expected."""
    relative = _RELATIVE.fullmatch(written) if model_unit_of(quantity) != "fraction" else None
    if relative is not None:
        share = float(relative[1].replace(",", ".")) / 100
        return Want(text, quantity, half=share, relative=True)
    quantity = _spread_of(quantity, written)
    row = outcome_of(quantity, problem.units)
    return Want(text, quantity, half=_width(written, model_unit_of(quantity) or "", row))


def _positive(want: Want) -> Want:
    if want.half <= 0 and want.factor <= 1:
        raise ValueError("a spread is above 0, a factor above 1")
    return want


def _width(text: str, unit: str, row: Quantity) -> float:
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


def _target(phrase: Phrase) -> Target:
    if phrase.kind not in ("range90", "uniform", "at_most", "at_least"):
        raise ValueError("write limits, such as ± 0.2 %, 4.8 to 5.4 % or at most 30 IBU")
    low = phrase.low if phrase.kind != "at_most" else None
    return Target(low, phrase.high if phrase.kind != "at_least" else None)


def read_measured(text: str, problem: Problem, priors: Priors) -> Measured:
    """Read "alcohol 4.4 %" or "alcohol 4.4 % by bench alcohol meter"; raises InputError.

    Without an instrument the best one that reads the outcome is taken. A gravity in °P is one of
    the extract, and back; an instrument that reads only the other of the two is taken for that.
    """
    quantity, rest = _named(text, problem, "--measured")
    words, _, name = rest.partition(" by ")
    try:
        quantity, stated = read_value(quantity, words)
    except ValueError as error:
        raise InputError("--measured", [f"“{text}”: {error}"]) from None
    name = name.strip() or (REFRACTOMETER if stated.unit == "°Bx" else "")
    value = stated.value
    for read in pair_of(quantity):
        seen = value if read == quantity else twin_value(quantity, value)
        if fitting := _fitting(priors, name, read):
            instrument = min(fitting, key=lambda one: one.at(seen))
            return Measured(text, read, seen, instrument)
    if not name:
        raise InputError("--measured", [f"“{text}”: no instrument that is known reads it"])
    return Measured(text, quantity, value, instrument_named(priors, name, quantity))


def _fitting(priors: Priors, name: str, quantity: str) -> list[Instrument]:
    """Return the instruments that read a quantity: all of them, or the one of that name."""
    found = instruments_for(priors, quantity)
    if not name:
        return list(found)
    kind = kind_meant(priors, name, quantity)
    return [one for one in found if kind is not None and one.name == kind.name]


def measured_as_judged(measured: Measured, aims: Collection[str]) -> Measured:
    """Return a measured value as one of its twin where that alone is among what is aimed at."""
    quantity, *twins = pair_of(measured.quantity)
    twin = next((name for name in twins if name in aims), "")
    if quantity in aims or not twin:
        return measured
    value = twin_value(quantity, measured.value)
    beside = twin_value(quantity, measured.value + measured.instrument.at(measured.value))
    instrument = Instrument(measured.instrument.name, twin, abs(beside - value))
    return replace(measured, quantity=twin, value=value, instrument=instrument)


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
