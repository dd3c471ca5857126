"""A line of the grist, the hops or the precursors: what it is, how much, and what it states."""

from collections.abc import Mapping
from dataclasses import dataclass

from brewsim.beer.set_points import beside, factor_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.faults import in_words
from brewsim.recipe.hop_age import age_of, fault_of_age
from brewsim.recipe.keys import Key, keys_of
from brewsim.recipe.knob_ranges import ROWS
from brewsim.recipe.schema import Block, Hop, Precursor, Recipe
from brewsim.recipe.timing import HopTime, PrecursorTime

LIST_OF = {"malt": "malt", "sugar": "sugar", "hop": "hop_lot", "precursor": "precursor"}
"""Kind of line in the file -> list whose quantities it can state."""
AGE = "hop_lot_age_month"
_COUNTED = "precursor_free_equivalent_share"


@dataclass(frozen=True)
class Line:
    """One line of an ingredient, resolved; `number` counts from 0 in the file's order.

    `dosed` is what it takes in the unit of its list (kg of malt and sugar, g of hops, g/L of
    precursors), as `amount` says under its key `amount_key`. `said` is by whole quantity name.
    """

    kind: str
    number: int
    name: str
    lot: str
    line: int
    amount: Stated | None
    amount_key: str
    dosed: float
    said: Mapping[str, Stated]
    words: Mapping[str, str]
    when: HopTime | PrecursorTime | None = None

    @property
    def step(self) -> str:
        """The step of the brew day at which it goes in, empty where it has none."""
        return self.when.step if self.when is not None else ""

    @property
    def time(self) -> float:
        """Minutes or days of a hop's time, 0 where it has none."""
        timed = self.when.time if isinstance(self.when, HopTime) else None
        return timed.value if timed is not None else 0.0


def line_of_block(kind: str, number: int, block: Block, recipe: Recipe) -> tuple[Line, list[str]]:
    """Return one line of the file resolved, and what it says twice or not well enough."""
    said, key_of = _said(kind, block)
    faults = _aged(block, recipe, said) if isinstance(block, Hop) else []
    for name, stated in block.given.items():
        quantity = f"{LIST_OF[kind]}_{name}"
        if quantity in key_of:
            faults.append(f"given {name}: {key_of[quantity]} says the same; keep one")
        said[quantity] = stated
    key, amount = _amount(kind, block)
    fields = {name: getattr(block, name) for name in type(block).model_fields}
    when = fields.get("when")
    line = Line(
        kind=kind,
        number=number,
        name=fields[ROWS[kind]],
        lot=fields.get("lot", ""),
        line=block.line,
        amount=amount,
        amount_key=key.name,
        dosed=dosed(key, amount.value, recipe.volume.value) if amount is not None else 0.0,
        said=said,
        words={
            name: text
            for name, text in fields.items()
            if isinstance(text, str) and name not in (ROWS[kind], "lot")
        },
        when=when if isinstance(when, HopTime | PrecursorTime) else None,
    )
    return line, [in_words(block.line, "", f"{kind} {number + 1} {fault}") for fault in faults]


def dosed(key: Key, value: float, litres: float) -> float:
    """Return an amount as its list has it: a rate times the volume, a mass over it, else as it is.

    `value` is in the key's own unit, `litres` the wort wanted in the fermenter.
    """
    written = key.measures.unit if key.measures is not None else ""
    wanted = model_unit_of(key.sets.quantity) if key.sets is not None else written
    if (written, wanted) == ("g/L", "g"):
        return value * litres
    return value / litres if (written, wanted) == ("g", "g/L") else value


def _said(kind: str, block: Block) -> tuple[dict[str, Stated], dict[str, str]]:
    """Return what the keys of a line state, and which key states which quantity."""
    said: dict[str, Stated] = {}
    key_of: dict[str, str] = {}
    for key in keys_of(kind):
        stated = getattr(block, key.name, None)
        if key.sets is None or key.step or not isinstance(stated, Stated):
            continue
        if key.sets.amount:
            spread = factor_of(stated)
            said |= {key.sets.factor: spread} if spread is not None else {}
        else:
            said |= beside(key.sets, stated)
            key_of[key.sets.quantity] = key.name
    if isinstance(block, Hop):
        for sets, stated in block.when.said():
            said |= beside(sets, stated)
    if isinstance(block, Precursor) and block.basis is not None:
        said[_COUNTED], key_of[_COUNTED] = _counted(block, block.basis), "basis"
    return said, key_of


def _amount(kind: str, block: Block) -> tuple[Key, Stated | None]:
    """Return how much of it there is, and the key that says so."""
    keys = [key for key in keys_of(kind) if key.sets is not None and key.sets.amount]
    found = next((key for key in keys if getattr(block, key.name) is not None), keys[0])
    return found, getattr(block, found.name)


def _aged(hop: Hop, recipe: Recipe, said: dict[str, Stated]) -> list[str]:
    """Put in the age that a harvest makes; return what is wrong with the two."""
    faults = []
    if hop.age is not None and hop.harvest:
        faults.append("harvest: age says the same; keep one")
    if (age := age_of(hop, recipe)) is not None:
        said[AGE] = age
    if fault := fault_of_age(hop, recipe):
        faults.append(fault)
    return faults


def _counted(block: Precursor, basis: str) -> Stated:
    """Return whether a stated content counts free thiol that could be had, not conjugate."""
    share = float(basis == "free-thiol equivalent")
    return Stated(basis, Phrase("exactly", share), "fraction", line=block.line)
