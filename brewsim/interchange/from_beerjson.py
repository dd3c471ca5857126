"""A BeerJSON 1.0 document becomes a commented recipe: what was taken, left out, assumed.

Names of makers and products are text for the person; no prior is chosen by them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from brewsim.errors import InputError
from brewsim.interchange.document import read_document
from brewsim.interchange.fermentables import malt_tables
from brewsim.interchange.hop_additions import hop_tables, misc_tables
from brewsim.interchange.ledger import Ledger, Place, number_text, plain
from brewsim.interchange.mash_rests import mash_of
from brewsim.interchange.process import (
    boil_of,
    efficiency_of,
    equipment_tables,
    package_table,
    yeast_table,
)
from brewsim.interchange.toml_text import Table, toml_text
from brewsim.interchange.units import GRAVITY, PERCENT, VOLUME
from brewsim.priors.library import Priors, load_priors
from brewsim.recipe.read import parse_recipe

NOT_STATED = "not stated"
"""What an export writes where the standard wants an author."""
_LONGEST_NOTES = 2000
_NOT_BEER = ("cider", "kombucha", "soda", "mead", "wine")
_LIBRARY = (
    "fermentables",
    "miscellaneous_ingredients",
    "hop_varieties",
    "profiles",
    "styles",
    "mashes",
    "fermentations",
    "boil",
    "packaging",
)


@dataclass(frozen=True)
class Imported:
    """A recipe from a document: its name, its TOML text, and what the person should know."""

    name: str
    text: str
    left: tuple[str, ...]
    assumed: tuple[str, ...]


def import_beerjson(path: str | Path, which: str = "", priors: Priors | None = None) -> Imported:
    """Return the recipe of a BeerJSON document as the text of a brewsim recipe.

    `which` names one of several recipes, or gives its number. Raises InputError with every fault
    of the document, each at its path, and for a document that holds no recipe or several.
    """
    where = str(path)
    ledger = Ledger()
    top = Place(read_document(path), "", ledger)
    held = top.place("beerjson")
    if held is None:
        raise InputError(where, ["is no BeerJSON document: it has no object “beerjson”"])
    held.path = "beerjson"
    _check_version(held)
    recipe = _chosen(held, which, where)
    tables = _tables(recipe, held, priors or load_priors())
    if ledger.faults:
        raise InputError(where, ledger.faults)
    head = _head(Path(path).name, ledger)
    text, paths = toml_text(head, tables)
    _check(text, where, paths)
    return Imported(recipe.text("name"), text, tuple(ledger.left), tuple(ledger.assumed))


def _check_version(held: Place) -> None:
    if "version" not in held:
        held.fault("version", "is missing")
        return
    try:
        version = float(str(held.raw("version"))[:20])  # some write it as a text
    except ValueError:
        held.fault("version", "is no number")
        return
    if not 1 <= version < 2:
        held.ledger.assumed.append(
            f"the document is of version {number_text(version)}; it was read as version 1"
        )


def _chosen(held: Place, which: str, where: str) -> Place:
    recipes = list(held.places("recipes"))
    if held.ledger.faults:
        raise InputError(where, held.ledger.faults)
    if not recipes:
        others = [key for key in held.content if key in _LIBRARY]
        told = f"; it has {', '.join(others)}" if others else ""
        raise InputError(where, [f"holds no recipe{told}"])
    names = [recipe.text("name") for recipe in recipes]
    if not which and len(recipes) == 1:
        return recipes[0]
    for number, (name, recipe) in enumerate(zip(names, recipes, strict=True), start=1):
        if which in (str(number), name) and which:
            return recipe
    told = ", ".join(f"{number} “{name}”" for number, name in enumerate(names, start=1))
    why = f"holds no recipe “{plain(which)}”" if which else "holds several recipes"
    raise InputError(where, [f"{why}; choose with --recipe: {told}"])


def _tables(recipe: Place, held: Place, priors: Priors) -> list[Table]:
    kind = recipe.text("type", needed=True)
    if kind in _NOT_BEER:
        recipe.fault("type", f"is “{kind}”; brewsim reads recipes of beer")
    top = Table()
    top.add("name", recipe.text("name", needed=True), path=f"{recipe.path}.name")
    volume = recipe.amount("batch_size", VOLUME)
    if not volume and "batch_size" not in recipe:
        recipe.fault("batch_size", "is missing; brewsim needs the volume into the fermenter")
    top.add("volume", volume, "into the fermenter", f"{recipe.path}.batch_size")
    additions = recipe.place("ingredients")
    if additions is None:
        recipe.fault("ingredients", "is missing")
        return []
    boil = boil_of(recipe, additions, top)
    efficiency_of(recipe, top)
    mash_of(recipe, top)
    notes = recipe.raw("notes")
    if isinstance(notes, str):
        top.add("notes", plain(notes, _LONGEST_NOTES))
    malts = malt_tables(additions, priors)
    if not malts:
        additions.fault("fermentable_additions", "holds no malt, sugar or extract by weight")
    steps = _steps(recipe)
    tables = [top, *malts, *hop_tables(additions, boil, steps, priors)]
    tables += [*misc_tables(additions, priors), yeast_table(recipe, additions, held, priors)]
    tables += [*equipment_tables(held, top), package_table(recipe)]
    _leave(recipe, additions, held)
    return [table for table in tables if table.lines]


def _steps(recipe: Place) -> Mapping[str, list[Place]]:
    """Return the steps of the boil and of the fermentation, which additions refer to."""
    found = {}
    for use, process, name in (
        ("add_to_boil", "boil", "boil_steps"),
        ("add_to_fermentation", "fermentation", "fermentation_steps"),
    ):
        held = recipe.place(process)
        found[use] = [] if held is None else list(held.places(name))
    return found


def _leave(recipe: Place, additions: Place, held: Place) -> None:
    left = recipe.ledger.left
    for water in additions.places("water_additions"):
        left.append(f"water “{water.text('name')}”: brewsim does not follow the water's salts")
    for key, units in (
        ("original_gravity", GRAVITY),
        ("final_gravity", GRAVITY),
        ("alcohol_by_volume", PERCENT),
    ):
        if estimate := recipe.amount(key, units):
            words = key.replace("_", " ")
            left.append(f"{words} {estimate}: the document's own estimate; brewsim computes it")
    for key in ("style", "ibu_estimate", "color_estimate", "beer_pH", "taste"):
        if key in recipe:
            recipe.raw(key)
            left.append(f"{key.replace('_', ' ')}: not a statement about the brew")
    for key in ("author", "coauthor", "created"):
        if (text := recipe.text(key)) and text != NOT_STATED:
            left.append(f"{key}: {text}")
    recipe.raw("calories_per_pint")
    left += [f"{plain(key)}: not read" for key in recipe.unread()]
    library = [key for key in _LIBRARY if key in held]
    if library:
        left.append(f"{', '.join(library)}: lists beside the recipe")


def _head(file: str, ledger: Ledger) -> list[str]:
    named = "of standard input" if file == "-" else plain(file)
    head = [
        f"Recipe from the BeerJSON document {named}, by brewsim new --from.",
        "Every line below was taken from it unless its remark says that it was assumed.",
    ]
    for title, items in (("Left out:", ledger.left), ("Assumed:", ledger.assumed)):
        if items:
            head += ["", title, *[f"- {item}" for item in dict.fromkeys(items)]]
    return [*head, "", "A number without a spread gets the usual one; state yours: 5.6 ± 0.3 %."]


def _check(text: str, where: str, paths: Mapping[int, str]) -> None:
    """Refuse what a recipe may not say, at the path in the document it came from."""
    try:
        parse_recipe(text, where)
    except InputError as error:
        raise InputError(where, [_at_path(fault, paths) for fault in error.faults]) from None


def _at_path(fault: str, paths: Mapping[int, str]) -> str:
    head, colon, rest = fault.partition(": ")
    line: Any = head.removeprefix("line ").split(",")[0]
    path = paths.get(int(line), "") if line.isdigit() else ""
    return f"{path}: {rest}" if path and colon else fault
