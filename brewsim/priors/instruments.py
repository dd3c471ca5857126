"""What instruments are worth: the standard uncertainty of one reading, by quantity."""

import math
from dataclasses import dataclass

from brewsim.errors import InputError, did_you_mean
from brewsim.priors.library import Ingredient, Priors

REFRACTOMETER = "refractometer"
BEFORE, AFTER = f"{REFRACTOMETER} before fermentation", f"{REFRACTOMETER} after fermentation"


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument that reads a quantity: own error and repeatability together.

    `uncertainty` is in the quantity's unit, or of its natural logarithm where `logged`.
    """

    name: str
    quantity: str
    uncertainty: float
    logged: bool

    def at(self, value: float) -> float:
        """Return the standard uncertainty of a reading of that value, in the quantity's unit."""
        return self.uncertainty * (abs(value) if self.logged else 1.0)


def instruments_for(priors: Priors, quantity: str) -> tuple[Instrument, ...]:
    """Return the instruments that read a quantity, the most certain first."""
    known = {i.name: i for i in priors.ingredients.get("instrument", {}).values()}
    found = [_instrument(priors, i, quantity) for i in known.values() if quantity in reads(i)]
    return tuple(sorted(found, key=lambda i: (i.uncertainty, i.name)))


def instrument_named(priors: Priors, name: str, quantity: str) -> Instrument:
    """Return the instrument with that name; raises InputError if it does not read the quantity."""
    item = kind_meant(priors, name, quantity)
    fitting = [i.name for i in instruments_for(priors, quantity)]
    if item is None or item.name not in fitting:
        hint = did_you_mean(name, fitting) or f" There is: {', '.join(fitting) or 'none'}."
        raise InputError("--measured", [f"no instrument {name!r} reads {quantity}.{hint}"])
    return _instrument(priors, item, quantity)


def kind_meant(priors: Priors, word: str, quantity: str = "") -> Ingredient | None:
    """Return the kind of instrument a word means where that quantity is read, or None."""
    if word.strip().lower() == REFRACTOMETER:
        word = AFTER if quantity.startswith("final") else BEFORE
    return priors.find("instrument", word)


def reads(item: Ingredient) -> list[str]:
    """Return the quantities an instrument reads."""
    return [name.strip() for name in item.tags.get("reads", "").split(",")]


def _instrument(priors: Priors, item: Ingredient, quantity: str) -> Instrument:
    parts = [priors.of(item, key) for key in ("bias", "noise")]
    squares = [p.distribution.standard_deviation**2 for p in parts if p is not None]
    logged = item.tags.get("scale") == "log"
    return Instrument(item.name, quantity, math.sqrt(math.fsum(squares)), logged)
