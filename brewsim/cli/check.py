"""brewsim check: what was understood, without computing anything."""

from brewsim.cli import console as say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, PriorsFile, RecipeFile


def check(recipe: RecipeFile, json: AsJson = False, priors: PriorsFile = None) -> None:
    """Read a recipe, say what was understood and assumed; compute nothing.

    Example: brewsim check demo-recipes/quillhaven-lager.toml
    """
    loaded = load(recipe, priors)
    if json:
        say.as_json(
            {
                "recipe": loaded.recipe.name,
                "remarks": list(loaded.recipe.remarks),
                "inputs": [row.__dict__ for row in loaded.rows],
            }
        )
        return
    say.lines(f"{loaded.recipe.name}: read without a fault.", *loaded.recipe.remarks)
    for title, assumed in (("I understood", False), ("I assumed", True)):
        rows = [(row.what, row.value, row.spread) for row in loaded.rows if row.assumed is assumed]
        say.table(title, ("input", "value", "spread"), rows)
    factors = len(loaded.problem.factors)
    say.lines(f"{factors} uncertain inputs. `brewsim report` says what follows from them.")
