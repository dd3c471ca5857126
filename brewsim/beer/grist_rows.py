"""Rows of malts, sugars, precursors and mash rests; lines that belong together are one."""

import math
from collections.abc import Sequence

from brewsim.beer.lines import Line
from brewsim.beer.merge_lines import gathered, turned_places
from brewsim.beer.rows import Lists, Row, column, named
from brewsim.beer.statements import Statements
from brewsim.quantities.format import bare
from brewsim.recipe.mash_schedule import Rest

PRECURSOR_STEPS = {
    "mash": "mash",
    "boil": "kettle",
    "whirlpool": "whirlpool",
    "fermentation": "fermentation",
}
"""Step of the brew day -> what it is called in the names of quantities."""


def grist(statements: Statements) -> Lists:
    """Return the malts and kettle sugars, in an order of their own."""
    malts = sorted(
        gathered(statements.lines["malt"], turned_places(statements.knobs, "malt")),
        key=lambda group: (group[0].name, group[0].lot, _dosed(group)),
    )
    sugars = sorted(
        gathered(statements.lines["sugar"], turned_places(statements.knobs, "sugar")),
        key=lambda group: (group[0].name, group[0].words["when"], _dosed(group)),
    )
    times = [first.words["when"] for first, *_ in sugars]
    return Lists(
        {"malt": _rows(malts), "sugar": _rows(sugars)},
        {
            "malt_mass_kg": column([_dosed(group) for group in malts]),
            "sugar_mass_kg": column([_dosed(group) for group in sugars]),
            "sugar_is_late_share": column([float(when != "boil") for when in times]),
            "sugar_in_fermenter_share": column([float(when == "fermenter") for when in times]),
        },
    )


def precursors(statements: Statements) -> Lists:
    """Return the precursors; one product may be dosed at several steps."""
    groups = sorted(
        gathered(
            statements.lines["precursor"],
            turned_places(statements.knobs, "precursor"),
            any_step=True,
        ),
        key=lambda group: (
            group[0].name,
            group[0].lot,
            [(line.step, line.dosed) for line in group],
        ),
    )
    shares = {
        f"precursor_in_{name}_share": column([_at(group, step) for group in groups])
        for step, name in PRECURSOR_STEPS.items()
    }
    doses = column([_dosed(group) for group in groups])
    return Lists({"precursor": _rows(groups)}, {"precursor_dose_g_l": doses} | shares)


def rests_of(rests: Sequence[Rest]) -> Lists:
    """Return the rests that make sugar as rows; none where the mash has one temperature."""
    sugar = [rest for rest in rests if rest.makes_sugar]
    rows = tuple(
        Row(f"rest {n}", f"rest {n} at {bare(rest.celsius)} °C", {})
        for n, rest in enumerate(sugar, 1)
    )
    rises = [rest.celsius - sugar[0].celsius for rest in sugar]
    fixed = {
        "mash_rest_rise_c": column(rises),
        "mash_rest_time_min": column([rest.minutes for rest in sugar]),
    }
    return Lists({"mash_rest": rows}, fixed)


def _rows(groups: Sequence[Sequence[Line]]) -> tuple[Row, ...]:
    return tuple(
        Row(
            first.name,
            named(first.name, first.lot),
            first.said,
            first.lot,
            (first.kind, first.number),
            amount=None if more else first.amount,
        )
        for first, *more in groups
    )


def _dosed(group: Sequence[Line]) -> float:
    """Return the amount of lines that belong together; the same in any order of the lines."""
    return math.fsum(line.dosed for line in group)


def _at(group: Sequence[Line], step: str) -> float:
    """Return which share of a product is added at a step of the brew day."""
    total = _dosed(group)
    if not total:
        return float(group[0].step == step)
    return math.fsum(line.dosed for line in group if line.step == step) / total
