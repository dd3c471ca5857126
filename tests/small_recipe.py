"""A small recipe whose lines can be changed, for tests of what is made of it."""

import numpy as np

from brewsim.graph.evaluate import evaluate
from brewsim.logbook.pose import pose
from brewsim.recipe.read import parse_recipe

TEXT = """
name = "Small beer"
volume = "20 L"
boil = "60 min"
mash = "66 °C"
efficiency = "75 ± 3 %"

[[malt]]
name = "Pilsner malt"
mass = "4 kg"

[[hop]]
variety = "Northern Brewer"
alpha = "8.5 %"
mass = "15 g"
when = "boil 60 min"

[[hop]]
variety = "Fuggle"
lot = "F24"
alpha = "4.5 %"
mass = "20 g"
when = "whirlpool 20 min at 80 °C"

[[precursor]]
name = "grape-derived powder"
dose = "2 g/L"
when = "whirlpool"

[yeast]
name = "clean ale yeast"

[package]
container = "keg"
carbonation = "2.5 vol"
storage = "4 weeks at 4 °C"
"""


def write(*changes, more=""):
    """Return the small recipe with texts replaced (old, new pairs) and more below."""
    text = TEXT
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return parse_recipe(text + more)


def median_of(recipe, quantity):
    """Return a quantity of a recipe's beer with every input at its median."""
    return medians_of(recipe, (quantity,))[0]


def medians_of(recipe, quantities):
    """Return several quantities of a recipe's beer with every input at its median."""
    problem = pose(recipe)
    values = {name: array.copy() for name, array in problem.fixed.items()}
    for factor in problem.factors:
        median = factor.distribution.median
        if factor.row is None:
            values[factor.quantity] = np.array([median])
        else:
            values[factor.quantity][factor.row, 0] = median
    beer = evaluate(problem.graph, values)
    return [float(beer[name].ravel()[0]) for name in quantities]
