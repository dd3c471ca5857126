"""How a beer's outcomes are shown on the page: the recipe room's labels, units and rounding."""

from brewsim.recipe.outcomes import BY_QUANTITY, outcome_of
from brewsim.report.content import Look
from brewsim.report.looks import look_of
from brewsim.report.words import capital
from brewsim.study.problem import Problem


def recipe_looks(problem: Problem) -> dict[str, Look]:
    """Return a look for every outcome and target of a posed recipe."""
    looks = {}
    for name in dict.fromkeys((*problem.outcomes, *problem.targets)):
        row = outcome_of(name, problem.units)
        usual = look_of(name)
        fold = row.unit == "doublings"
        unit = "" if fold or row.unit == "SG" else row.unit
        unit = usual.unit if unit == "vol" else unit
        label = row.label if name in BY_QUANTITY else problem.graph.label(name)
        looks[name] = Look(
            capital(label), unit, row.decimals, row.per_model, fold=fold, verb=usual.verb
        )
    return looks
