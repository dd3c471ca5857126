"""What a batch was really brewed as: its recipe with the lines that it changed."""

import re
from collections.abc import Iterator, Mapping

from brewsim.beer.pose import posed
from brewsim.errors import InputError
from brewsim.logbook.entries import Entry
from brewsim.priors.library import Priors
from brewsim.quantities.statement import Written, line_of
from brewsim.recipe.edits import editing
from brewsim.recipe.faults import Fault, in_words
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.problem import Problem

_LINE = re.compile(r"line \d+, ")


def posed_batch(
    entry: Entry, text: str, priors: Priors
) -> tuple[Problem | None, tuple[Fault, ...]]:
    """Return the problem that a batch was and no fault, or None and why it cannot be posed.

    A fault of the recipe names the recipe's line, a fault of a change the log's.
    """
    try:
        return posed(parse_recipe(text, "recipe", editing(entry.changed)), priors)[0], ()
    except InputError as error:
        own = _faults(text, {}, priors)
        if own:
            told = [(entry.line, f"the recipe of batch {entry.id}: {fault}") for fault in own]
            return None, tuple(told)
        return None, tuple(_blamed(entry, text, priors, error.faults))


def _blamed(entry: Entry, text: str, priors: Priors, together: tuple[str, ...]) -> Iterator[Fault]:
    """Yield the faults of the changes, each at the change that has it by itself."""
    alone = [
        (line_of(value), f"changed {where}", _LINE.sub("", fault).removeprefix(f"{where}: "))
        for where, value in entry.changed.items()
        for fault in _faults(text, {where: value}, priors)
    ]
    among = [(entry.line, "changed", _LINE.sub("", fault)) for fault in together]
    for line, where, fault in alone or among:
        yield line, in_words(line, f"batch {entry.id}, {where}", fault)


def _faults(text: str, changed: Mapping[str, Written], priors: Priors) -> tuple[str, ...]:
    try:
        posed(parse_recipe(text, "recipe", editing(changed)), priors)
    except InputError as error:
        return error.faults
    return ()
