"""Recipe texts of the tests, and a problem or medians from one."""

from pathlib import Path

import numpy as np

from brewsim.beer.pose import posed
from brewsim.graph.evaluate import evaluate
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.sampling import Assembly

DEMOS = Path(__file__).parents[1] / "demo-recipes"
TOP = 'name = "Test"\nvolume = "20 L"\nboil = "60 min"\nefficiency = "75 %"\n'
MALT = '[[malt]]\nname = "Pilsner malt"\nmass = "4 kg"\n'
YEAST = '[yeast]\nname = "clean ale yeast"\ntemperature = "18 °C"\n'
KEG = '[package]\ncontainer = "keg"\ncarbonation = "2.5 vol"\nstorage = "4 weeks at 4 °C"\n'
BOTTLE = '[package]\ncontainer = "bottle"\nrating = "3 vol"\ncarbonation = "2.3 vol"\n'


def hop(when="boil 60 min", mass="20 g", variety="Northern Brewer", **fields):
    lines = {"variety": variety, "mass": mass, "when": when} | fields
    return "[[hop]]\n" + "".join(f'{key} = "{value}"\n' for key, value in lines.items())


def powder(dose="2.5 g/L", when="whirlpool", **fields):
    lines = {"name": "grape-derived powder", "dose": dose, "when": when} | fields
    return "[[precursor]]\n" + "".join(f'{key} = "{value}"\n' for key, value in lines.items())


def beer(*blocks, top=TOP, malt=MALT, yeast=YEAST, package=KEG):
    """A whole recipe: the usual grist, yeast and keg unless changed, and more blocks."""
    return "\n".join((top, malt, *blocks, yeast, package))


def problem_of(text, priors=None):
    return posed(parse_recipe(text), priors)[0]


def rows_of(text):
    return posed(parse_recipe(text))[1]


def values_at(problem, score=0.0, **held):
    """Every quantity with all factors at one normal score, inputs held where named."""
    scores = np.full((len(problem.factors), 1), float(score))
    values = Assembly(problem, problem.graph.inputs).values(scores)
    return evaluate(problem.graph, values | {k: np.array([v]) for k, v in held.items()})


def medians(text):
    return values_at(problem_of(text))


def factor(problem, quantity):
    """The one factor of a quantity."""
    (found,) = [f for f in problem.factors if f.quantity == quantity]
    return found
