"""brewsim learn: what the brewery now knows."""

from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import say
from brewsim.cli.explain import BatchFile
from brewsim.cli.options import AsJson, PriorsFile, Quiet, RecipeFile, Seed


def learn(
    recipe: RecipeFile,
    batches: BatchFile,
    house: Annotated[
        Path, typer.Option("--house", help="The house file to write, or to add these batches to.")
    ],
    seed: Seed = 1,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Learn from measured batches; every command then takes the file with --house.

    Example: brewsim learn demo-recipes/quillhaven-lager.toml \
demo-recipes/quillhaven-lager-batches.toml --house quillhaven.toml
    """
    from brewsim.cli.learning import narrowed
    from brewsim.recipe.batches import read_batches
    from brewsim.recipe.house import learn as learn_house
    from brewsim.recipe.priors import load_priors

    known = load_priors(priors)
    log = read_batches(batches, recipe, known)
    with say.progress("learning", quiet=quiet or json) as progress:
        kept, learned = learn_house(house, log, known, seed=seed, progress=progress)
    rows = narrowed(learned)
    if json:
        say.as_json(
            {
                "house": str(house),
                "batches": kept.batches,
                "precision": kept.precision,
                "trusted": kept.trusted,
                "remarks": list(kept.remarks),
                "narrowed": [row._asdict() for row in rows],
            }
        )
        return
    say.table(
        f"What {kept.batches} batches teach: nine chances in ten",
        ("input", "before", "now", "spread left"),
        [(row.label, row.before, row.now, row.left) for row in rows[:12]],
    )
    say.lines(*dict.fromkeys(kept.remarks), f"{house} written; use it with --house {house}.")
