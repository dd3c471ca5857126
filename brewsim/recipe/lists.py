"""The recipe's lists as the graph sees them: rows in a fixed order, settings as arrays."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.recipe.ages import age_of
from brewsim.recipe.gathering import gathered, turned_places
from brewsim.recipe.plan import hop_grams
from brewsim.recipe.priors import folded
from brewsim.recipe.schema import Block, Hop, Malt, Precursor, Recipe, Sugar
from brewsim.recipe.settings import beside, factor_of
from brewsim.recipe.stated import Phrase, Stated

_HOT = ("mash", "first wort", "boil", "flameout", "whirlpool")


@dataclass(frozen=True)
class Row:
    """One row of a list: its ingredient, lot, what the recipe states of it, and where it stands.

    `stated` is by quantity name without the list prefix; `origin` is (kind, number in the file).
    """

    name: str
    label: str
    stated: Mapping[str, Stated]
    lot: str = ""
    origin: tuple[str, int] = ("", 0)
    wrap: str = ""
    amount: Stated | None = None


@dataclass
class Lists:
    """Rows by list, and the settings the recipe fixes, by whole quantity name."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    fixed: dict[str, FloatArray] = field(default_factory=dict)
    stated: dict[str, Stated] = field(default_factory=dict)
    """What rows say of the batch as a whole: the hop stand's time and temperature."""

    def row_of(self, axis: str, origin: tuple[str, int]) -> int | None:
        """Return the place of a line of the file in a list, or None."""
        for place, row in enumerate(self.rows.get(axis, [])):
            if row.origin == origin:
                return place
        return None


def lists_of(recipe: Recipe) -> Lists:
    """Return the recipe's lists; the order of lines in the file changes nothing."""
    lists = Lists()
    _grist(recipe, lists)
    _hops(recipe, lists)
    _precursors(recipe, lists)
    return lists


def _column(values: Sequence[float]) -> FloatArray:
    return np.array(values, dtype=float).reshape(-1, 1)


def _weighed(amount: Stated | None) -> Stated | None:
    return factor_of(amount) if amount is not None else None


def _stated(block: Block, **named: Stated | None) -> dict[str, Stated]:
    return {name: value for name, value in named.items() if value is not None} | dict(block.given)


def _grist(recipe: Recipe, lists: Lists) -> None:
    malts = sorted(
        gathered(recipe.malt, turned_places(recipe, "malt")),
        key=lambda g: (g[0][1].name, g[0][1].lot, _mass(g)),
    )
    lists.rows["malt"] = [
        Row(
            m.name,
            _named(m.name, m.lot),
            _stated(
                m,
                extract_dry_fraction=m.extract,
                moisture_fraction=m.moisture,
                color_lovibond=m.color,
                fermentability_factor=m.fermentability,
                weighing_factor=factor_of(m.mass),
            ),
            m.lot,
            ("malt", i),
            amount=None if more else m.mass,
        )
        for (i, m), *more in malts
    ]
    lists.fixed["malt_mass_kg"] = _column([_mass(group) for group in malts])
    sugars = sorted(
        gathered(recipe.sugar, turned_places(recipe, "sugar")),
        key=lambda g: (g[0][1].name, _mass(g)),
    )
    lists.rows["sugar"] = [
        Row(
            s.name,
            s.name,
            _stated(
                s,
                extract_fraction=s.extract,
                water_fraction=s.moisture,
                color_lovibond=s.color,
                fermentable_fraction=s.fermentability,
                weighing_factor=factor_of(s.mass),
            ),
            "",
            ("sugar", i),
            amount=None if more else s.mass,
        )
        for (i, s), *more in sugars
    ]
    lists.fixed["sugar_mass_kg"] = _column([_mass(group) for group in sugars])


def _mass(group: Sequence[tuple[int, Malt | Sugar]]) -> float:
    """Return the mass of lines that belong together, kg; the same in any order of the lines."""
    return math.fsum(line.mass.value for _, line in group)


def _named(name: str, lot: str) -> str:
    return f"{name}, lot {lot}" if lot else name


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
    keys = _lot_keys([hop for _, hop in numbered])
    lots = _lots(recipe, [hop for _, hop in numbered], keys)
    lists.rows["hop_lot"] = [row for _, row in lots]
    order = [key for key, _ in lots]
    place = {id(hop): order.index(key) for (_, hop), key in zip(numbered, keys, strict=True)}
    hot = [(i, h) for i, h in numbered if h.when.step in _HOT]
    cold = [(i, h) for i, h in numbered if h.when.step == "dry hop"]
    _hot_side(recipe, lists, hot, place)
    _cold_side(recipe, lists, cold, place)


