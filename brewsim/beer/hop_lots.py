"""Which hop additions are of one lot, and what they may not say differently of it."""

from collections.abc import Iterator, Sequence

from brewsim.priors.library import folded
from brewsim.quantities.statement import Stated
from brewsim.recipe.faults import in_words
from brewsim.recipe.hop_age import fault_of_age
from brewsim.recipe.schema import Hop, Recipe

_QUANTITIES = {
    "alpha": "stated_alpha_fraction",
    "age": "age_month",
    "storage": "storage_temperature_c",
}
"""Key of a hop line -> the quantity of the lot that it states."""

LotKey = tuple[str, str, str]


def lot_keys(hops: Sequence[Hop]) -> list[LotKey]:
    """Return each hop's lot: variety and lot name; without a name, told apart by its alpha.

    A hop that states neither belongs to its variety's lot if there is one only.
    """
    keys = [(folded(h.variety), h.lot, "" if h.lot or not h.alpha else h.alpha.text) for h in hops]
    found = []
    for key in keys:
        variety, lot, alpha = key
        others = {k for k in keys if k[:2] == (variety, "") and k != key}
        found.append(others.pop() if not lot and not alpha and len(others) == 1 else key)
    return found


def faults_of_hops(recipe: Recipe) -> list[str]:
    """Return what hop lines say twice, or differently of one lot or one hop stand."""
    found = []
    for number, hop in enumerate(recipe.hop, start=1):
        found += [(hop.line, f"hop {number} {what}") for what in _said_twice(hop)]
        if fault := fault_of_age(hop, recipe):
            found.append((hop.line, f"hop {number} {fault}"))
    found += [*_lots(recipe.hop), *_stand(recipe.hop)]
    return [in_words(line, "", what) for line, what in found]


def _said_twice(hop: Hop) -> Iterator[str]:
    if hop.age is not None and hop.harvest:
        yield "harvest: age says the same; keep one"
    for key, quantity in _QUANTITIES.items():
        if quantity in hop.given and (getattr(hop, key) or (key == "age" and hop.harvest)):
            yield f"given {quantity}: {key} says the same; keep one"


def _lots(hops: Sequence[Hop]) -> Iterator[tuple[int, str]]:
    """Yield a fault for everything that two lines of one lot say differently."""
    first: dict[tuple[LotKey, str], tuple[int, str | Stated]] = {}
    for number, (hop, key) in enumerate(zip(hops, lot_keys(hops), strict=True), start=1):
        for name, said in _said_of_lot(hop).items():
            seen, other = first.setdefault((key, name), (number, said))
            if other != said:
                lot = f"lot {hop.lot}" if hop.lot else f"{hop.variety}, one lot for all,"
                told = f"hop {number} {name}: {lot} has {_text(other)} in hop {seen}"
                apart = (
                    "state it once" if hop.lot else 'keep one, or tell two lots apart: lot = "A"'
                )
                yield _line(said, hop), f"{told}, {_text(said)} here; {apart}"


def _said_of_lot(hop: Hop) -> dict[str, str | Stated]:
    own = {key: getattr(hop, key) or hop.given.get(name) for key, name in _QUANTITIES.items()}
    own |= {"harvest": hop.harvest, "wrap": hop.wrap}
    others = {name: said for name, said in hop.given.items() if name not in _QUANTITIES.values()}
    return {name: said for name, said in (own | others).items() if said}


def _text(said: str | Stated) -> str:
    return said.text if isinstance(said, Stated) else said


def _line(said: str | Stated, hop: Hop) -> int:
    return (said.line if isinstance(said, Stated) else 0) or hop.line


def stand_temperatures(hops: Sequence[Hop]) -> list[Stated]:
    """Return the different temperatures that whirlpool hops state, the coolest first."""
    stated = [h.when.temperature for h in hops if h.when.step == "whirlpool"]
    different = {found.value: found for found in stated if found is not None}
    return [different[celsius] for celsius in sorted(different)]


def _stand(hops: Sequence[Hop]) -> Iterator[tuple[int, str]]:
    different = stand_temperatures(hops)
    if len(different) > 1:
        told = " and ".join(f"{stated.value:g} °C" for stated in different)
        line = max(h.line for h in hops if h.when.temperature in different)
        yield line, f"whirlpool: one hop stand has one temperature, not {told}; write one of them"
