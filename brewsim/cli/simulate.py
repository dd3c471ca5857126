"""brewsim simulate: outcome intervals."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import draws_of, load, read_files
from brewsim.cli.made_by import doubt, drew
from brewsim.cli.options import AsJson, Draws, HouseFile, PriorsFile, Quiet, RecipeFile, Seed
from brewsim.files.text_files import refuse_to_replace

_SIDE = ("rating_excess_vol", "strongest_thiol_lead")
"""What is kept beside the outcomes: a bottle's pressure, and the second reading of the lead."""
_ROUGH = 0.15
"""Sampling error of an interval's end, in standard deviations, from which on it is said."""


def simulate(
    recipe: RecipeFile,
    draws: Draws = "16384",
    seed: Seed = 1,
    save: Annotated[
        Path | None, typer.Option(help="Write the draws to this file (netCDF).")
    ] = None,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Say what to expect of the next batch, outcome by outcome.

    Example: brewsim simulate demo-recipes/quillhaven-bitter.toml --draws auto
    """
    import brewsim
    from brewsim.beer.display_units import rows_of
    from brewsim.quantities.chances import in_fifty
    from brewsim.quantities.format import heading, value
    from brewsim.wording.lead import lead_reading

    wanted = draws_of(draws)
    if save is not None:
        refuse_to_replace(save, "--save", read_files(recipe, priors, house))
    loaded = load(recipe, priors, house)
    with say.progress("simulating", quiet=quiet or json) as progress:
        keep = [name for name in _SIDE if name in loaded.problem.graph]
        drawn = brewsim.simulate(
            loaded.problem, draws=wanted, seed=seed, keep=keep, progress=progress
        )
    summary = brewsim.summarise(drawn)
    dangers = _dangers(loaded, drawn)
    cautions = cautions_of(drawn, loaded.problem)
    drew(drawn.attrs["draws"])
    doubt(*cautions)
    if save is not None:
        write_netcdf(drawn, save)
    if json:
        content = summary_content(loaded.recipe.name, drawn, summary)
        say.as_json({**content, "dangers": dangers})
        return
    say.lines(*dangers)
    rows = []
    looks = rows_of(loaded.problem, summary["outcome"].to_numpy().tolist())
    for name, look in looks.items():
        row = summary.sel(outcome=name)
        rows.append(
            (
                heading(look),
                value(look, float(row["low"])),
                value(look, float(row["median"])),
                value(look, float(row["high"])),
                in_fifty(float(row["in_target"])),
            )
        )
    header = ("the next batch, nine chances in ten", "from", "median", "to", "in target")
    say.table(loaded.recipe.name, header, rows)
    joint = summary.attrs.get("joint_in_target")
    if joint is not None and loaded.problem.targets:
        say.lines(f"All targets together: {in_fifty(float(joint))}.")
    say.lines(*lead_reading(drawn))
    say.lines(f"{drawn.attrs['draws']} draws, seed {seed}.", *cautions)
    if save is not None:
        say.lines(f"{save} written.")


def _dangers(loaded: Any, drawn: Any) -> list[str]:  # noqa: ANN401 - a Loaded and a Dataset
    """Return the gravest cautions alone; the page has them all."""
    from brewsim.answers.over_rating import over_rating
    from brewsim.wording.cautions import dangers
    from brewsim.wording.facts import facts_of

    over = over_rating(loaded.recipe, loaded.problem, drawn)
    facts = facts_of(loaded.recipe, loaded.problem, loaded.priors, over)
    return [f"DANGER. {d.title}: {d.text}" for d in dangers(facts) if d.level == "stop"]


def cautions_of(drawn: Any, problem: Any) -> list[str]:  # noqa: ANN401 - a Dataset and a Problem
    """Say which formulas left their range and how rough the ends are, if they are."""
    from brewsim.beer.display_units import label_in
    from brewsim.quantities.format import number
    from brewsim.study.propagation.stopping_rule import END, not_settled
    from brewsim.wording.notes import outside_of

    told = list(outside_of(drawn, label_in(problem)))
    rough = [f for f in not_settled(drawn) if f["figure"] in ("low", "high")]
    worst = max((END * f["half_width"] / f["wanted"] for f in rough), default=0.0)
    if worst > _ROUGH:
        told.append(
            f"Few draws: an end may be off by {number(worst, 1)} standard deviations; use"
            " --draws auto."
        )
    return told


def summary_content(name: str, drawn: object, summary: object) -> dict[str, object]:
    """Return the summary as plain content for JSON."""
    import json as reader

    attrs = drawn.attrs  # type: ignore[attr-defined]
    table = summary.to_dataframe().reset_index()  # type: ignore[attr-defined]
    return {
        "recipe": name,
        "draws": attrs["draws"],
        "seed": attrs["seed"],
        "outcomes": table.to_dict(orient="records"),
        "joint_in_target": summary.attrs.get("joint_in_target"),  # type: ignore[attr-defined]
        "outside": reader.loads(attrs.get("outside", "[]")),
        "not_finite": reader.loads(attrs.get("not_finite", "[]")),
    }


def write_netcdf(drawn: object, path: Path) -> None:
    """Write draws so that the file is whole or not there."""
    from brewsim.files.text_files import replacing

    with replacing(path) as temporary:
        drawn.to_netcdf(temporary, engine="scipy")  # type: ignore[attr-defined]
