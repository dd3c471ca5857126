"""The recipe's lists as the graph sees them: rows in a fixed order, settings as arrays."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from brewsim.beer.grist_rows import grist, precursors, rests_of
from brewsim.beer.hop_lots import LotKey, lot_keys, stand_temperatures
from brewsim.beer.lines import Line
from brewsim.beer.rows import Lists, Row, column, named
from brewsim.beer.statements import Statements
from brewsim.dims import FloatArray
from brewsim.quantities.format import bare
from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.timing import HopTime

_INDEX, _INDEX_KNOWN = "hop_lot_storage_index", "hop_lot_index_known_share"
_HOT = ("mash", "first wort", "boil", "flameout", "whirlpool")
_CONTACT_DAYS = 4.0
_CELLAR_C = 18.0


def lists_of(statements: Statements) -> Lists:
    """Return the recipe's lists; the order of lines in the file changes nothing."""
    malts = grist(statements) | rests_of(statements.rests)
    return malts | _hops(statements) | precursors(statements)


def _when_key(hop: Line) -> tuple[float, ...]:
    day = hop.when.day if isinstance(hop.when, HopTime) else None
    return (*_HOT, "dry hop").index(hop.step), -hop.time, day or 0.0


def _hops(statements: Statements) -> Lists:
    hops = sorted(
        statements.lines["hop"], key=lambda hop: (*_when_key(hop), hop.name, hop.lot, hop.dosed)
    )
    keys = lot_keys(hops)
    lots = _lots(hops, keys)
    order = [key for key, _ in lots]
    place = {hop.number: order.index(key) for hop, key in zip(hops, keys, strict=True)}
    rows = Lists({"hop_lot": tuple(row for _, row in lots)})
    hot = _hot_side([hop for hop in hops if hop.step in _HOT], place)
    warmth = statements.stated("fermentation_temperature_c")
    warm = warmth.value if warmth is not None else _CELLAR_C
    return rows | hot | _cold_side([hop for hop in hops if hop.step == "dry hop"], place, warm)


def _lots(hops: Sequence[Line], keys: Sequence[LotKey]) -> list[tuple[LotKey, Row]]:
    lots = []
    for key in sorted(set(keys)):
        members = [hop for hop, own in zip(hops, keys, strict=True) if own == key]
        stated: dict[str, Stated] = {}
        for hop in members:
            stated = dict(hop.said) | stated
        if _INDEX in stated:
            stated = {_INDEX_KNOWN: _index_known(stated[_INDEX])} | stated
        wrap = next((hop.words["wrap"] for hop in members if "wrap" in hop.words), "")
        variety, lot, alpha = members[0].name, key[1], key[2]
        doubled = alpha and len({k for k in keys if k[:2] == key[:2]}) > 1
        label = f"{variety} at {alpha}" if doubled else named(variety, lot)
        lots.append((key, Row(variety, label, stated, lot, ("lot", 0), wrap)))
    return lots


def _index_known(index: Stated) -> Stated:
    """A storage index that is stated is what the lot's loss is reckoned from."""
    return Stated("stated", Phrase("exactly", 1.0), "fraction", line=index.line)


def _row(hop: Line, axis: str) -> Row:
    label = f"{hop.name}, {hop.step}"
    if hop.step == "boil" and hop.time:
        label = f"{hop.name}, {bare(hop.time)} min"
    weight = hop.said.get("hop_weighing_factor")
    stated = {} if weight is None else {f"{axis}_weighing_factor": weight}
    return Row(hop.name, label, stated, hop.lot, ("hop", hop.number), amount=hop.amount)


def _hot_side(hops: Sequence[Line], place: Mapping[int, int]) -> Lists:
    stands = [hop.time for hop in hops if hop.step == "whirlpool" and hop.time]
    longest = max(stands, default=0.0)

    def each(value: Callable[[Line], float]) -> FloatArray:
        return column([value(hop) for hop in hops])

    def boiled(hop: Line) -> float:
        """Minutes of a timed addition; mash and first-wort hops boil as long as the wort."""
        return hop.time if hop.step == "boil" else 0.0

    def stood(hop: Line) -> float:
        if hop.step != "whirlpool" or not longest or not _is_timed(hop):
            return 1.0
        return hop.time / longest

    fixed: dict[str, FloatArray] = {
        "hop_mass_g": each(lambda h: h.dosed),
        "hop_boil_time_min": each(boiled),
        "hop_in_mash_share": each(lambda h: float(h.step == "mash")),
        "hop_in_first_wort_share": each(lambda h: float(h.step == "first wort")),
        "hop_in_whirlpool_share": each(lambda h: float(h.step == "whirlpool")),
        "hop_stand_share": each(stood),
        "hop_is_pellet_share": each(lambda h: float(h.words["form"] == "pellet")),
        "hop_lot_of_hop": np.array([place[h.number] for h in hops], dtype=np.intp),
    }
    rows = tuple(_row(hop, "hop") for hop in hops)
    return Lists({"hop": rows}, fixed, _stand([h for h in hops if h.step == "whirlpool"]))


def _is_timed(hop: Line) -> bool:
    return isinstance(hop.when, HopTime) and hop.when.time is not None


def _stand(hops: Sequence[Line]) -> dict[str, Stated]:
    """Return the one hop stand: the longest time and the temperature that its hops agree on."""
    stated: dict[str, Stated] = {}
    for hop in sorted((hop for hop in hops if _is_timed(hop)), key=lambda hop: hop.time)[-1:]:
        stated |= {name: said for name, said in hop.said.items() if name.startswith("stand_time")}
    coolest = stand_temperatures(hops)[:1]
    for hop in [hop for hop in hops if _warmth(hop) in coolest][:1]:
        stated |= {
            name: said
            for name, said in hop.said.items()
            if name.startswith(("stand_set_temperature", "stand_temperature"))
        }
    return stated


def _warmth(hop: Line) -> Stated | None:
    return hop.when.temperature if isinstance(hop.when, HopTime) else None


def _cold_side(hops: Sequence[Line], place: Mapping[int, int], warm: float) -> Lists:
    def each(value: Callable[[Line], float]) -> FloatArray:
        return column([value(hop) for hop in hops])

    def fermenting(hop: Line) -> float:
        return float(isinstance(hop.when, HopTime) and hop.when.fermenting)

    def contact(hop: Line) -> float:
        return hop.time if _is_timed(hop) else _CONTACT_DAYS

    def warmth(hop: Line) -> float:
        stated = _warmth(hop)
        return stated.value if stated is not None else warm

    fixed: dict[str, FloatArray] = {
        "dry_hop_mass_g": each(lambda h: h.dosed),
        "dry_hop_contact_day": each(contact),
        "dry_hop_temperature_c": each(warmth),
        "dry_hop_in_fermentation_share": each(fermenting),
        "hop_lot_of_dry_hop": np.array([place[h.number] for h in hops], dtype=np.intp),
    }
    return Lists({"dry_hop": tuple(_row(hop, "dry_hop") for hop in hops)}, fixed)