_LotKey = tuple[str, str, str]


def _lot_keys(hops: Sequence[Hop]) -> list[_LotKey]:
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


def _lots(
    recipe: Recipe, hops: Sequence[Hop], keys: Sequence[_LotKey]
) -> list[tuple[_LotKey, Row]]:
    lots = []
    for key in sorted(set(keys)):
        members = [hop for hop, own in zip(hops, keys, strict=True) if own == key]
        stated: dict[str, Stated] = {}
        for hop in members:
            own = _stated(
                hop,
                stated_alpha_fraction=hop.alpha,
                age_month=age_of(hop, recipe),
                storage_temperature_c=hop.storage,
            )
            stated |= {name: value for name, value in own.items() if name not in stated}
        wrap = next((hop.wrap for hop in members if hop.wrap), "")
        variety, lot, alpha = members[0].variety, key[1], key[2]
        doubled = alpha and len({k for k in keys if k[:2] == key[:2]}) > 1
        label = f"{variety} at {alpha}" if doubled else _named(variety, lot)
        lots.append((key, Row(variety, label, stated, lot, ("lot", 0), wrap)))
    return lots


def _when_label(hop: Hop) -> str:
    step, time = hop.when.step, hop.when.time
    if step == "boil" and time is not None:
        return f"{hop.variety}, {time.value:g} min"
    return f"{hop.variety}, {step}"


def _hop_row(number: int, hop: Hop) -> Row:
    amount = hop.mass or hop.rate
    weighed = _weighed(amount)
    stated = {} if weighed is None else {"weighing_factor": weighed}
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
        return _column([value(hop) for _, hop in hops])

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
    _stand(recipe, lists, [h for _, h in hops if h.when.step == "whirlpool"])


def _stand(recipe: Recipe, lists: Lists, hops: Sequence[Hop]) -> None:
    """Note the one hop stand: the longest time and the temperature that its hops agree on."""
    temperatures = {
        h.when.temperature.value: h.when.temperature for h in hops if h.when.temperature
    }
    if len(temperatures) > 1:
        told = " and ".join(f"{t:g} °C" for t in sorted(temperatures))
        raise InputError(recipe.name, [f"whirlpool: one hop stand has one temperature, not {told}"])
    times = sorted((h.when.time for h in hops if h.when.time), key=lambda time: time.value)
    for stated in times[-1:]:
        lists.stated |= beside("stand_time_min", stated)
    for stated in temperatures.values():
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
        return _column([value(hop) for _, hop in hops])

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


def _precursors(recipe: Recipe, lists: Lists) -> None:
    volume = recipe.volume.value

    def dose(item: Precursor) -> float:
        if item.dose is not None:
            return item.dose.value
        return item.mass.value / volume if item.mass is not None else 0.0

    def at(group: Sequence[tuple[int, Precursor]], step: str) -> float:
        """Return which share of a product is added at a step of the brew day."""
        total = math.fsum(dose(p) for _, p in group)
        if not total:
            return float(group[0][1].when.step == step)
        return math.fsum(dose(p) for _, p in group if p.when.step == step) / total

    groups = sorted(
        gathered(recipe.precursor, turned_places(recipe, "precursor"), apart=("when",)),
        key=lambda g: (g[0][1].name, g[0][1].lot, [(p.when.step, dose(p)) for _, p in g]),
    )
    lists.rows["precursor"] = [
        Row(
            p.name,
            _named(p.name, p.lot),
            _stated(
                p,
                content_ug_kg=p.content,
                free_equivalent_share=_counted(p),
                weighing_factor=_weighed(p.dose or p.mass),
            ),
            p.lot,
            ("precursor", i),
            amount=None if more else p.dose or p.mass,
        )
        for (i, p), *more in groups
    ]
    lists.fixed["precursor_dose_g_l"] = _column([math.fsum(dose(p) for _, p in g) for g in groups])
    for step, name in (
        ("mash", "mash"),
        ("boil", "kettle"),
        ("whirlpool", "whirlpool"),
        ("fermentation", "fermentation"),
    ):
        shares = [at(group, step) for group in groups]
        lists.fixed[f"precursor_in_{name}_share"] = _column(shares)


def _counted(item: Precursor) -> Stated | None:
    """Return whether a stated content counts free thiol that could be had, not conjugate."""
    if item.basis is None:
        return None
    share = float(item.basis == "free-thiol equivalent")
    return Stated(item.basis, Phrase("exactly", share), "fraction", line=item.line)
