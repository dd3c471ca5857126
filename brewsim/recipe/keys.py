"""The keys of a recipe and what each sets, read off the schema: one list for every reader of it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from pydantic import BaseModel

from brewsim.recipe.schema import Recipe
from brewsim.recipe.sets import Measures, Picks, Sets
from brewsim.recipe.timing import HOP_SETTINGS, HopTime

Mark = TypeVar("Mark")


@dataclass(frozen=True, slots=True)
class Key:
    """One key: its block ("" at the top), its name, what it sets or picks, and its limits.

    `attribute` is where a value that has parts keeps this one; `step` the step of the brew day at
    which an addition has such a setting. `words` are the choices of a key that is picked.
    """

    block: str
    name: str
    sets: Sets | None = None
    picks: Picks | None = None
    measures: Measures | None = None
    attribute: str = ""
    step: str = ""
    words: tuple[str, ...] = ()

    @property
    def knob(self) -> str:
        """What a knob on it is called; empty where it cannot be turned."""
        mark = self.sets or self.picks
        return mark.knob if mark is not None else ""

    @property
    def refused(self) -> str:
        """Why a knob that one would expect is none."""
        mark = self.sets or self.picks
        return mark.refused if mark is not None else ""

    @property
    def of_ingredient(self) -> bool:
        """Whether it goes when another ingredient takes the place of this one."""
        mark = self.sets or self.picks
        return mark is not None and mark.ingredient


@cache
def all_keys() -> tuple[Key, ...]:
    """Return every key of a recipe that sets a quantity or picks a word, in the schema's order."""
    return tuple(_keys("", Recipe))


@cache
def keys_of(block: str) -> tuple[Key, ...]:
    """Return the keys of one block ("" at the top)."""
    return tuple(key for key in all_keys() if key.block == block)


@cache
def turnable() -> Mapping[tuple[str, str], tuple[Key, ...]]:
    """Return (block, name) -> keys that a knob may name; an addition's, one for each step."""
    found: dict[tuple[str, str], tuple[Key, ...]] = {}
    for key in all_keys():
        if key.knob:
            place = (key.block, key.name)
            found[place] = (*found.get(place, ()), key)
    return found


@cache
def figures_of(block: str) -> tuple[str, ...]:
    """Return the keys of a block that go when another ingredient takes the place of this one."""
    return tuple(key.name for key in keys_of(block) if key.of_ingredient)


def _keys(block: str, model: type[BaseModel]) -> Iterator[Key]:
    for name, info in model.model_fields.items():
        inside = list(_parts([*info.metadata, info.annotation]))
        models = [part for part in inside if _is(part, BaseModel)]
        if models and not block:
            yield from _keys(name, models[0])
            continue
        if HopTime in inside:
            yield from _hop_keys(block)
            continue
        yield from _marked(block, name, "", inside)
        for made in inside:
            if isinstance(made, type) and is_dataclass(made):
                hints = get_type_hints(made, include_extras=True)
                for part in fields(made):
                    yield from _marked(block, name, part.name, list(_parts([hints[part.name]])))


def _marked(block: str, name: str, attribute: str, inside: list[Any]) -> Iterator[Key]:
    sets, picks = _first(inside, Sets), _first(inside, Picks)
    if sets is None and picks is None:
        return
    words = _words(inside) if picks is not None else ()
    yield Key(block, name, sets, picks, _first(inside, Measures), attribute, words=words)


def _hop_keys(block: str) -> Iterator[Key]:
    for step, settings in HOP_SETTINGS.items():
        for name, (measures, sets) in settings.items():
            yield Key(block, name, sets, measures=measures, step=step)


def _words(inside: list[Any]) -> tuple[str, ...]:
    """Return the words of a Literal, or of the first field of a value that has parts."""
    for part in inside:
        if get_origin(part) is Literal:
            return tuple(str(word) for word in get_args(part))
        if isinstance(part, type) and is_dataclass(part):
            first = get_type_hints(part)[fields(part)[0].name]
            return tuple(str(word) for word in get_args(first))
    return ()


def _first(inside: list[Any], mark: type[Mark]) -> Mark | None:
    return next((part for part in inside if isinstance(part, mark)), None)


def _is(part: object, kind: type) -> bool:
    return isinstance(part, type) and issubclass(part, kind)


def _parts(roots: list[Any]) -> Iterator[Any]:
    """Yield the marks and types of an annotation, from the outside in."""
    for root in roots:
        yield root
        if get_origin(root) is not Literal:
            yield from _parts([*getattr(root, "__metadata__", ()), *get_args(root)])
