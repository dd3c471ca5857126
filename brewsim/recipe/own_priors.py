"""A brewery's own file of priors: its shape, and names that nothing would read."""

from collections.abc import Iterator, Mapping
from typing import Any

from brewsim.errors import did_you_mean
from brewsim.recipe.beer import all_inputs

KINDS = {"malt": "malt", "sugar": "sugar", "hop": "hop_lot", "precursor": "precursor"}
GROUPED = ("yeast", "release", "character", "kilning")
_Shipped = Mapping[str, Mapping[str, Any]]


def faults_in_shape(own: Mapping[str, Any]) -> Iterator[str]:
    """Yield a fault for everything that stands where a table should, or is no list of names."""
    for name, content in own.items():
        if not isinstance(content, dict):
            yield f"{name}: is not a table; write [{name}] and its lines below it"
        elif name in KINDS or name in GROUPED:
            for item, inside in content.items():
                yield from _faults_in_item(f"{name}.{item}", inside)
        elif name == "sources":
            for item, inside in content.items():
                if not isinstance(inside, dict) or not isinstance(inside.get("text"), str):
                    yield f'sources.{item}: write [sources.{item}] and text = "..." below it'


def _faults_in_item(where: str, inside: object) -> Iterator[str]:
    if not isinstance(inside, dict):
        yield f"{where}: is not a table; write [{where}] and its lines below it"
        return
    aliases = inside.get("aliases", [])
    if not isinstance(aliases, list) or not all(isinstance(word, str) for word in aliases):
        yield f'{where}, aliases: write a list of names: aliases = ["..."]'


def unread_names(own: Mapping[str, Any], scalars: _Shipped, known: _Shipped) -> Iterator[str]:
    """Yield a fault for every prior that no formula reads: a misspelled name does nothing.

    `scalars` are the shipped priors by exact name; `known` holds, by kind of ingredient, the
    tables that shipped ingredients have.
    """
    inputs = all_inputs()
    whole = {*scalars, *inputs}
    for name, content in own.items():
        kind = KINDS.get(name, name)
        if name in KINDS or name in GROUPED:
            short = {
                i.removeprefix(f"{kind}_") for i, given in inputs.items() if kind in given.axes
            }
            allowed = {*known.get(kind, {}), *(short if name in KINDS else whole)}
            for item, inside in content.items():
                for quantity, table in inside.items():
                    if isinstance(table, dict) and quantity not in allowed:
                        yield f"{item}, {quantity}: {_unread(quantity, allowed)}"
        elif name != "sources" and name not in whole:
            yield f"{name}: {_unread(name, whole)}"


def _unread(name: str, known: set[str]) -> str:
    return f"no formula reads a prior of this name.{did_you_mean(name, known)}"
