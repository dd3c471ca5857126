"""brewsim report: the main job, everything on one page."""

from pathlib import Path
from typing import Annotated, Any, NamedTuple

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import draws_of, load, read_files
from brewsim.cli.options import AsJson, Draws, HouseFile, PriorsFile, Quiet, RecipeFile, Seed
from brewsim.constants import WANTED_CHANCE
from brewsim.files.text_files import refuse_to_replace


class _Wish(NamedTuple):
    """What the command line asked for."""

    recipe: Path
    draws: Any
    chance: float
    seed: int
    batches: Path | None
    house: Path | None
    priors: Path | None
    silent: bool

    @property
    def files(self) -> list[Path]:
        """Return every file the page depends on, the recipe first."""
        return [file for file in (self.recipe, self.batches, self.house, self.priors) if file]


def report(
    recipe: RecipeFile,
    out: Annotated[
        Path | None, typer.Option(help="The page to write; named after the recipe file.")
    ] = None,
    draws: Draws = "16384",
    chance: Annotated[
        float, typer.Option(help="Wanted chance that all targets are met.", min=0.01, max=0.999)
    ] = WANTED_CHANCE,
    seed: Seed = 1,
    batches: Annotated[
        Path | None,
        typer.Option(help="Batch log: put expected against measured, and why, on the page."),
    ] = None,
    house: HouseFile = None,
    priors: PriorsFile = None,
    watch: Annotated[
        bool,
        typer.Option("--watch", help="Stay, write the page anew at every save, refresh it."),
    ] = False,
    opens: Annotated[
        bool, typer.Option("--open/--no-open", help="With --watch: open the page in a browser.")
    ] = True,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Write one page that says what to expect, what drives it, and which knob to turn.

    Example: brewsim report demo-recipes/quillhaven-lager.toml
    """
    wish = _Wish(recipe, draws_of(draws), chance, seed, batches, house, priors, quiet or json)
    path = out or Path(f"{'recipe' if str(recipe) == '-' else recipe.stem}.html")
    refuse_to_replace(path, "--out", read_files(recipe, priors, house, batches))
    if watch:
        from brewsim.cli.watch import watch as watch_files

        watch_files(wish.files, lambda: _written(wish, path, quiet=quiet), opens=opens)
    elif json:
        _print_json(wish, path)
    else:
        _written(wish, path, quiet=quiet)


def _studied(wish: _Wish) -> Any:  # noqa: ANN401 - a Studied
    from brewsim.cli.worker_process import helper

    loaded = load(wish.recipe, wish.priors, wish.house)
    log = None
    with helper() as executor, say.progress("brewing", quiet=wish.silent) as progress:
        from brewsim.page.compose import studied  # while the helper imports the same

        if wish.batches is not None:
            from brewsim.cli.learning import batches_content

            log = batches_content(wish.recipe, wish.batches, wish.priors, wish.seed, progress)
        return studied(
            loaded.recipe,
            loaded.problem,
            loaded.rows,
            loaded.priors,
            draws=wish.draws,
            seed=wish.seed,
            chance=wish.chance,
            batches=log,
            executor=executor,
            progress=progress,
        )


def _written(wish: _Wish, path: Path, *, quiet: bool) -> str:
    """Write the page and say its headline sentences; returns the page's text."""
    from brewsim.page.page import render, write_page
    from brewsim.page.views import joint_of
    from brewsim.wording.sentences import expectation, landing

    found = _studied(wish)
    text = render(found.content)
    write_page(path, text)
    for danger in found.content.dangers:
        if danger.level == "stop":
            say.lines(f"STOP: {danger.title}. {danger.text}")
    if not quiet:
        for outcome in found.content.outcomes:
            say.lines(" ".join(part for part in (expectation(outcome), landing(outcome)) if part))
        say.lines(*filter(None, [joint_of(found.content)]))
    say.lines(f"{path} written.")
    return text


def _print_json(wish: _Wish, path: Path) -> None:
    from brewsim.cli.simulate import summary_content
    from brewsim.page.page import write_report

    found = _studied(wish)
    write_report(path, found.content)
    dangers = [{"level": d.level, "title": d.title, "text": d.text} for d in found.content.dangers]
    content = summary_content(found.content.title, found.draws, found.summary)
    say.as_json({**content, "dangers": dangers, "page": str(path)})
