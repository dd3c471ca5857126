"""The instruments of a log: its own names for kinds of the priors, and the kinds themselves."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

from brewsim.errors import did_you_mean
from brewsim.priors.instruments import (
    AFTER,
    BEFORE,
    REFRACTOMETER,
    Instrument,
    instrument_of,
    kind_meant,
    reads,
)
from brewsim.priors.library import Ingredient, Priors
from brewsim.quantities.gravity import pair_of
from brewsim.quantities.statement import line_of
from brewsim.recipe.faults import Fault, in_words


@dataclass(frozen=True)
class Instruments:
    """The instruments of a log: its own names for kinds of the priors, and the kinds themselves.

    A name is the same whatever its case. `usual_ones` are the log's own that a reading without an
    instrument may have been taken by.
    """

    priors: Priors
    named: Mapping[str, str] = field(default_factory=dict)
    usual_ones: tuple[str, ...] = ()

    def unknown_kinds(self) -> Iterator[Fault]:
        """Yield a fault, with near misses, for every own name of what is no kind of instrument."""
        known = [*self.in_order(), REFRACTOMETER]
        for name, kind in self.named.items():
            if kind_meant(self.priors, kind) is None:
                told = f"“{kind}” is no kind of instrument.{_near(kind, known)}"
                yield line_of(kind), in_words(line_of(kind), f"instrument {name}", told)

    def of(self, name: str, quantity: str) -> Instrument:
        """Return the instrument of that name as it reads a quantity, or its twin.

        Raises ValueError with near misses, and where it reads neither.
        """
        own = next((n for n in self.named if n.lower() == name.lower()), None)
        kind = self.kind_of(name, quantity)
        for candidate in pair_of(quantity):
            if candidate in reads(kind):
                return instrument_of(self.priors, kind, candidate, own or "")
        raise ValueError(f"{name} does not read {quantity}; it reads {', '.join(reads(kind))}")

    def kind_of(self, name: str, quantity: str = "") -> Ingredient:
        """Return the kind of the instrument of that name; raises ValueError with near misses."""
        own = next((n for n in self.named if n.lower() == name.lower()), None)
        kind = kind_meant(self.priors, name if own is None else self.named[own], quantity)
        if kind is None:
            known = [*self.named, *self.in_order()]
            raise ValueError(f"there is no instrument {name}.{_near(name, known)}")
        return kind

    def usual(self, quantity: str, *, bends_light: bool = False) -> Instrument | None:
        """Return what a quantity was read by if nobody says: the log's own first, then by file."""
        for wanted in pair_of(quantity):
            for name in (*self._usual_ones(), *self.in_order()):
                kind = kind_meant(self.priors, self.named.get(name, name), quantity)
                if kind is None or wanted not in reads(kind):
                    continue
                if not bends_light or kind.name in (BEFORE, AFTER):
                    own = name if name in self.named else ""
                    return instrument_of(self.priors, kind, wanted, own)
        return None

    def _usual_ones(self) -> list[str]:
        """Return them by the name that the log has in the end, whatever its case."""
        own = {name.lower(): name for name in self.named}
        return [own[name.lower()] for name in self.usual_ones if name.lower() in own]

    def in_order(self) -> list[str]:
        """Return the kinds in the order of the priors' file: the most usual one first."""
        members = self.priors.ingredients.get("instrument", {})
        return list(dict.fromkeys(item.name for item in members.values()))


def _near(word: str, known: Sequence[str]) -> str:
    """Return the names that have it, or a word like it, in them; near misses; or all names."""
    words = sorted({part.lower() for name in known for part in name.split()})
    close = get_close_matches(word.lower(), words, n=1, cutoff=0.85)
    inside = [name for name in known for part in close if part in name.lower().split()]
    if inside:
        return f" Did you mean {' or '.join(inside)}?"
    return did_you_mean(word, known) or f" There is: {', '.join(known)}."
