"""brewsim steer: which knob settings land in the targets."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import NOT_SETTLED, faults_in, load, read_files
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import (
    AsJson,
    HouseFile,
    PriorsFile,
    Quiet,
    RecipeFile,
    Seed,
    readable_or_dash,
)
from brewsim.constants import WANTED_CHANCE


def steer(
    recipe: RecipeFile,
    knob: Annotated[
        list[str] | None, typer.Option(help="Turn only this knob; repeat for several.")
    ] = None,
    chance: Annotated[
        float, typer.Option(help="Wanted chance that all targets are met.", min=0.01, max=0.999)
    ] = WANTED_CHANCE,
    batches: Annotated[
        Path | None,
        typer.Option(
            help="Log of brewed and tasted batches: steer from the beer in the glass.",
            callback=readable_or_dash,
        ),
    ] = None,
    wish: Annotated[
        list[str] | None,
        typer.Option(help='What the next beer should be, such as "thiols: half of G1".'),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(help="Write the moves from a tasted batch as SVG.", dir_okay=False),
    ] = None,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Find knob settings that land in the targets; say what stands in the way if none does.

    With a log of tasted batches, find the fewest knobs and the smallest change that bring the next
    brew where it is wished to be, in folds of the beer that was tasted.

    Example: brewsim steer demo-recipes/quillhaven-lager.toml --chance 0.6
    """
    if batches is not None or wish:
        _steer_from_a_tasted_batch(
            recipe, batches, wish or [], knob, seed, house, priors, picture, json=json, quiet=quiet
        )
        return
    from dataclasses import asdict

    import brewsim
    from brewsim.answers.fewest_moves import CHECK_DRAWS, fewest_moves
    from brewsim.answers.forecast import drawn_for, summary_of, today_of
    from brewsim.answers.kept import kept
    from brewsim.answers.ratio_sides import floors_of
    from brewsim.beer.display_units import rows_of
    from brewsim.wording.fewest_moves import (
        asking_sentences,
        fewest_sentences,
        left_out_sentences,
        untried_sentences,
    )
    from brewsim.wording.knobs import steered_sentences

    loaded = load(recipe, priors, house)
    with faults_in(recipe.name, loaded.recipe.name):
        may = kept(loaded.recipe, loaded.problem, knob or (), seed=seed)
    problem = may.problem
    with say.progress("steering", quiet=quiet or json) as progress:
        found = brewsim.steer(
            problem,
            knobs=knob or None,
            chance=chance,
            floors=floors_of(problem, seed),
            seed=seed,
            progress=progress,
        )
        today = today_of(loaded.problem, summary_of(drawn_for(loaded.problem, seed=seed)))
        moves = fewest_moves(
            loaded.recipe, loaded.problem, problem, today, found, knobs=knob or None, seed=seed
        )
    drew(CHECK_DRAWS)
    doubt(*untried_sentences(moves), *found.doubts)
    if json:
        say.as_json(asdict(found) | {"fewest": _moves(moves)})
        return
    if loaded.recipe.wish:
        say.lines("The recipe's wish is about a tasted batch: add --batches LOG to steer by it.")
    say.lines(*fewest_sentences(moves), *left_out_sentences(loaded.problem, may.left_out))
    say.lines(*asking_sentences(may.left_out))
    say.lines(*steered_sentences(problem, found, rows_of(problem), today.chance, moves.faint))
    if not found.reaches:
        say.lines(*_worth_knowing(problem, loaded.priors, seed))


def _draw(answer: Any, path: Path) -> None:  # noqa: ANN401 - a NextBeer
    from brewsim.errors import InputError
    from brewsim.files.text_files import write_whole
    from brewsim.page.charts.fold_rows import draw_folds
    from brewsim.wording.move_rows import fold_picture

    rows = fold_picture(answer)
    if rows is None:
        raise InputError("--picture", ["the first wish is not in folds of a tasted batch"])
    write_whole(path, draw_folds(rows).encode())


def _moves(moves: Any) -> dict[str, Any]:  # noqa: ANN401 - FewestMoves
    from dataclasses import asdict

    found = {part: getattr(moves, part) for part in ("today", "chosen", "nearest", "unlisted")}
    return {part: None if one is None else asdict(one) for part, one in found.items()}


def _steer_from_a_tasted_batch(
    recipe: Path,
    batches: Path | None,
    wish: list[str],
    knob: list[str] | None,
    seed: int,
    house: Path | None,
    priors: Path | None,
    picture: Path | None,
    *,
    json: bool,
    quiet: bool,
) -> None:
    from dataclasses import asdict

    from brewsim.answers.next_beer import next_beer
    from brewsim.errors import InputError
    from brewsim.files.text_files import refuse_to_replace
    from brewsim.logbook.brew import read_batches
    from brewsim.recipe.wishes import read_wish_line
    from brewsim.wording.lessons import lesson_sentences
    from brewsim.wording.move_rows import move_table
    from brewsim.wording.next_beer import (
        left_out_sentences,
        next_beer_sentences,
        origin_sentences,
    )

    if batches is None:
        raise InputError("--wish", ["a wish is about tasted batches; add --batches LOG"])
    if house is not None:
        told = "the batches of a log are learned from here; leave --house or --batches out"
        raise InputError("--house", [told])
    if picture is not None:
        refuse_to_replace(picture, "--picture", read_files(recipe, priors, None, batches))
    loaded = load(recipe, priors)
    try:
        wishes = [read_wish_line(text) for text in wish]
    except ValueError as error:
        raise InputError("--wish", [str(error)]) from None
    log = read_batches(batches, recipe, loaded.priors)
    asked = "--wish" if wishes else recipe.name
    with (
        faults_in(asked, "wish"),
        faults_in(recipe.name, loaded.recipe.name),
        say.progress("learning from what was tasted", quiet=quiet or json) as progress,
    ):
        answer = next_beer(
            loaded.recipe,
            loaded.problem,
            log,
            loaded.priors,
            wishes=wishes,
            knobs=knob or None,
            seed=seed,
            progress=progress,
        )
    remarks = list(dict.fromkeys((*log.remarks, *answer.learned.remarks)))
    drew(answer.learned.replicate.size)
    doubt(*remarks, *left_out_sentences(answer))
    settled(answer.learned.trusted, NOT_SETTLED)
    if picture is not None:
        _draw(answer, picture)
    if json:
        came = None if answer.origin is None else asdict(answer.origin)
        lessons = [asdict(lesson) | {"pays": lesson.pays} for lesson in answer.lessons]
        moves = asdict(answer.steering)
        say.as_json({"aims": answer.aims.said, "origin": came, "lessons": lessons, **moves})
        return
    say.lines(*next_beer_sentences(answer))
    table = move_table(answer)
    say.table(table.caption, table.header, table.rows)
    say.lines(*origin_sentences(answer.origin), *lesson_sentences(answer), *remarks)


def _worth_knowing(problem: Any, priors: Any, seed: int) -> list[str]:  # noqa: ANN401
    """Return what it would be worth to know before the brew, as the page says it."""
    from brewsim.answers.specification import worths_of
    from brewsim.study.model.sampling import without_events
    from brewsim.wording.specification.worth import decision_sentences

    return decision_sentences(worths_of(without_events(problem), priors, seed))
