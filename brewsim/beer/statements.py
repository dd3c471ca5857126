"""What a recipe states, resolved once: quantity -> statement, its line, and what outranks what."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from brewsim.beer.lines import Line, line_of_block
from brewsim.beer.set_points import beside
from brewsim.distributions.base import Distribution
from brewsim.priors.library import Prior, Priors
from brewsim.quantities.catalogue import quantity_of
from brewsim.quantities.gravity import extract_of, is_density
from brewsim.quantities.statement import Stated
from brewsim.recipe.keys import Key, all_keys
from brewsim.recipe.knob_ranges import ROWS, KnobRange
from brewsim.recipe.mash_schedule import Rest
from brewsim.recipe.packaging import Priming
from brewsim.recipe.schema import Block, Recipe

Origin = Literal["given", "priors", "field", "planned"]


@dataclass(frozen=True, slots=True)
class About:
    """A planned number that is hit as well as the prior of its quantity says."""

    value: float


Said = Stated | Prior | Distribution | About | float
"""A phrase of the recipe; or, where it follows from the recipe, a prior, a spread or a number."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What is said of one quantity, and where: under [given], under [priors], by a key, planned."""

    said: Said
    origin: Origin


@dataclass(frozen=True)
class Statements:
    """All that a recipe states; precedence is settled: given, priors, planned, field.

    `said` is by whole quantity name, `lines` by kind of ingredient in the file's order, `words` by
    (block, key), `variants` the word that picks the formula of a quantity, `picked` the prior that
    a word picks for one, `rests` those of a mash in rests, `line_of` where a block starts.
    `contradictions` are faults: two lines for one number.
    """

    name: str
    said: Mapping[str, Statement]
    lines: Mapping[str, tuple[Line, ...]]
    words: Mapping[tuple[str, str], str]
    variants: Mapping[str, str]
    targets: Mapping[str, Stated]
    knobs: Mapping[str, KnobRange]
    line_of: Mapping[str, int]
    picked: Mapping[str, str]
    rests: tuple[Rest, ...] = ()
    contradictions: tuple[str, ...] = ()

    @property
    def volume(self) -> Stated:
        """The wort wanted in the fermenter, L."""
        volume = self.stated("wanted_volume_l")
        if volume is None:
            raise KeyError("wanted_volume_l")
        return volume

    def word(self, block: str, key: str) -> str:
        """Return the word of a key, empty where none is written."""
        return self.words.get((block, key), "")

    def stated(self, quantity: str) -> Stated | None:
        """Return what a person wrote of a quantity, None where it is planned or not there."""
        found = self.said.get(quantity)
        return found.said if found is not None and isinstance(found.said, Stated) else None

    def origin(self, quantity: str) -> Origin | None:
        """Return where a quantity is stated, None where nowhere."""
        found = self.said.get(quantity)
        return found.origin if found is not None else None

    def by(self, *origins: Origin) -> dict[str, Stated]:
        """Return the phrases of some origins, by quantity."""
        return {
            quantity: one.said
            for quantity, one in self.said.items()
            if one.origin in origins and isinstance(one.said, Stated)
        }

    def planned(self, derived: Mapping[str, Said]) -> "Statements":
        """Return these statements with what follows from them; a [given] or [priors] line stays.

        Where a key was written and [given] says its number too, that is a contradiction.
        """
        merged, faults = dict(self.said), list(self.contradictions)
        for quantity, said in derived.items():
            origin = self.origin(quantity)
            if origin == "given" and isinstance(said, Stated):
                faults.append(_says_the_same(quantity, self.by("given")[quantity], said))
            if origin not in ("given", "priors"):
                merged[quantity] = Statement(said, "planned")
        return replace(self, said=merged, contradictions=tuple(faults))


@dataclass(frozen=True, slots=True)
class Basis:
    """What a problem is posed from: what the recipe states, and the priors beneath it."""

    statements: Statements
    priors: Priors

    def value(self, quantity: str) -> float:
        """Return the number to plan with: what is stated, else the prior's median, else 0."""
        stated = self.statements.stated(quantity)
        if stated is not None:
            return stated.value
        found = self.statements.said.get(quantity)
        picked = found.said if found is not None and isinstance(found.said, Prior) else None
        prior = picked or self.priors.scalar(quantity)
        return prior.value if prior is not None else 0.0


