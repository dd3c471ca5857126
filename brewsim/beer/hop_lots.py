"""Which hop additions are of one lot, and what they may not say differently of it."""

from collections.abc import Iterator, Sequence

from brewsim.beer.lines import AGE, Line
from brewsim.priors.library import folded
from brewsim.quantities.format import shown
from brewsim.quantities.statement import Stated
from brewsim.recipe.faults import in_words
from brewsim.recipe.keys import keys_of
from brewsim.recipe.timing import HopTime

_ALPHA, _LOT = "hop_lot_stated_alpha_fraction", "hop_lot_"

LotKey = tuple[str, str, str]


def lot_keys(hops: Sequence[Line]) -> list[LotKey]:
    """Return each hop's lot: variety and lot name; without a name, told apart by its alpha.

    A hop that states neither belongs to its variety's lot if there is one only.
    """
    keys = []
    for hop in hops:
        alpha = hop.said.get(_ALPHA)
        keys.append((folded(hop.name), hop.lot, "" if hop.lot or not alpha else alpha.text))
    found = []
    for key in keys:
        variety, lot, alpha_text = key
        others = {k for k in keys if k[:2] == (variety, "") and k != key}
        found.append(others.pop() if not lot and not alpha_text and len(others) == 1 else key)
    return found


def faults_of_hops(hops: Sequence[Line]) -> list[str]:
    """Return what hop lines say differently of one lot or one hop stand."""
    return [in_words(line, "", what) for line, what in (*_lots(hops), *_stand(hops))]


def _lots(hops: Sequence[Line]) -> Iterator[tuple[int, str]]:
    """Yield a fault for everything that two lines of one lot say differently."""
    first: dict[tuple[LotKey, str], tuple[int, str | Stated]] = {}
    for number, (hop, key) in enumerate(zip(hops, lot_keys(hops), strict=True), start=1):
        for name, said in _said_of_lot(hop).items():
            seen, other = first.setdefault((key, name), (number, said))
            if other != said:
                lot = f"lot {hop.lot}" if hop.lot else f"{hop.name}, one lot for all,"
                told = f"hop {number} {name}: {lot} has {_text(other)} in hop {seen}"
                apart = (
                    "state it once" if hop.lot else 'keep one, or tell two lots apart: lot = "A"'
                )
                yield _line(said, hop), f"{told}, {_text(said)} here; {apart}"


def _said_of_lot(hop: Line) -> dict[str, str | Stated]:
    """Return what a line says of its lot, by key; a harvest stands for the age that it makes."""
    key_of = {key.sets.quantity: key.name for key in keys_of("hop") if key.sets is not None}
    words = {name: hop.words.get(name, "") for name in ("harvest", "wrap")}
    found: dict[str, str | Stated] = {name: text for name, text in words.items() if text}
    for quantity, said in hop.said.items():
        if quantity.startswith(_LOT) and not (quantity == AGE and words["harvest"]):
            found[key_of.get(quantity, quantity.removeprefix(_LOT))] = said
    return found


def _text(said: str | Stated) -> str:
    return said.text if isinstance(said, Stated) else said


def _line(said: str | Stated, hop: Line) -> int:
    return (said.line if isinstance(said, Stated) else 0) or hop.line


def stand_temperatures(hops: Sequence[Line]) -> list[Stated]:
    """Return the different temperatures that whirlpool hops state, the coolest first."""
    times = [hop.when for hop in hops if isinstance(hop.when, HopTime) and hop.step == "whirlpool"]
    stated = [time.temperature for time in times if time.temperature is not None]
    different = {found.value: found for found in stated}
    return [different[celsius] for celsius in sorted(different)]


def _stand(hops: Sequence[Line]) -> Iterator[tuple[int, str]]:
    different = stand_temperatures(hops)
    if len(different) > 1:
        told = " and ".join(shown(stated.value, "°C", twin=False) for stated in different)
        warm = [hop for hop in hops if isinstance(hop.when, HopTime)]
        line = max(hop.line for hop in warm if getattr(hop.when, "temperature", None) in different)
        yield line, f"whirlpool: one hop stand has one temperature, not {told}; write one of them"
