"""Reference commands: glossary, priors, schema."""

from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.options import AsJson, PriorsFile


def glossary(json: AsJson = False) -> None:
    """List every quantity with unit, label, formula and source.

    Example: brewsim glossary | less
    """
    from brewsim.beer.glossary import entries

    found = entries()
    if json:
        say.as_json([entry.__dict__ for entry in found])
        return
    for entry in found:
        unit = f" [{entry.unit}]" if entry.unit else ""
        say.lines(f"{entry.name}{unit}: {entry.label}")
        if entry.equation:
            say.lines(f"    {entry.equation}")
        say.lines(f"    {entry.source}")


def priors(
    name: Annotated[str, typer.Argument(help="A quantity or an ingredient; all without it.")] = "",
    own: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Show a prior: its spread in words, its kinds, grade and source.

    Example: brewsim priors "Hersbrucker Spät"
    """
    from brewsim.beer.glossary import prior_rows

    rows = prior_rows(name, own)
    if json:
        say.as_json(rows)
        return
    for row in rows:
        say.lines(
            f"{row['of']}{row['quantity']}: {row['spread']}",
            f"    {row['kinds']}{': ' if row['kinds_note'] else ''}{row['kinds_note']}",
            f"    {row['grade']}: {row['source']}",
            *([f"    {row['note']}"] if row["note"] else []),
        )


def schema() -> None:
    """Print the JSON Schema of the recipe format, for editors.

    Example: brewsim schema > recipe.schema.json
    """
    from brewsim.recipe.schema import recipe_schema

    say.as_json(recipe_schema())
