"""brewsim explain: why the measured batches came out as they did."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from brewsim.cli import say
from brewsim.cli.options import AsJson, PriorsFile, Quiet, RecipeFile, Seed

BatchFile = Annotated[
    Path, typer.Argument(help="Batch log, TOML or CSV.", exists=True, dir_okay=False, readable=True)
]


def explain(
    recipe: RecipeFile,
    batches: BatchFile,
    batch: Annotated[str, typer.Option(help="Explain only this batch, by its id.")] = "",
    against: Annotated[
        Literal["house", "recipe"],
        typer.Option(help="Against an ordinary batch of this brewery, or against the recipe."),
    ] = "house",
    seed: Seed = 1,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Say why measured batches came out as they did, and which causes cannot be told apart.

    Example: brewsim explain demo-recipes/quillhaven-lager.toml \
demo-recipes/quillhaven-lager-batches.toml
    """
    from dataclasses import asdict

    from brewsim.cli.learning import explained

    with say.progress("learning from the batches", quiet=quiet or json) as progress:
        found = explained(recipe, batches, priors, batch, against, seed, progress)
    if json:
        say.as_json(
            {
                "readings": [asdict(s) for s in found.learned.surprises],
                "attributions": [asdict(a) for a in found.attributions],
                "remarks": list(found.learned.remarks),
                "precision": found.learned.precision,
                "trusted": found.learned.trusted,
            }
        )
        return
    say.lines(*found.sentences)
    for table in found.tables:
        say.table(table.caption, table.header, table.rows)
