"""brewsim trace: a number as a tree of formulas, values and sources."""

from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile

Quantity = Annotated[str, typer.Argument(help="A quantity, as `brewsim glossary` lists them.")]


def trace(
    recipe: RecipeFile,
    quantity: Quantity,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Show what a number is made of, down to the inputs, with values, units and sources.

    Values are the middle of everything: every uncertain input at its median.
    Example: brewsim trace demo-recipes/quillhaven-lager.toml bitterness_ibu
    """
    from brewsim.beer.trace import traced

    loaded = load(recipe, priors, house)
    found = traced(loaded.problem, quantity)
    if json:
        say.as_json(found.content)
        return
    say.lines(found.tree)
