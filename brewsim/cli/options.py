"""Arguments and options that several commands share."""

import os
from pathlib import Path
from typing import Annotated

import typer


def readable_or_dash(path: Path | None) -> Path | None:
    """Return the path of a file that can be read, or - for standard input; refuses others."""
    name = str(path)
    if path is None or name == "-":
        return path
    if not path.exists():
        raise typer.BadParameter(f"file {name!r} does not exist.")
    if path.is_dir():
        raise typer.BadParameter(f"file {name!r} is a directory.")
    if not os.access(path, os.R_OK):
        raise typer.BadParameter(f"file {name!r} is not readable.")
    return path


RecipeFile = Annotated[
    Path,
    typer.Argument(
        help="Recipe in TOML; - reads it from standard input.", callback=readable_or_dash
    ),
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
        callback=readable_or_dash,
    ),
]
Outliers = Annotated[
    bool, typer.Option("--outliers", help="Allow for single wrong readings: they then move little.")
]
Time = Annotated[
    float | None,
    typer.Option(
        "--time",
        help="Seconds that learning from batches may take, counted as work of a usual machine.",
        min=1.0,
    ),
]
LookDraws = Annotated[
    int, typer.Option("--draws", min=64, max=2**17, help="Simulated batches behind each setting.")
]
Draws = Annotated[
    str,
    typer.Option(help="Simulated batches, or `auto`: go on until the printed digits are settled."),
]
