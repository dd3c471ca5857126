"""brewsim check: what was understood and assumed, and which assumptions matter most."""

from dataclasses import asdict

from brewsim.cli import console as say
from brewsim.cli.loading import doubts_of, load
from brewsim.cli.options import AsJson, PriorsFile, RecipeFile


def check(recipe: RecipeFile, json: AsJson = False, priors: PriorsFile = None) -> None:
    """Read a recipe, say what was understood and assumed; simulate nothing.

    Example: brewsim check demo-recipes/quillhaven-lager.toml
    """
    from brewsim.answers.leading_assumptions import leading_assumptions
    from brewsim.quantities.catalogue import outcome_of
    from brewsim.wording.assumptions import leading_sentence

    loaded = load(recipe, priors)
    problem = loaded.problem
    remarks = doubts_of(loaded.recipe, loaded.priors)
    taken = {(row.quantity, row.what) for row in loaded.rows if row.assumed}
    leading = leading_assumptions(problem, taken)
    if json:
        say.as_json(
            {
                "recipe": loaded.recipe.name,
                "remarks": remarks,
                "inputs": [row.__dict__ for row in loaded.rows],
                "leading_assumptions": [asdict(one) for one in leading],
            }
        )
        return
    say.lines(f"{loaded.recipe.name}: read without a fault.", *remarks)
    for title, assumed in (("I understood", False), ("I assumed", True)):
        rows = [(row.what, row.value, row.spread) for row in loaded.rows if row.assumed is assumed]
        say.table(title, ("input", "value", "spread"), rows)
    labels = {one.outcome: outcome_of(one.outcome).label for one in leading}
    say.lines(*filter(None, [leading_sentence(leading, labels, aimed=bool(problem.targets))]))
    factors = len(problem.factors)
    say.lines(f"{factors} uncertain inputs. `brewsim report` says what follows from them.")
