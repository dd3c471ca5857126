"""The recipe's lists as the graph sees them: rows in a fixed order, settings as arrays."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.recipe.plan import hop_grams
from brewsim.recipe.schema import Block, Hop, Precursor, Recipe
from brewsim.recipe.stated import Stated

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
    block: Block | None = None


@dataclass
class Lists:
    """Rows by list, and the settings the recipe fixes, by whole quantity name."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    fixed: dict[str, FloatArray] = field(default_factory=dict)

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


def _stated(block: Block, **named: Stated | None) -> dict[str, Stated]:
    return {name: value for name, value in named.items() if value is not None} | dict(block.given)


def _grist(recipe: Recipe, lists: Lists) -> None:
    malts = sorted(enumerate(recipe.malt), key=lambda m: (m[1].name, m[1].lot, m[1].mass.value))
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
            ),
            m.lot,
            ("malt", i),
            m,
        )
        for i, m in malts
    ]
    lists.fixed["malt_mass_kg"] = _column([m.mass.value for _, m in malts])
    sugars = sorted(enumerate(recipe.sugar), key=lambda s: (s[1].name, s[1].mass.value))
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
            ),
            "",
            ("sugar", i),
            s,
        )
        for i, s in sugars
    ]
    lists.fixed["sugar_mass_kg"] = _column([s.mass.value for _, s in sugars])


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
    lots = _lots([hop for _, hop in numbered])
    lists.rows["hop_lot"] = [lot for _, lot in lots]
    place = {key: i for i, (key, _) in enumerate(lots)}
    hot = [(i, h) for i, h in numbered if h.when.step in _HOT]
    cold = [(i, h) for i, h in numbered if h.when.step == "dry hop"]
    _hot_side(recipe, lists, hot, place)
    _cold_side(recipe, lists, cold, place)


def _lots(hops: Sequence[Hop]) -> list[tuple[tuple[str, str], Row]]:
    found: dict[tuple[str, str], list[Hop]] = {}
    for hop in hops:
        found.setdefault((hop.variety, hop.lot), []).append(hop)
    lots = []
    for (variety, lot), members in sorted(found.items()):
        stated: dict[str, Stated] = {}
        for hop in members:
            own = _stated(
                hop,
                stated_alpha_fraction=hop.alpha,
                age_month=hop.age,
                storage_temperature_c=hop.storage,
            )
            stated |= {name: value for name, value in own.items() if name not in stated}
        lots.append(
            (
                (variety, lot),
                Row(variety, _named(variety, lot), stated, lot, ("lot", 0), members[0]),
            )
        )
    return lots


def _when_label(hop: Hop) -> str:
    step, time = hop.when.step, hop.when.time
    if step == "boil" and time is not None:
        return f"{hop.variety}, {time.value:g} min"
    return f"{hop.variety}, {step}"


def _hop_row(number: int, hop: Hop) -> Row:
    return Row(hop.variety, _when_label(hop), {}, hop.lot, ("hop", number), hop)


def _hot_side(
    recipe: Recipe,
    lists: Lists,
    hops: Sequence[tuple[int, Hop]],
    place: Mapping[tuple[str, str], int],
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
        "hop_lot_of_hop": np.array([place[h.variety, h.lot] for _, h in hops], dtype=np.intp),
    }
    temperatures = {
        h.when.temperature.value
        for _, h in hops
        if h.when.step == "whirlpool" and h.when.temperature is not None
    }
    if len(temperatures) > 1:
        told = " and ".join(f"{t:g} °C" for t in sorted(temperatures))
        raise InputError(recipe.name, [f"whirlpool: one hop stand has one temperature, not {told}"])
    if stands:
        lists.fixed["stand_time_min"] = np.array([longest])
    if temperatures:
        lists.fixed["stand_set_temperature_c"] = np.array([temperatures.pop()])


_CONTACT_DAYS = 4.0


def _cold_side(
    recipe: Recipe,
    lists: Lists,
    hops: Sequence[tuple[int, Hop]],
    place: Mapping[tuple[str, str], int],
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
        "hop_lot_of_dry_hop": np.array([place[h.variety, h.lot] for _, h in hops], dtype=np.intp),
    }


def _precursors(recipe: Recipe, lists: Lists) -> None:
    volume = recipe.volume.value

    def dose(item: Precursor) -> float:
        if item.dose is not None:
            return item.dose.value
        return item.mass.value / volume if item.mass is not None else 0.0

    rows = sorted(
        enumerate(recipe.precursor), key=lambda p: (p[1].when.step, p[1].name, p[1].lot, dose(p[1]))
    )
    lists.rows["precursor"] = [
        Row(
            p.name,
            _named(p.name, p.lot),
            _stated(p, content_ug_kg=p.content),
            p.lot,
            ("precursor", i),
            p,
        )
        for i, p in rows
    ]
    lists.fixed["precursor_dose_g_l"] = _column([dose(p) for _, p in rows])
    for step, name in (
        ("mash", "mash"),
        ("boil", "kettle"),
        ("whirlpool", "whirlpool"),
        ("fermentation", "fermentation"),
    ):
        lists.fixed[f"precursor_in_{name}_share"] = _column(
            [float(p.when.step == step) for _, p in rows]
        )
