"""A brewery's own file of priors: its shape, and names that nothing would read."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from brewsim.beer_graph import all_inputs
from brewsim.errors import did_you_mean
from brewsim.priors.prior_table import NO_SOURCE

KINDS = {"malt": "malt", "sugar": "sugar", "hop": "hop_lot", "precursor": "precursor"}
GROUPED = ("yeast", "release", "character", "kilning", "tasting")
_Shipped = Mapping[str, Mapping[str, Any]]


def faults_in_shape(own: Mapping[str, Any]) -> Iterator[str]:
    """Yield a fault for everything that stands where a table, a list of names or a key should."""
    faults = list(_faults_in_tables(own))
    yield from faults or _faults_in_sources(own)


def _faults_in_tables(own: Mapping[str, Any]) -> Iterator[str]:
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


def _priors_in(own: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Yield where each prior of the file stands, and its table; an ingredient's tags are none."""
    for name, content in own.items():
        if name in KINDS or name in GROUPED:
            for item, inside in content.items():
                for quantity, table in inside.items():
                    if isinstance(table, dict):
                        yield f"{item}, {quantity}", table
        elif name != "sources":
            yield name, content


def _faults_in_sources(own: Mapping[str, Any]) -> Iterator[str]:
    """Yield a fault for every source that is written out where the key of one should stand."""
    known = (*NO_SOURCE, *own.get("sources", {}))
    words = " or ".join(f'"{word}"' for word in NO_SOURCE)
    for where, table in _priors_in(own):
        source = table.get("source")
        if isinstance(source, str) and " " in source and source not in known:
            yield (
                f'{where}: source "{source}" is no key of a source; write source = "mine", and '
                f'[sources.mine] with text = "{source}" below it, or else {words}'
            )


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
    whole = {*scalars, *all_inputs()}
    read = {name: {*whole, *known.get(name, {})} for name in GROUPED}
    read |= {name: {*known.get(kind, {}), *_short(kind)} for name, kind in KINDS.items()}
    for name, content in own.items():
        if name in read:
            for item, inside in content.items():
                for quantity, table in inside.items():
                    if isinstance(table, dict) and quantity not in read[name]:
                        yield f"{item}, {quantity}: {_unread(quantity, read[name])}"
        elif name != "sources" and name not in whole:
            homes: dict[str, Collection[str]] = {kind: known.get(kind, {}) for kind in GROUPED}
            homes |= {kind: read[kind] for kind in KINDS}
            yield f"{name}: {_unread(name, whole)}{_in_its_kind(name, content, homes)}"


def _short(kind: str) -> set[str]:
    """Return what can be said of each ingredient of a kind, without the list's prefix."""
    return {i.removeprefix(f"{kind}_") for i, given in all_inputs().items() if kind in given.axes}


def _in_its_kind(
    name: str, content: Mapping[str, Any], homes: Mapping[str, Collection[str]]
) -> str:
    """Return how a table of an ingredient is headed, where it stands outside its kind's."""
    if name == "instrument":
        return " An own instrument stands in the log or the recipe, under the same heading."
    inside = [quantity for quantity, table in content.items() if isinstance(table, dict)]
    heads = [
        f'[{kind}."{name}".{quantity}]'
        for quantity in inside[:1]
        for kind, names in homes.items()
        if quantity in names
    ]
    return f" Of an ingredient, write {' or '.join(heads)}." if heads else ""


def _unread(name: str, known: set[str]) -> str:
    return f"no formula reads a prior of this name.{did_you_mean(name, known)}"
