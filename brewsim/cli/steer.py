"""brewsim steer: which knob settings land in the targets."""

from typing import Annotated

import typer

from brewsim.cli import say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, Quiet, RecipeFile, Seed


def steer(
    recipe: RecipeFile,
    knob: Annotated[
        list[str] | None, typer.Option(help="Turn only this knob; repeat for several.")
    ] = None,
    chance: Annotated[
        float, typer.Option(help="Wanted chance that all targets are met.", min=0.01, max=0.999)
    ] = 0.8,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Find knob settings that land in the targets; say what stands in the way if none does.

    Example: brewsim steer demo-recipes/quillhaven-lager.toml --chance 0.6
    """
    from dataclasses import asdict

    import brewsim
    from brewsim.report.build_knobs import steered_sentences
    from brewsim.report.recipe_looks import recipe_looks

    loaded = load(recipe, priors, house)
    with say.progress("steering", quiet=quiet or json) as progress:
        found = brewsim.steer(
            loaded.problem, knobs=knob or None, chance=chance, seed=seed, progress=progress
        )
    if json:
        say.as_json(asdict(found))
        return
    say.lines(*steered_sentences(loaded.problem, found, recipe_looks(loaded.problem)))
