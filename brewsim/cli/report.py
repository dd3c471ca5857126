"""brewsim report: the main job, everything on one page."""

from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import say
from brewsim.cli.loading import draws_of, load
from brewsim.cli.options import AsJson, Draws, HouseFile, PriorsFile, Quiet, RecipeFile, Seed


def report(
    recipe: RecipeFile,
    out: Annotated[
        Path | None, typer.Option(help="The page to write; named after the recipe file.")
    ] = None,
    draws: Draws = "16384",
    chance: Annotated[
        float, typer.Option(help="Wanted chance that all targets are met.", min=0.01, max=0.999)
    ] = 0.8,
    seed: Seed = 1,
    batches: Annotated[
        Path | None,
        typer.Option(help="Batch log: put expected against measured, and why, on the page."),
    ] = None,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Write one page that says what to expect, what drives it, and which knob to turn.

    Example: brewsim report demo-recipes/quillhaven-lager.toml
    """
    from brewsim.cli.simulate import summary_content
    from brewsim.report.page import write_report
    from brewsim.report.whole import studied
    from brewsim.report.words import expectation, landing

    wanted = draws_of(draws)
    loaded = load(recipe, priors, house)
    log = None
    with say.progress("brewing", quiet=quiet or json) as progress:
        if batches is not None:
            from brewsim.cli.learning import batches_content

            log = batches_content(recipe, batches, priors, seed, progress)
        found = studied(
            loaded.recipe,
            loaded.problem,
            loaded.rows,
            loaded.priors,
            draws=wanted,
            seed=seed,
            chance=chance,
            batches=log,
            progress=progress,
        )
    page = write_report(out or Path(f"{recipe.stem}.html"), found.content)
    if json:
        content = summary_content(loaded.recipe.name, found.draws, found.summary)
        say.as_json({**content, "page": str(page)})
        return
    for danger in found.content.dangers:
        if danger.level == "stop":
            say.lines(f"STOP: {danger.title}. {danger.text}")
    for outcome in found.content.outcomes:
        say.lines(" ".join(part for part in (expectation(outcome), landing(outcome)) if part))
    say.lines(f"{page} written.")
