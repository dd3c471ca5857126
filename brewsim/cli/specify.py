"""brewsim specify: limits a process can keep, and what to tighten."""

from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import load
from brewsim.cli.made_by import doubt, drew
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed, readable_or_dash
from brewsim.constants import WANTED_CHANCE

Log = Annotated[
    Path | None,
    typer.Option(
        help="Measured batches: CSV with a column per outcome, or a batch log in TOML.",
        callback=readable_or_dash,
    ),
]
Wants = Annotated[
    list[str] | None,
    typer.Option("--want", help='Limits wanted, such as "alcohol ± 0.2 %"; repeat for several.'),
]
Measureds = Annotated[
    list[str] | None,
    typer.Option(help='A measured value, such as "alcohol 4.4 % by bench alcohol meter".'),
]


def specify(
    recipe: RecipeFile,
    content: Annotated[
        float, typer.Option(help="Share of batches the limits shall hold.", min=0.5, max=0.999)
    ] = 0.95,
    want: Wants = None,
    measured: Measureds = None,
    log: Log = None,
    place: Annotated[
        str,
        typer.Option(help="Rules of one place: EU, UK, US, AU/NZ, Canada, Germany; all of them."),
    ] = "",
    label: Annotated[
        float | None, typer.Option(help="Strength on the label, % by volume.", min=0.0, max=60.0)
    ] = None,
    chance: Annotated[
        float, typer.Option(help="Chance wanted for a target, to tighten for.", min=0.5, max=0.999)
    ] = WANTED_CHANCE,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Say which limits are honest, how often targets are met, and what to tighten or measure.

    Example: brewsim specify demo-recipes/quillhaven-bitter.toml --want "alcohol ± 0.2 %"
    """
    from dataclasses import asdict
    from textwrap import fill

    import brewsim
    from brewsim.answers.spec_question import Asked, posed_for
    from brewsim.answers.specification import spec_studies
    from brewsim.beer.display_units import rows_of
    from brewsim.beer.requirements import read_measured, read_want
    from brewsim.logbook.columns import read_columns
    from brewsim.priors.label_rules import rules_of
    from brewsim.wording.specification.label_rules import RULES
    from brewsim.wording.specification.specification import spec_panel, spec_sentences

    loaded = load(recipe, priors, house)
    rules_of(place)
    logged = (
        read_columns(log, recipe, loaded.priors, loaded.problem.units) if log is not None else None
    )
    asked = Asked(
        wants=tuple(read_want(text, loaded.problem) for text in want or ()),
        measured=tuple(read_measured(t, loaded.problem, loaded.priors) for t in measured or ()),
        place=place,
        label=None if label is None else label / 100,
        log=logged.values if logged is not None else {},
        batches=logged.batches if logged is not None else 0,
        chance=chance,
    )
    problem = posed_for(loaded.problem, asked)
    limits = brewsim.specify(problem, content=content, seed=seed)
    studies = spec_studies(problem, loaded.priors, asked, seed=seed)
    drew(limits.attrs["draws"])
    if logged is not None:
        doubt(*logged.remarks)
    if json:
        say.as_json({"limits": limits.to_dict(), "specs": asdict(studies)})
        return
    looks = rows_of(problem)
    say.lines(f"{loaded.recipe.name}: specs")
    if logged is not None:
        say.lines(*logged.remarks)
    for heading, sentences in spec_sentences(limits, looks, studies):
        say.lines("", heading, *(fill(f"- {s}", 80, subsequent_indent="  ") for s in sentences))
    panel = spec_panel(problem, limits, looks, studies=studies)
    for table in (*panel.tables, *panel.more):
        if table.caption == RULES and not place:
            continue
        say.lines("")
        say.table(table.caption, table.header, table.rows)
    if not place:
        say.lines("", "What the rules say, and where that was read: add --place EU, or another.")
