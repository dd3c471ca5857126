"""Rows of malts, kettle sugars and thiol precursors; lines that belong together are one row."""

import math
from collections.abc import Sequence

from brewsim.beer.merge_lines import gathered, turned_places
from brewsim.beer.rows import Lists, Row, column, named, stated_of, weighed
from brewsim.beer.set_points import factor_of
from brewsim.quantities.statement import Phrase, Stated
from brewsim.recipe.schema import Malt, Precursor, Recipe, Sugar

PRECURSOR_STEPS = {
    "mash": "mash",
    "boil": "kettle",
    "whirlpool": "whirlpool",
    "fermentation": "fermentation",
}
"""Step of the brew day -> what it is called in the names of quantities."""


def add_grist(recipe: Recipe, lists: Lists) -> None:
    """Put the malts and kettle sugars in, in an order of their own."""
    malts = sorted(
        gathered(recipe.malt, turned_places(recipe, "malt")),
        key=lambda g: (g[0][1].name, g[0][1].lot, _mass(g)),
    )
    lists.rows["malt"] = [
        Row(
            m.name,
            named(m.name, m.lot),
            stated_of(
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
    lists.fixed["malt_mass_kg"] = column([_mass(group) for group in malts])
    sugars = sorted(
        gathered(recipe.sugar, turned_places(recipe, "sugar")),
        key=lambda g: (g[0][1].name, g[0][1].when, _mass(g)),
    )
    lists.rows["sugar"] = [
        Row(
            s.name,
            s.name,
            stated_of(
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
    lists.fixed["sugar_mass_kg"] = column([_mass(group) for group in sugars])
    lists.fixed["sugar_is_late_share"] = column([float(s.when == "late") for (_, s), *_ in sugars])


def _mass(group: Sequence[tuple[int, Malt | Sugar]]) -> float:
    """Return the mass of lines that belong together, kg; the same in any order of the lines."""
    return math.fsum(line.mass.value for _, line in group)


def add_precursors(recipe: Recipe, lists: Lists) -> None:
    """Put the precursors in; one product may be dosed at several steps."""
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
            named(p.name, p.lot),
            stated_of(
                p,
                content_ug_kg=p.content,
                free_equivalent_share=_counted(p),
                weighing_factor=weighed(p.dose or p.mass),
            ),
            p.lot,
            ("precursor", i),
            amount=None if more else p.dose or p.mass,
        )
        for (i, p), *more in groups
    ]
    lists.fixed["precursor_dose_g_l"] = column([math.fsum(dose(p) for _, p in g) for g in groups])
    for step, name in PRECURSOR_STEPS.items():
        shares = [at(group, step) for group in groups]
        lists.fixed[f"precursor_in_{name}_share"] = column(shares)


def _counted(item: Precursor) -> Stated | None:
    """Return whether a stated content counts free thiol that could be had, not conjugate."""
    if item.basis is None:
        return None
    share = float(item.basis == "free-thiol equivalent")
    return Stated(item.basis, Phrase("exactly", share), "fraction", line=item.line)
