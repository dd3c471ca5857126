"""The recipe's lists as the graph sees them: rows in a fixed order, settings as arrays."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from brewsim.beer.grist_rows import add_grist, add_precursors
from brewsim.beer.hop_lots import LotKey, lot_keys, stand_temperatures
from brewsim.beer.rows import Lists, Row, column, named, stated_of, weighed
from brewsim.beer.set_points import beside
from brewsim.beer.volume_plan import hop_grams
from brewsim.dims import FloatArray
from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.hop_age import age_of
from brewsim.recipe.schema import Hop, Recipe

_INDEX, _INDEX_KNOWN = "storage_index", "index_known_share"
_HOT = ("mash", "first wort", "boil", "flameout", "whirlpool")


def lists_of(recipe: Recipe) -> Lists:
    """Return the recipe's lists; the order of lines in the file changes nothing."""
    lists = Lists()
    add_grist(recipe, lists)
    _hops(recipe, lists)
    add_precursors(recipe, lists)
    return lists


def _when_key(hop: Hop) -> tuple[float, ...]:
    order = (*_HOT, "dry hop")
    time = hop.when.time.value if hop.when.time is not None else 0.0
    return order.index(hop.when.step), -time, hop.when.day or 0.0


def _hops(recipe: Recipe, lists: Lists) -> None:
    volume = recipe.volume.value
    numbered = sorted(
        enumerate(recipe.hop),
        key=lambda h: (*_when_key(h[1]), h[1].variety, h[1].lot, hop_grams(h[1], volume)),
    )
    keys = lot_keys([hop for _, hop in numbered])
    lots = _lots(recipe, [hop for _, hop in numbered], keys)
    lists.rows["hop_lot"] = [row for _, row in lots]
    order = [key for key, _ in lots]
    place = {id(hop): order.index(key) for (_, hop), key in zip(numbered, keys, strict=True)}
    hot = [(i, h) for i, h in numbered if h.when.step in _HOT]
    cold = [(i, h) for i, h in numbered if h.when.step == "dry hop"]
    _hot_side(recipe, lists, hot, place)
    _cold_side(recipe, lists, cold, place)


def _lots(recipe: Recipe, hops: Sequence[Hop], keys: Sequence[LotKey]) -> list[tuple[LotKey, Row]]:
    lots = []
    for key in sorted(set(keys)):
        members = [hop for hop, own in zip(hops, keys, strict=True) if own == key]
        stated: dict[str, Stated] = {}
        for hop in members:
            own = stated_of(
                hop,
                stated_alpha_fraction=hop.alpha,
                age_month=age_of(hop, recipe),
                storage_temperature_c=hop.storage,
            )
            stated |= {name: value for name, value in own.items() if name not in stated}
        if _INDEX in stated:
            stated = {_INDEX_KNOWN: _index_known(stated[_INDEX])} | stated
        wrap = next((hop.wrap for hop in members if hop.wrap), "")
        variety, lot, alpha = members[0].variety, key[1], key[2]
        doubled = alpha and len({k for k in keys if k[:2] == key[:2]}) > 1
        label = f"{variety} at {alpha}" if doubled else named(variety, lot)
        lots.append((key, Row(variety, label, stated, lot, ("lot", 0), wrap)))
    return lots


def _index_known(index: Stated) -> Stated:
    """A storage index that is stated is what the lot's loss is reckoned from."""
    return Stated("stated", Phrase("exactly", 1.0), "fraction", line=index.line)


def _when_label(hop: Hop) -> str:
    step, time = hop.when.step, hop.when.time
    if step == "boil" and time is not None:
        return f"{hop.variety}, {time.value:g} min"
    return f"{hop.variety}, {step}"


def _hop_row(number: int, hop: Hop) -> Row:
    amount = hop.mass or hop.rate
    weight = weighed(amount)
    stated = {} if weight is None else {"weighing_factor": weight}
    return Row(hop.variety, _when_label(hop), stated, hop.lot, ("hop", number), amount=amount)


def _hot_side(
    recipe: Recipe,
    lists: Lists,
    hops: Sequence[tuple[int, Hop]],
    place: Mapping[int, int],
) -> None:
    stands = [h.when.time.value for _, h in hops if h.when.step == "whirlpool" and h.when.time]
    longest = max(stands, default=0.0)
    lists.rows["hop"] = [_hop_row(i, h) for i, h in hops]

    def each(value: Callable[[Hop], float]) -> FloatArray:
        return column([value(hop) for _, hop in hops])

    def boiled(hop: Hop) -> float:
        """Minutes of a timed addition; mash and first-wort hops boil as long as the wort."""
        return hop.when.time.value if hop.when.step == "boil" and hop.when.time else 0.0

    def stood(hop: Hop) -> float:
        if hop.when.step != "whirlpool" or not longest or hop.when.time is None:
            return 1.0
        return hop.when.time.value / longest

    lists.fixed |= {
        "hop_mass_g": each(lambda h: hop_grams(h, recipe.volume.value)),
        "hop_boil_time_min": each(boiled),
        "hop_in_mash_share": each(lambda h: float(h.when.step == "mash")),
        "hop_in_first_wort_share": each(lambda h: float(h.when.step == "first wort")),
        "hop_in_whirlpool_share": each(lambda h: float(h.when.step == "whirlpool")),
        "hop_stand_share": each(stood),
        "hop_is_pellet_share": each(lambda h: float(h.form == "pellet")),
        "hop_lot_of_hop": np.array([place[id(h)] for _, h in hops], dtype=np.intp),
    }
    _stand(lists, [h for _, h in hops if h.when.step == "whirlpool"])


def _stand(lists: Lists, hops: Sequence[Hop]) -> None:
    """Note the one hop stand: the longest time and the temperature that its hops agree on."""
    temperatures = stand_temperatures(hops)
    times = sorted((h.when.time for h in hops if h.when.time), key=lambda time: time.value)
    for stated in times[-1:]:
        lists.stated |= beside("stand_time_min", stated)
    for stated in temperatures[:1]:
        lists.stated |= beside("stand_set_temperature_c", stated)


_CONTACT_DAYS = 4.0


def _cold_side(
    recipe: Recipe,
    lists: Lists,
    hops: Sequence[tuple[int, Hop]],
    place: Mapping[int, int],
) -> None:
    warmth = recipe.yeast.temperature.value if recipe.yeast.temperature else 18.0
    lists.rows["dry_hop"] = [_hop_row(i, h) for i, h in hops]

    def each(value: Callable[[Hop], float]) -> FloatArray:
        return column([value(hop) for _, hop in hops])

    lists.fixed |= {
        "dry_hop_mass_g": each(lambda h: hop_grams(h, recipe.volume.value)),
        "dry_hop_contact_day": each(
            lambda h: h.when.time.value if h.when.time is not None else _CONTACT_DAYS
        ),
        "dry_hop_temperature_c": each(
            lambda h: h.when.temperature.value if h.when.temperature is not None else warmth
        ),
        "dry_hop_in_fermentation_share": each(lambda h: float(h.when.fermenting)),
        "hop_lot_of_dry_hop": np.array([place[id(h)] for _, h in hops], dtype=np.intp),
    }
