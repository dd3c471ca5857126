"""The people of a tasting panel: traits that nobody knows, shared by all they say.

A trait is one of the whole panel (how much one cup scatters, where the ideal lies) from which a
named taster departs by a part of their own. Like the error of an instrument they are learned and
kept; they are never in a beer.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant, LogNormal
from brewsim.errors import StudyError, did_you_mean

PEOPLE = " @tasting"
"""Ending of the names of the people's latents."""

SCATTER, DAY, HALF, WIDTH = "cup scatter", "day frame", "just right", "too much"
WORDS, HIDING, EXPONENT = "words", "hiding", "strength exponent"


def ideal_of(attribute: str) -> str:
    """Return the trait that is the ideal of an attribute."""
    return f"ideal {attribute}"


def salience_of(attribute: str) -> str:
    """Return the trait that is how readily an attribute is named as standing in front."""
    return f"in front {attribute}"


@dataclass(frozen=True)
class Trait:
    """A trait: the panel's distribution, and what a single taster's departs from it by.

    A lognormal departure multiplies, any other is added.
    """

    panel: Distribution | None = None
    taster: Distribution | None = None

    @property
    def variance(self) -> float:
        """Variance between tasters of a trait that is added to."""
        return 0.0 if self.taster is None else self.taster.standard_deviation**2


@dataclass(frozen=True)
class Panel:
    """Priors of the people by trait; see the constants above for the names."""

    traits: Mapping[str, Trait] = field(default_factory=dict)

    def __hash__(self) -> int:
        """Hash by what it is, so that answers can be kept in sets."""
        return id(self)

    def trait(self, name: str) -> Trait:
        """Return a trait; raises StudyError with a near miss."""
        if name not in self.traits:
            hint = did_you_mean(name, self.traits)
            raise StudyError(f"the panel has no trait {name}.{hint}")
        return self.traits[name]

    def latents(self, names: Iterable[str], taster: str) -> Iterator[str]:
        """Yield the latents behind traits of a taster; of the panel alone for nobody named."""
        for name in names:
            trait = self.trait(name)
            if trait.panel is not None and not isinstance(trait.panel, Constant):
                yield f"{name}{PEOPLE}"
            if taster and trait.taster is not None:
                yield f"{name} of {taster}{PEOPLE}"

    def value(self, name: str, taster: str, scores: Mapping[str, FloatArray]) -> FloatArray:
        """Return a trait of a taster, (n,) or (1,), from the scores of the latents behind it."""
        trait = self.trait(name)
        own = trait.taster if taster else None
        multiplies = isinstance(trait.taster, LogNormal)
        total: FloatArray = np.ones(1) if multiplies or trait.panel is not None else np.zeros(1)
        if isinstance(trait.panel, Constant):
            total = np.array([trait.panel.median])
        elif trait.panel is not None:
            total = trait.panel.from_score(scores[f"{name}{PEOPLE}"])
        if own is None:
            return total
        departure = own.from_score(scores[f"{name} of {taster}{PEOPLE}"])
        return total * departure if multiplies else total + departure

    def fingerprint(self, latent: str) -> str:
        """Return what a normal score of a person's latent means; equal texts mean the same."""
        name, _, taster = latent.removesuffix(PEOPLE).partition(" of ")
        trait = self.trait(name)
        shape = trait.taster if taster else trait.panel
        return f"tasting {'' if shape is None else shape.fingerprint}"
