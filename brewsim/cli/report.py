"""brewsim report: the main job, everything on one page."""

from concurrent.futures import Executor
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import NOT_SETTLED, draws_of, faults_in, load, read_files
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import (
    AsJson,
    Draws,
    HouseFile,
    PriorsFile,
    Quiet,
    RecipeFile,
    Seed,
    Time,
)
from brewsim.constants import WANTED_CHANCE
from brewsim.files.text_files import refuse_to_replace

_Help = AbstractContextManager[Executor | None]


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
    light: bool = False
    whole: bool = False
    time: float | None = None

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
    time: Time = None,
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
    light: Annotated[
        bool, typer.Option("--light", help="Leave the drawing library out of the page.")
    ] = False,
    whole: Annotated[
        bool, typer.Option("--all", help="Print every outcome, not only the six lines.")
    ] = False,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Write one page that says what to expect, what drives it, and which knob to turn.

    Example: brewsim report demo-recipes/quillhaven-lager.toml
    """
    wish = _Wish(
        recipe,
        draws_of(draws),
        chance,
        seed,
        batches,
        house,
        priors,
        quiet or json,
        light,
        whole,
        time,
    )
    path = out or Path(f"{'recipe' if str(recipe) == '-' else recipe.stem}.html")
    refuse_to_replace(path, "--out", read_files(recipe, priors, house, batches))
    from brewsim.cli.worker_process import helper

    if watch:
        from brewsim.cli.watch import watch as watch_files

        with helper() as executor:  # one for all saves
            kept = nullcontext(executor)
            watch_files(wish.files, lambda: _written(wish, path, kept, quiet=quiet), opens=opens)
    elif json:
        _print_json(wish, path, helper())
    else:
        _written(wish, path, helper(), quiet=quiet)


class _Found(NamedTuple):
    """Everything that was computed, and what the page says of it."""

    everything: Any
    content: Any


def _found(wish: _Wish, helps: _Help) -> _Found:
    loaded = load(wish.recipe, wish.priors, wish.house)
    log, tasted = None, None
    from brewsim.cli.simulate import cautions_of

    with (
        faults_in(wish.recipe.name, "wish", loaded.recipe.name),
        helps as executor,
        say.progress("brewing", quiet=wish.silent) as progress,
    ):
        from brewsim.answers.everything import everything
        from brewsim.wording.page_content import page_content

        if wish.batches is not None:
            log, tasted = _log(wish, loaded, wish.batches, progress)
        found = everything(
            loaded.recipe,
            loaded.problem,
            loaded.priors,
            draws=wish.draws,
            seed=wish.seed,
            chance=wish.chance,
            log=log,
            tasted=tasted,
            executor=executor,
            progress=progress,
        )
        drew(found.drawn.attrs["draws"])
        doubt(*cautions_of(found.drawn, loaded.problem))
        return _Found(found, page_content(found, loaded.rows, loaded.priors))


def _log(wish: _Wish, loaded: Any, batches: Path, progress: Any) -> tuple[Any, Any]:  # noqa: ANN401
    """Learn from a log and note what of that is in doubt.

    Raises InputError with every fault of the log.
    """
    from brewsim.answers.learned_log import learned_log
    from brewsim.logbook.brew import read_batches

    log = read_batches(batches, wish.recipe, loaded.priors)
    doubt(*log.remarks)
    found, tasted = learned_log(
        loaded.recipe,
        loaded.problem,
        log,
        loaded.priors,
        seed=wish.seed,
        time_limit_s=wish.time,
        progress=progress,
    )
    settled(found.learned.trusted, NOT_SETTLED)
    return found, tasted


def _written(wish: _Wish, path: Path, helps: _Help, *, quiet: bool) -> str:
    """Write the page and say what its first screen says; returns the page's text."""
    from brewsim.page.page import render, write_page
    from brewsim.wording.six_lines import all_lines, six_lines

    content = _found(wish, helps).content
    text = render(content, light=wish.light)
    write_page(path, text)
    for danger in content.dangers:
        if danger.level == "stop":
            say.lines(f"STOP: {danger.title}. {danger.text}")
    if not quiet:
        say.lines(*six_lines(content))
        if wish.whole:
            say.lines(*all_lines(content), *content.knob_panel.sentences)
    written = f"{path} written; for the kettle: brewsim card"
    whole = f"{written} {wish.recipe}"
    say.lines(whole if len(whole) <= say.COLUMNS else written)
    return text


def _print_json(wish: _Wish, path: Path, helps: _Help) -> None:
    from brewsim.cli.simulate import summary_content
    from brewsim.page.page import write_report

    found = _found(wish, helps)
    write_report(path, found.content, light=wish.light)
    dangers = [{"level": d.level, "title": d.title, "text": d.text} for d in found.content.dangers]
    content = summary_content(found.content.title, found.everything.drawn, found.everything.summary)
    say.as_json({**content, "dangers": dangers, "page": str(path)})
