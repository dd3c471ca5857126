"""Sugars and extracts written among the malts: read as what they are, and said."""

from typing import Any

from brewsim.quantities.statement import line_of
from brewsim.recipe.ingredient_lines import MAX_LINE, malt_line

SUGARS = frozenset(
    {
        "table sugar",
        "white sugar",
        "cane sugar",
        "beet sugar",
        "sucrose",
        "dextrose",
        "dextrose monohydrate",
        "corn sugar",
        "invert sugar",
        "lactose",
        "milk sugar",
        "maltodextrin",
        "liquid malt extract",
        "lme",
        "malt extract syrup",
        "dry malt extract",
        "dme",
        "hopped malt extract",
        "hopped extract",
        "beer kit",
        "honey",
    }
)
"""Names, in small letters, that no malt has."""


def moved_sugars(tables: dict[str, Any]) -> list[str]:
    """Move malt lines that name a sugar to the sugars, in place; return a remark for each.

    Example:
        >>> tables = {"malt": [{"name": "Table sugar", "mass": "1 kg"}]}
        >>> len(moved_sugars(tables)), tables["sugar"][0]["name"]
        (1, 'Table sugar')
    """
    rows = tables.get("malt")
    if not isinstance(rows, list):
        return []
    moved = [row for row in rows if _name(row).lower() in SUGARS]
    sugars = tables.get("sugar", [])
    if not moved or not isinstance(sugars, list):
        return []
    tables["malt"] = [row for row in rows if not any(row is one for one in moved)]
    tables["sugar"] = [*sugars, *(_as_table(row) for row in moved)]
    return [
        f"malt {next(i for i, row in enumerate(rows, 1) if row is one)}: “{_name(one)}” is no malt;"
        " it is read as a sugar of the kettle, as under [[sugar]]"
        for one in moved
    ]


def _as_table(row: Any) -> dict[str, Any]:  # noqa: ANN401 - a row as TOML has it
    if isinstance(row, dict):
        return row
    return malt_line(row) | {"__line__": line_of(row)}


def _name(row: object) -> str:
    fields = row if isinstance(row, dict) else {}
    if isinstance(row, str) and len(line := " ".join(row.split())) <= MAX_LINE:
        fields = malt_line(line)
    return " ".join(str(fields.get("name", "")).split())
