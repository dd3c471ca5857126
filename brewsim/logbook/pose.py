"""Pose a recipe as this house brews it: the problem, with what the brewery has learned."""

from pathlib import Path

from brewsim.beer.pose import posed
from brewsim.errors import InputError
from brewsim.logbook.house import House, with_house
from brewsim.priors.library import Priors, load_priors
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem


def pose(
    recipe: Recipe, house: object | None = None, priors: Priors | str | Path | None = None
) -> Problem:
    """Return the Problem of a recipe.

    `house` is what the brewery has learned: a House of logbook/house.py, or the path of its file.
    `priors` are those of priors/library.py, or the path of a file of own ones put over them.
    Raises InputError for what only shows against the priors: unknown ingredients, quantities that
    are not computed.

    >>> from brewsim import read_recipe
    >>> pose(read_recipe("demo-recipes/quillhaven-bitter.toml")).name
    'Quillhaven bitter'
    """
    priors = load_priors(Path(priors)) if isinstance(priors, str | Path) else priors
    problem = posed(recipe, priors)[0]
    if house is None:
        return problem
    if not isinstance(house, House | str | Path):
        raise InputError("house", [f"a House or a path is wanted, not {type(house).__name__}"])
    return with_house(problem, house, priors)
