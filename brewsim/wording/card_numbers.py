"""The figures of a brew-day card in the units of its recipe."""

import numpy as np

from brewsim.answers import brew_card as figures
from brewsim.answers.brew_card import BrewCard, Figure
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import in_unit, number
from brewsim.quantities.format import shown as shown_in
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Hop, Recipe
from brewsim.study.model.problem import Problem

_DECIMALS = {"°C": 1, "°F": 0, "L": 1, "US gal": 2, "imp gal": 2, "hL": 2}


class CardNumbers:
    """Writes the figures of a card in the recipe's units."""

    def __init__(self, recipe: Recipe, problem: Problem, card: BrewCard) -> None:
        self.recipe, self.problem, self.card = recipe, problem, card
        self.litres = recipe.volume.unit or "L"
        malts = [malt.mass.unit for malt in recipe.malt]
        self.solids = "lb" if malts[:1] == ["lb"] else "kg"
        self.degrees = "°F" if recipe.mash and recipe.mash.temperature.unit == "°F" else "°C"
        hot, cold = (self.find(n) for n in (figures.HOT_AFTER_BOIL, figures.AFTER_BOIL))
        self.hot = hot.value / cold.value if hot and cold and cold.value > 0 else 1.0

    def find(self, name: str) -> Figure | None:
        """Return a figure of the card, None where this beer has none."""
        found = self.card.figures.get(name)
        return found if found is not None and np.isfinite(found.value) else None

    # numbers -------------------------------------------------------------------------------
    def volume(self, _name: str, litres: float) -> str:
        """Return a volume in the unit the recipe's volume is written in."""
        value = in_unit(litres, "L", self.litres)
        return f"{number(value, _DECIMALS.get(self.litres, 1))} {self.litres}"

    def temperature(self, celsius: float) -> str:
        """Return a temperature in the unit the recipe's mash is written in."""
        value = in_unit(celsius, "°C", self.degrees)
        whole = abs(value - round(value)) < 0.05
        return f"{number(value, 0 if whole else _DECIMALS[self.degrees])} {self.degrees}"

    def span(self, name: str) -> str:
        """Return where nine in ten lie, without the unit."""
        found = self.find(name)
        if found is None:
            return ""
        ends = [self.bare(name, v) for v in (found.low, found.high)]
        return f"{ends[0]} to {ends[1]}"

    def bare(self, name: str, value: float) -> str:
        """Return a value of a quantity in the recipe's unit, without it."""
        if name.endswith("_l"):
            return self.volume(name, value).split()[0]
        if name.endswith("_c"):
            return number(in_unit(value, "°C", self.degrees), _DECIMALS[self.degrees])
        row = outcome_of(name, self.problem.units)
        return number(value * row.per_model, row.decimals)

    def amount(self, stated: Stated) -> str:
        """Return an amount as it was written."""
        return shown_in(stated.value, stated.model_unit, stated.unit, twin=False)

    def grams(self, hop: Hop) -> str:
        """Return the mass of an addition."""
        if hop.mass is not None:
            return self.amount(hop.mass)
        rate = hop.rate.value if hop.rate is not None else 0.0
        grams = rate * self.recipe.volume.value
        return shown_in(grams, "g", "g", twin=False)
