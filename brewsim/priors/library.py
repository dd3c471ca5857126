"""Priors: numbers with family, unit, kinds, grade and source, read from TOML and checked.

Entries keyed by a quantity's exact name hold for every recipe; ingredient files hold tables by
name whose sub-tables are quantities without their list prefix (yeasts: whole names).
"""

import hashlib
import json
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Any

from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant
from brewsim.errors import BrewsimError, InputError
from brewsim.files.text_files import read_text
from brewsim.files.toml_lines import load
from brewsim.priors.folder import prior_folder, read_toml
from brewsim.priors.own_file import GROUPED, KINDS, faults_in_shape, unread_names
from brewsim.priors.prior_table import faults_of, to_distribution
from brewsim.study.model.factor import Kinds

_INGREDIENT_FILES = {"malts": "malt", "hops": "hop_lot", "precursors": "precursor"}
_LISTED_KINDS = ("malt", "sugar", "hop_lot", "precursor")


@dataclass(frozen=True)
class Prior:
    """One uncertain number: its distribution, the kinds of its spread, and where it comes from."""

    quantity: str
    distribution: Distribution
    kinds: Kinds
    unit: str
    grade: str
    source: str
    note: str = ""
    group: str = ""
    measurable: bool = False
    basis: str = ""
    family: str = ""

    @property
    def value(self) -> float:
        """The median: what a setting is fixed at."""
        return self.distribution.median

    @property
    def is_constant(self) -> bool:
        """Whether there is no spread, so that the number is fixed."""
        return isinstance(self.distribution, Constant)


@dataclass(frozen=True)
class Ingredient:
    """A malt, sugar, hop variety, precursor, yeast or class: tags and raw prior tables."""

    name: str
    kind: str
    tags: Mapping[str, str]
    tables: Mapping[str, Mapping[str, Any]]
    aliases: tuple[str, ...] = ()


@dataclass
class Priors:
    """All priors of a run; entries become distributions when they are first asked for.

    A brewery's own file is checked whole when it is read, the shipped files by the tests.
    """

    scalars: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    ingredients: dict[str, dict[str, Ingredient]] = field(default_factory=dict)
    sources: dict[str, Mapping[str, Any]] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)
    _made: dict[tuple[str, str, str], Prior] = field(default_factory=dict)

    def scalar(self, quantity: str) -> Prior | None:
        """Return the prior of a quantity by its exact name, or None."""
        table = self.scalars.get(quantity)
        return None if table is None else self._prior("", "", quantity, table)

    def find(self, kind: str, name: str) -> Ingredient | None:
        """Return an ingredient by name or alias, whatever the case and accents, or None."""
        return self.ingredients.get(kind, {}).get(folded(name))

    def of(self, ingredient: Ingredient, quantity: str) -> Prior | None:
        """Return an ingredient's own prior of a quantity (without list prefix), or None."""
        table = ingredient.tables.get(quantity)
        if table is None:
            return None
        return self._prior(ingredient.kind, ingredient.name, quantity, table)

    def names(self, kind: str) -> list[str]:
        """Return the names of a kind's ingredients, sorted."""
        return sorted({i.name for i in self.ingredients.get(kind, {}).values()})

    def hint(self, kind: str, name: str) -> str:
        """Return ' Did you mean ...?' for an ingredient's name."""
        known = self.ingredients.get(kind, {})
        near = get_close_matches(folded(name), sorted(known), n=3, cutoff=0.6)
        near += [key for key in known if folded(name) in key]
        found = list(dict.fromkeys(known[key].name for key in near))[:3]
        return f" Did you mean {' or '.join(found)}?" if found else ""

    def source_text(self, key: str) -> str:
        """Return a source as a line of a bibliography; the reserved words as they are."""
        entry = self.sources.get(key)
        if entry is None:
            return key
        where = entry.get("doi") or entry.get("where") or ""
        return f"{entry['text']}{f'; {where}' if where else ''}"

    def reason(self, kind: str, quantity: str) -> str:
        """Return why a share of an input returns in the next brew, empty where nothing is said.

        `kind` is the ingredient's, empty for an input of the whole brew.
        """
        return self.reasons.get(whole_name(kind, quantity), "")

    @property
    def fingerprint(self) -> str:
        """Twelve letters that are others as soon as any prior is another."""
        whole = json.dumps(list(self.tables()), sort_keys=True, default=str)
        return hashlib.sha256(whole.encode()).hexdigest()[:12]

    def everything(self) -> Iterator[Prior]:
        """Yield every prior there is; raises InputError for the first bad one."""
        for kind, name, quantity, table in self.tables():
            yield self._prior(kind, name, quantity, table)

    def tables(self) -> Iterator[tuple[str, str, str, Mapping[str, Any]]]:
        """Yield (kind, ingredient, quantity, raw table) of every prior."""
        for quantity, table in self.scalars.items():
            yield "", "", quantity, table
        for kind, members in self.ingredients.items():
            for item in {id(i): i for i in members.values()}.values():
                for quantity, table in item.tables.items():
                    yield kind, item.name, quantity, table

    def _prior(self, kind: str, name: str, quantity: str, table: Mapping[str, Any]) -> Prior:
        key = (kind, name, quantity)
        if key not in self._made:
            try:
                self._made[key] = _prior_of(quantity, table)
            except (BrewsimError, KeyError, TypeError, ValueError):
                faults = list(faults_of(kind, quantity, table, self.sources))
                where = f"priors, {name or 'all recipes'}, {quantity}"
                raise InputError(where, faults) from None
        return self._made[key]


