"""What instruments are worth: the standard uncertainty of one reading, by quantity."""

import math
from dataclasses import dataclass

from brewsim.errors import InputError, did_you_mean
from brewsim.priors.library import Ingredient, Priors

REFRACTOMETER = "refractometer"
BEFORE, AFTER = f"{REFRACTOMETER} before fermentation", f"{REFRACTOMETER} after fermentation"


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument at work on one quantity.

    `bias` is the standard uncertainty of the error that it keeps, `noise` of one reading, both in
    the quantity's unit, or of its natural logarithm where `logged`. `kind` names what it is, if
    its name does not; `own` says that a log names it, `apart` that it errs apart in each quantity
    it reads.
    """

    name: str
    quantity: str
    bias: float
    noise: float = 0.0
    logged: bool = False
    kind: str = ""
    own: bool = False
    apart: bool = False

    @property
    def uncertainty(self) -> float:
        """The standard uncertainty of one reading, own error and repeatability together."""
        return math.hypot(self.bias, self.noise)

    def at(self, value: float) -> float:
        """Return the standard uncertainty of a reading of that value, in the quantity's unit."""
        return self.uncertainty * (abs(value) if self.logged else 1.0)

    @property
    def bends_light(self) -> bool:
        """Whether it is a refractometer."""
        return self.kind in (BEFORE, AFTER)

    @property
    def error(self) -> str:
        """The name of the error that all its readings share."""
        apart = self.apart or (self.own and self.kind == AFTER)
        return f"{self.name}, {self.quantity}" if apart else self.name

    @property
    def in_words(self) -> str:
        """The instrument in a sentence."""
        if self.own:
            return f"{self.name} ({self.kind})"
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


def instruments_for(priors: Priors, quantity: str) -> tuple[Instrument, ...]:
    """Return the instruments that read a quantity, the most certain first."""
    known = {i.name: i for i in priors.ingredients.get("instrument", {}).values()}
    found = [instrument_of(priors, i, quantity) for i in known.values() if quantity in reads(i)]
    return tuple(sorted(found, key=lambda i: (i.uncertainty, i.name)))


def instrument_named(priors: Priors, name: str, quantity: str) -> Instrument:
    """Return the instrument with that name; raises InputError if it does not read the quantity."""
    item = kind_meant(priors, name, quantity)
    fitting = [i.name for i in instruments_for(priors, quantity)]
    if item is None or item.name not in fitting:
        hint = did_you_mean(name, fitting) or f" There is: {', '.join(fitting) or 'none'}."
        raise InputError("--measured", [f"no instrument {name!r} reads {quantity}.{hint}"])
    return instrument_of(priors, item, quantity)


def kind_meant(priors: Priors, word: str, quantity: str = "") -> Ingredient | None:
    """Return the kind of instrument a word means where that quantity is read, or None."""
    if word.strip().lower() == REFRACTOMETER:
        word = AFTER if quantity.startswith("final") else BEFORE
    return priors.find("instrument", word)


def reads(item: Ingredient) -> list[str]:
    """Return the quantities an instrument reads."""
    return [name.strip() for name in item.tags.get("reads", "").split(",")]


def instrument_of(
    priors: Priors, item: Ingredient, quantity: str, own_name: str = ""
) -> Instrument:
    """Return a kind of instrument as it reads a quantity; `own_name` is what a log calls it."""
    parts = [priors.of(item, key) for key in ("bias", "noise")]
    bias, noise = (p.distribution.standard_deviation if p is not None else 0.0 for p in parts)
    return Instrument(
        own_name or item.name,
        quantity,
        bias,
        noise,
        logged=item.tags.get("scale") == "log",
        kind=item.name,
        own=bool(own_name),
        apart=item.tags.get("each") == "quantity",
    )
