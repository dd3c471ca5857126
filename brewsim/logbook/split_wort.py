"""Parts of one wort fermented apart: what they share, and what may have been done otherwise."""

from collections.abc import Iterator, Mapping

from brewsim.beer_graph import module_of
from brewsim.errors import did_you_mean
from brewsim.logbook.entries import Entry
from brewsim.quantities.catalogue import quantity_of
from brewsim.quantities.gravity import pair_of
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem

_OWN_STAGES = (
    "beer.hop_creep",
    "hops.dry_hop_bitterness",
    "beer.fermentation",
    "thiols.thiols",
    "beer.packaging",
)
"""Stages that each part goes through by itself. One pitch is taken to release alike in both."""
_RELEASE = "thiols.thiol_release"
_OF_RELEASE = ("name", "thiol_release", "temperature")
_OWN_TABLES = ("yeast", "package")
_LATE = ("whirlpool", "dry hop", "fermentation")
_WORT = pair_of("original_gravity_sg")


def apart(entry: Entry, parent: Entry, problem: Problem) -> frozenset[str]:
    """Return the quantities whose scatter from brew to brew a part has for itself."""
    own: set[str] = set()
    for stage in _OWN_STAGES:
        own |= set(module_of(stage).INPUTS)
    yeast = [where.split()[-1] for where in differing(entry, parent) if where.startswith("yeast ")]
    if any(name in _OF_RELEASE for name in yeast):
        own |= set(module_of(_RELEASE).INPUTS)
    dry = {f.quantity for f in problem.factors if f.quantity.startswith("dry_hop_")}
    return frozenset(own | dry)


def differing(entry: Entry, parent: Entry) -> dict[str, Written]:
    """Return the changes of a part that its parent does not share, or that the parent alone has."""
    here, there = entry.changed, parent.changed
    both = {**there, **here}
    return {w: v for w, v in both.items() if str(here.get(w)) != str(there.get(w))}


def faults_of_split(
    entry: Entry, entries: Mapping[str, Entry], recipe: Recipe | None, problem: Problem
) -> Iterator[tuple[int, str]]:
    """Yield (line, what is wrong) of a batch that was split of another."""
    line = line_of(entry.split_of) or entry.line
    parent = entries.get(str(entry.split_of))
    if parent is None:
        near = did_you_mean(str(entry.split_of), [e for e in entries if e != entry.id])
        yield line, f"split_of “{entry.split_of}” is no batch of this log.{near}"
        return
    if parent.id == entry.id:
        yield line, "split_of names the batch itself; name the other part"
        return
    if parent.split_of:
        yield line, f"split_of “{parent.id}” is itself a part; name {parent.split_of}"
        return
    if parent.recipe != entry.recipe:
        yield line, f"split_of {parent.id}, which has another recipe; one wort has one recipe"
        return
    for where, value in differing(entry, parent).items():
        if not may_differ(where, recipe):
            at = line_of(value) if where in entry.changed else line
            yield (
                at or line,
                (
                    f"changed {where}: both parts have it; leave it out of a whole brew, or "
                    f"change it in {parent.id} too"
                ),
            )
    wort = problem.graph.upstream(_WORT[:1]) | set(_WORT)
    for name, texts in entry.readings.items():
        if quantity_of(name) in wort:
            yield line_of(texts[0]) or line, f"{name} is of the wort; write it with {parent.id}"


def may_differ(where: str, recipe: Recipe | None) -> bool:
    """Tell whether parts of one wort can differ in a key, such as "hop 2 mass"."""
    kind, *rest = where.split()
    if kind in _OWN_TABLES:
        return True
    rows = getattr(recipe, kind, ()) if kind in ("hop", "precursor") else ()
    which = " ".join(rest[:-1])
    if which.isdecimal() and 1 <= int(which) <= len(rows):
        row = rows[int(which) - 1]
    else:
        named = [r for r in rows if getattr(r, "variety", getattr(r, "name", "")) == which]
        row = named[0] if len(named) == 1 else None
    return row is not None and row.when.step in _LATE