def folded(name: str) -> str:
    """Return a name without case, accents and runs of blanks."""
    plain = unicodedata.normalize("NFKD", name)
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).lower().split())


def whole_name(kind: str, quantity: str) -> str:
    """Return the input that an ingredient's quantity stands for, with its list prefix."""
    return f"{kind}_{quantity}" if kind in _LISTED_KINDS else quantity


def load_priors(extra: Path | None = None) -> Priors:
    """Return the shipped priors, with a brewery's own file put over them.

    The own file has the shipped form: scalars by exact name, ingredients under [malt], [hop],
    [precursor], [yeast]. Every fault of it is reported together as InputError.

    `extra` is the path of the own file.

    >>> load_priors().scalar("grain_absorption_l_kg").unit
    'L/kg'
    """
    shipped = _shipped()
    if extra is None:
        return shipped
    read, faults = load(read_text(extra))
    _refuse(extra, faults)
    own: dict[str, Any] = read or {}
    _refuse(extra, faults_in_shape(own))
    known: dict[str, dict[str, Any]] = {
        kind: {name: {} for item in members.values() for name in item.tables}
        for kind, members in shipped.ingredients.items()
    }
    unread = list(unread_names(own, shipped.scalars, known))
    priors = Priors(
        dict(shipped.scalars),
        {kind: dict(members) for kind, members in shipped.ingredients.items()},
        {**shipped.sources, **own.pop("sources", {})},
        shipped.reasons,
    )
    for name, table in own.items():
        if name in KINDS or name in GROUPED:
            for item, content in table.items():
                _add(priors, KINDS.get(name, name), item, content)
        else:
            priors.scalars[name] = table
    _refuse(extra, [*unread, *_faults_of_own(own, priors)])
    return priors


def _refuse(extra: Path, faults: Iterable[str]) -> None:
    told = list(faults)
    if told:
        raise InputError(str(extra), told)


def _faults_of_own(own: Mapping[str, Any], priors: Priors) -> Iterator[str]:
    names = {folded(name) for value in own.values() for name in value}
    for kind, name, quantity, table in priors.tables():
        if quantity in own or folded(name) in names:
            where = f"{name + ', ' if name else ''}{quantity}"
            for fault in faults_of(kind, quantity, table, priors.sources):
                yield f"{where}: {fault}"


@lru_cache(maxsize=1)
def _shipped() -> Priors:
    priors, folder = Priors(), prior_folder()
    for path in sorted(folder.glob("*.toml")):
        if path.stem == "rules":
            continue
        content = read_toml(path)
        if path.stem == "kinds":
            priors.reasons.update(content)
        elif path.stem == "sources":
            priors.sources.update(content)
        elif path.stem == "instruments":
            for name, table in content.items():
                _add(priors, "instrument", name, table)
        else:
            _sort_in(priors, path.stem, content)
    return priors


def _sort_in(priors: Priors, stem: str, content: Mapping[str, Any]) -> None:
    listed = _INGREDIENT_FILES.get(stem)
    for name, table in content.items():
        if name in GROUPED:
            for item, inner in table.items():
                _add(priors, name, item, inner)
        elif listed and "kinds" not in table:
            kind = "sugar" if table.get("kind") == "sugar" else listed
            _add(priors, kind, name, table)
        else:
            priors.scalars[name] = table


def _add(priors: Priors, kind: str, name: str, content: Mapping[str, Any]) -> None:
    """Add an ingredient, or put its tables over those of one that is there."""
    tables = {key: value for key, value in content.items() if isinstance(value, dict)}
    tags = {key: value for key, value in content.items() if not isinstance(value, dict)}
    aliases = tuple(tags.pop("aliases", ()))
    item = Ingredient(name, kind, {k: _tag(v) for k, v in tags.items()}, tables, aliases)
    members = priors.ingredients.setdefault(kind, {})
    before = members.get(folded(name))
    if before is not None:
        aliases = (*before.aliases, *aliases)
        name = before.name
        tagged = {**before.tags, **item.tags}
        item = Ingredient(name, kind, tagged, {**before.tables, **item.tables}, aliases)
    for word in (name, *aliases):
        members[folded(word)] = item


def _tag(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _prior_of(quantity: str, table: Mapping[str, Any]) -> Prior:
    return Prior(
        quantity=quantity,
        distribution=to_distribution(table),
        kinds=Kinds(**{"knowledge": 0.0, **table["kinds"]}),
        unit=table["unit"],
        grade=table["grade"],
        source=table["source"],
        note=table.get("note", ""),
        group=table.get("group", ""),
        measurable=bool(table.get("measurable", False)),
        basis=table.get("basis", ""),
        family=table["family"],
    )
