"""Arguments and options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

RecipeFile = Annotated[
    Path,
    typer.Argument(help="Recipe in TOML.", exists=True, dir_okay=False, readable=True),
]
Seed = Annotated[int, typer.Option(help="Seed of the draws; the same seed gives the same numbers.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for machines, nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print no progress and no remarks.")]
HouseFile = Annotated[
    Path | None,
    typer.Option("--house", help="What this brewery has learned (written by `brewsim learn`)."),
]
PriorsFile = Annotated[
    Path | None,
    typer.Option(
        "--priors",
        help="Your own priors in TOML, in place of the shipped ones of the same name.",
        exists=True,
        dir_okay=False,
    ),
]
LookDraws = Annotated[
    int, typer.Option("--draws", min=64, max=2**17, help="Simulated batches behind each setting.")
]
Draws = Annotated[
    str,
    typer.Option(help="Simulated batches, or `auto`: go on until the printed digits are settled."),
]
