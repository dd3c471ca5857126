"""brewsim specify: limits a process can keep, and what to tighten."""

from typing import Annotated

import typer

from brewsim.cli import say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed


def specify(
    recipe: RecipeFile,
    content: Annotated[
        float, typer.Option(help="Share of batches the limits shall hold.", min=0.5, max=0.999)
    ] = 0.95,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Say which limits are honest, how often targets are met, and what to tighten or measure.

    Example: brewsim specify demo-recipes/quillhaven-bitter.toml
    """
    import brewsim
    from brewsim.cli import shown

    loaded = load(recipe, priors, house)
    found = brewsim.specify(loaded.problem, content=content, seed=seed)
    if json:
        say.as_json(found.to_dict())
        return
    rows = []
    for name in found["outcome"].to_numpy().tolist():
        row = found.sel(outcome=name)
        cells = [
            shown.span(name, float(row["low"].sel(scope=s)), float(row["high"].sel(scope=s)))
            for s in found["scope"].to_numpy().tolist()
        ]
        rows.append((shown.label(name), *cells))
    header = ("outcome", *found["scope"].to_numpy().tolist())
    say.table(f"{loaded.recipe.name}: limits holding {content:.0%} of batches", header, rows)
