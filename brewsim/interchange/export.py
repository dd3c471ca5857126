"""A recipe on its way to BeerJSON: medians, and what is said of them beside the numbers."""

from typing import Any

from brewsim.interchange.ledger import number_text
from brewsim.priors.library import Priors
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Recipe

DAY_MIN = 1440
Json = dict[str, Any]


class Export:
    """One recipe on its way out; `lost` is what the standard cannot say of it."""

    def __init__(self, recipe: Recipe, priors: Priors) -> None:
        self.recipe, self.priors = recipe, priors
        self.lost: list[str] = []
        self.said: list[str] = []
        self.assumed: list[str] = []
        self.boil_steps: list[Json] = []
        self.fermentation_steps: list[Json] = []

    def value(self, what: str, stated: Stated) -> float:
        """Return the median of a statement in model units; its spread is kept for the notes."""
        if stated.phrase.kind != "plain":
            self.said.append(f"{what}: {stated.text}")
        return stated.value

    def grams(self, what: str, mass: Stated | None, rate: Stated | None) -> float:
        """Return an amount in g, stated as a mass or per litre into the fermenter."""
        if mass is not None:
            return self.value(f"{what}, mass", mass)
        if rate is not None:
            return self.value(f"{what}, rate", rate) * self.recipe.volume.value
        return 0.0

    def known(self, kind: str, name: str, quantity: str, what: str) -> float:
        """Return the median of an ingredient's prior, where its recipe states nothing."""
        entry = self.priors.find(kind, name)
        prior = None if entry is None else self.priors.of(entry, quantity)
        if prior is None:
            self.assumed.append(f"{what}: not known; written as 0")
            return 0.0
        self.assumed.append(f"{what}: median of brewsim's prior")
        return prior.value


def amount_of(unit: str, value: float) -> Json:
    """Return a value with its unit."""
    return {"unit": unit, "value": float(number_text(value))}


def time_of(minutes: float) -> Json:
    """Return a time in whole units, as the standard wants it."""
    for unit, size in (("day", DAY_MIN), ("min", 1), ("sec", 1 / 60)):
        count = minutes / size
        if abs(count - round(count)) < 1e-6 and (unit != "day" or count >= 1):
            return {"unit": unit, "value": round(count)}
    return {"unit": "sec", "value": round(minutes * 60)}
