"""What only shows against priors and formulas: unknown ingredients, quantities nobody computes."""

from collections.abc import Iterator, Mapping

from brewsim.errors import did_you_mean
from brewsim.graph.build import Graph
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import BY_QUANTITY, quantity_of
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Block, Recipe

EXTRACTS = {
    "original_gravity_sg": "original_extract_plato",
    "final_gravity_sg": "final_extract_plato",
    "preboil_gravity_sg": "preboil_extract_plato",
    "original_gravity": "original_extract_plato",
    "final_gravity": "final_extract_plato",
}
"""A stated gravity lands on the extract that the model computes with."""

IN_GLOSSARY = " `brewsim glossary` lists all there are."
_LISTS = {"malt": "malt", "sugar": "sugar", "hop": "hop_lot", "precursor": "precursor"}
"""Kind of row in the file -> list whose quantities it can state."""


def given_blocks(recipe: Recipe) -> tuple[Block, ...]:
    """Return the blocks that may have a table of stated quantities."""
    return (recipe.brewhouse, recipe.water, recipe.yeast, recipe.package, recipe.model, recipe)


def all_given(recipe: Recipe) -> dict[str, Stated]:
    """Return what [given], [yeast.given], [package.given] ... state, by quantity."""
    return {
        EXTRACTS.get(name, name): stated
        for block in given_blocks(recipe)
        for name, stated in block.given.items()
    }


def asked_of(recipe: Recipe) -> set[str]:
    """Return the quantities that a recipe is asked for: the usual outcomes and its targets."""
    usual = {quantity for quantity, row in BY_QUANTITY.items() if row.default}
    return usual | {quantity_of(name) for name in recipe.targets}


def unknown_ingredients(recipe: Recipe, priors: Priors) -> Iterator[str]:
    """Yield a fault for every ingredient that no prior knows and whose numbers are not stated."""
    for number, malt in enumerate(recipe.malt, start=1):
        if priors.find("malt", malt.name) is None and (malt.extract is None or malt.color is None):
            near = _or(priors.hint("malt", malt.name), "extract and color")
            yield f"line {malt.line}, malt {number} name: no malt is called “{malt.name}”.{near}"
    for number, sugar in enumerate(recipe.sugar, start=1):
        if priors.find("sugar", sugar.name) is None and sugar.extract is None:
            near = _or(priors.hint("sugar", sugar.name), "extract, moisture and fermentability")
            yield f"line {sugar.line}, sugar {number} name: no sugar is “{sugar.name}”.{near}"
    for number, hop in enumerate(recipe.hop, start=1):
        known = priors.find("hop_lot", hop.variety) is not None
        if not known and not any(h.alpha for h in recipe.hop if h.variety == hop.variety):
            near = _or(priors.hint("hop_lot", hop.variety), "alpha")
            yield f"line {hop.line}, hop {number} variety: no hop is “{hop.variety}”.{near}"
    for number, item in enumerate(recipe.precursor, start=1):
        if priors.find("precursor", item.name) is None and item.content is None:
            near = _or(priors.hint("precursor", item.name), "content and basis")
            yield f"line {item.line}, precursor {number} name: nothing is “{item.name}”.{near}"
    yeast = recipe.yeast
    if yeast.name and priors.find("yeast", yeast.name) is None and yeast.attenuation is None:
        near = _or(priors.hint("yeast", yeast.name), "attenuation")
        yield f"line {yeast.line}, yeast name: no yeast is called “{yeast.name}”.{near}"


def _or(hint: str, fields: str) -> str:
    return f"{hint} Or state its {fields} yourself." if hint else f" State its {fields} yourself."


def unknown_quantities(recipe: Recipe, plain: Graph) -> Iterator[str]:
    """Yield a fault for every stated quantity that the beer does not have, or not there."""
    for quantity, stated in all_given(recipe).items():
        where = f"line {stated.line}, given {quantity}"
        if quantity not in plain:
            near = did_you_mean(quantity, [*plain.nodes, *plain.inputs])
            yield f"{where}: there is no such quantity.{near or IN_GLOSSARY}"
        elif plain.axes(quantity):
            yield f"{where}: it is one of a list; state it in its row (given = {{ ... }})"
        elif _is_idle(quantity, recipe, plain):
            needs = " or ".join(plain.nodes[quantity].needs)
            yield f"{where}: nothing else is computed from it; state what it comes from: {needs}"
    for quantity, stated in recipe.priors.items():
        if quantity not in plain.inputs:
            near = did_you_mean(quantity, plain.inputs)
            why = "is computed; state it in [given]" if quantity in plain.nodes else "is no input"
            yield f"line {stated.line}, priors {quantity}: it {why}.{near}"
    for kind, axis in _LISTS.items():
        known = _row_names(plain, axis)
        for number, row in enumerate(getattr(recipe, kind), start=1):
            yield from _unknown_in_row(f"{kind} {number}", row.given, known)


def _is_idle(quantity: str, recipe: Recipe, plain: Graph) -> bool:
    """Whether a computed quantity is a figure beside the beer: stating it would change nothing."""
    shown = quantity in asked_of(recipe)
    return quantity in plain.nodes and not shown and not plain.downstream([quantity])


def _row_names(plain: Graph, axis: str) -> list[str]:
    inputs = [name for name, given in plain.inputs.items() if given.axes == (axis,)]
    return [name.removeprefix(f"{axis}_") for name in inputs if not name.endswith("_mass_kg")]


def _unknown_in_row(where: str, given: Mapping[str, Stated], known: list[str]) -> Iterator[str]:
    for name, stated in given.items():
        if name not in known:
            near = did_you_mean(name, known) or f" There is: {', '.join(known)}."
            yield f"line {stated.line}, {where} given {name}: no such quantity of it.{near}"
