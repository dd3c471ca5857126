"""Reference commands: glossary, schema."""

from brewsim.cli import console as say
from brewsim.cli.options import AsJson


def glossary(json: AsJson = False) -> None:
    """List every quantity with unit, label, formula and source.

    Example: brewsim glossary | less
    """
    from brewsim.beer.glossary import entries

    found = entries()
    if json:
        say.as_json({"quantities": [entry.__dict__ for entry in found]})
        return
    for entry in found:
        unit = f" [{entry.unit}]" if entry.unit else ""
        say.lines(f"{entry.name}{unit}: {entry.label}")
        if entry.equation:
            say.lines(f"    {entry.equation}")
        say.lines(f"    {entry.source}")


def schema() -> None:
    """Print the JSON Schema of the recipe format, for editors.

    Example: brewsim schema > recipe.schema.json
    """
    from brewsim.recipe.schema import recipe_schema

    say.as_json(recipe_schema())