def resolve(recipe: Recipe) -> Statements:
    """Return all that a recipe states, with its contradictions."""
    fields: dict[str, Stated] = {}
    for key in all_keys():
        stated = _written(recipe, key)
        if key.sets is not None and stated is not None:
            fields |= beside(key.sets, stated)
    given, faults = _given(recipe)
    faults += [
        _says_the_same(quantity, given[quantity], fields[quantity])
        for quantity in sorted(given.keys() & fields.keys())
    ]
    said = {quantity: Statement(stated, "field") for quantity, stated in fields.items()}
    said |= {quantity: Statement(stated, "priors") for quantity, stated in recipe.priors.items()}
    said |= {quantity: Statement(stated, "given") for quantity, stated in given.items()}
    lines: dict[str, tuple[Line, ...]] = {}
    for kind in ROWS:
        blocks = enumerate(getattr(recipe, kind))
        made = [line_of_block(kind, number, block, recipe) for number, block in blocks]
        lines[kind] = tuple(line for line, _ in made)
        faults += [fault for _, found in made for fault in found]
    words = dict(_words(recipe))
    return Statements(
        name=recipe.name,
        said=said,
        lines=lines,
        words=words,
        variants={
            key.picks.variant: words[key.block, key.name].replace(" ", "_")
            for key in all_keys()
            if key.picks is not None and key.picks.variant
        },
        targets=recipe.targets,
        knobs=recipe.knobs,
        picked={
            key.picks.sets: key.picks.prior.format(words[key.block, key.name].replace(" ", "_"))
            for key in all_keys()
            if key.picks is not None and key.picks.sets and (key.block, key.name) in words
        },
        rests=recipe.mash.rests if recipe.mash is not None else (),
        line_of={block: table.line for block, table in _blocks(recipe)},
        contradictions=tuple(faults),
    )


def _written(recipe: Recipe, key: Key) -> Stated | None:
    """Return what a key outside the lists says, or None."""
    if key.sets is None or key.block in ROWS:
        return None
    value = getattr(getattr(recipe, key.block) if key.block else recipe, key.name)
    if key.attribute and value is not None:
        value = getattr(value, key.attribute)
    return value if isinstance(value, Stated) else None


def _words(recipe: Recipe) -> Iterator[tuple[tuple[str, str], str]]:
    for block, table in _blocks(recipe):
        for name in type(table).model_fields:
            value = getattr(table, name)
            if isinstance(value, str):
                yield (block, name), value
            elif isinstance(value, Priming):
                yield (f"{block} {name}", "sugar"), value.sugar


def _blocks(recipe: Recipe) -> Iterator[tuple[str, Block]]:
    """Yield the tables that are one of a kind, the recipe's top last."""
    for name in type(recipe).model_fields:
        table = getattr(recipe, name)
        if isinstance(table, Block):
            yield name, table
    yield "", recipe


def _given(recipe: Recipe) -> tuple[dict[str, Stated], list[str]]:
    """Return what [given], [yeast.given] ... state, and a fault for each number given twice."""
    found: dict[str, Stated] = {}
    names: dict[str, str] = {}
    faults = []
    for _, table in _blocks(recipe):
        for name, stated in table.given.items():
            quantity = _computed_with(name)
            if quantity in found:
                told = f"{names[quantity]} (line {found[quantity].line}) says the same; keep one"
                faults.append(f"line {stated.line}, given {name}: {told}")
            found[quantity], names[quantity] = stated, name
    return found, faults


def _computed_with(name: str) -> str:
    """Return the quantity that a [given] name lands on: of a gravity the extract behind it."""
    quantity = quantity_of(name)
    return extract_of(quantity) if is_density(quantity) else name


def _says_the_same(quantity: str, given: Stated, other: Stated) -> str:
    return f"line {given.line}, given {quantity}: line {other.line} says the same; keep one"
