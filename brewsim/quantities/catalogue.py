"""Outcomes by the names people type, and how each is shown."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from brewsim.dims import Scale
from brewsim.quantities.conversion import Unit, from_model
from brewsim.quantities.dimensions import kind_of, model_unit_of
from brewsim.units import unit_of


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a quantity is shown: `per_model` shown units make one model unit.

    `decimals` None means two significant figures.
    """

    name: str
    quantity: str
    label: str
    unit: str
    decimals: int | None
    per_model: float = 1.0
    scale: Scale = "linear"
    default: bool = True


_ROWS = (
    Outcome("original_gravity", "original_gravity_sg", "original gravity", "SG", 3),
    Outcome("final_gravity", "final_gravity_sg", "final gravity", "SG", 3),
    Outcome("alcohol", "alcohol_by_volume_fraction", "strength", "% ABV", 1, 100.0),
    Outcome("bitterness", "bitterness_ibu", "bitterness", "IBU", 0),
    Outcome("color", "beer_color_ebc", "colour", "EBC", 0),
    Outcome("carbonation", "carbonation_vol", "carbonation", "vol", 1),
    Outcome(
        "thiol_activity", "thiol_activity", "thiol activity", "odour units", None, scale="log2"
    ),
    Outcome("thiol_lead", "thiol_lead", "thiol lead over the hops", "doublings", 1),
    Outcome(
        "thiol_to_bitterness", "thiol_to_bitterness", "thiols against bitterness", "doublings", 1
    ),
    Outcome(
        "free_3sh", "free_3sh_ng_l", "3SH (grapefruit, passion fruit)", "ng/L", None, scale="log2"
    ),
    Outcome(
        "free_3sha", "free_3sha_ng_l", "3SHA (passion fruit, guava)", "ng/L", None, scale="log2"
    ),
    Outcome(
        "free_4msp", "free_4msp_ng_l", "4MSP (blackcurrant, box tree)", "ng/L", None, scale="log2"
    ),
    Outcome(
        "hop_aroma_activity",
        "hop_aroma_activity",
        "hop aroma activity",
        "odour units",
        None,
        scale="log2",
    ),
    Outcome(
        "bitterness_to_gravity", "bitterness_to_gravity", "bitterness to gravity", "IBU/point", 2
    ),
    Outcome("packaged_volume", "packaged_volume_l", "packaged volume", "L", 1),
    Outcome(
        "original_extract", "original_extract_plato", "original extract", "°P", 1, default=False
    ),
    Outcome("final_extract", "final_extract_plato", "final extract", "°P", 1, default=False),
    Outcome(
        "attenuation",
        "apparent_attenuation_fraction",
        "apparent attenuation",
        "%",
        0,
        100.0,
        default=False,
    ),
    Outcome(
        "fermenter_volume", "fermenter_volume_l", "wort in the fermenter", "L", 1, default=False
    ),
    Outcome("preboil_volume", "preboil_volume_l", "wort before the boil", "L", 1, default=False),
    Outcome(
        "preboil_gravity", "preboil_gravity_sg", "gravity before the boil", "SG", 3, default=False
    ),
    Outcome(
        "preboil_extract",
        "preboil_extract_plato",
        "extract before the boil",
        "°P",
        1,
        default=False,
    ),
    Outcome("postboil_volume", "postboil_volume_l", "wort after the boil", "L", 1, default=False),
    Outcome("mash_temperature", "mash_temperature_c", "mash temperature", "°C", 1, default=False),
    Outcome(
        "strike_water",
        "strike_water_temperature_c",
        "temperature of the mash water",
        "°C",
        1,
        default=False,
    ),
    Outcome(
        "tasters",
        "detecting_taster_share",
        "tasters who notice thiols",
        "%",
        0,
        100.0,
        default=False,
    ),
    Outcome("tinseth", "tinseth_ibu", "bitterness by Tinseth's formula", "IBU", 0, default=False),
    Outcome("rager", "rager_ibu", "bitterness by Rager's formula", "IBU", 0, default=False),
    Outcome("garetz", "garetz_ibu", "bitterness by Garetz's formula", "IBU", 0, default=False),
    Outcome(
        "rating_excess",
        "rating_excess_vol",
        "carbonation above the bottle's rating",
        "vol",
        1,
        default=False,
    ),
    Outcome(
        "bottle_pressure", "bottle_pressure_bar", "pressure in the package", "bar", 1, default=False
    ),
    Outcome("energy", "energy_kcal_l", "energy", "kcal/L", 0, default=False),
    Outcome("real_extract", "real_extract_plato", "real extract", "°P", 1, default=False),
)

SIDE_FIGURES = (
    "tinseth_ibu",
    "rager_ibu",
    "garetz_ibu",
    "rating_excess_vol",
    "bottle_pressure_bar",
    "energy_kcal_l",
    "real_extract_plato",
    "preboil_extract_plato",
    "original_extract_plato",
    "final_extract_plato",
    "fermenter_volume_l",
)
"""Quantities worth asking for that are not on the page's list of outcomes: always drawn for."""

OUTCOMES = {row.name: row for row in _ROWS}
BY_QUANTITY = {row.quantity: row for row in _ROWS}


_MOST_DECIMALS = 2
"""Of an amount in another unit: who measures in barrels brews many."""
TWINS = {
    "original_gravity_sg": "original_extract_plato",
    "preboil_gravity_sg": "preboil_extract_plato",
    "final_gravity_sg": "final_extract_plato",
}
"""The same thing as a gravity and as an extract."""
TWINS |= {plato: gravity for gravity, plato in TWINS.items()}


def outcome_of(quantity: str, units: Mapping[str, str] | None = None) -> Outcome:
    """Return how a quantity is shown; a quantity outside the list by the unit of its name.

    `units` are those a person uses instead (`Problem.units`).
    """
    row = _model_row(quantity)
    wanted = (units or {}).get(quantity)
    if wanted is None:
        return row
    model_unit = model_unit_of(quantity) or ""
    per_model = from_model(1.0, Unit(wanted, kind_of(model_unit)), model_unit)
    decimals = row.decimals
    if decimals is not None:
        finer = decimals - round(math.log10(per_model / row.per_model))
        decimals = min(max(0, finer), _MOST_DECIMALS)
    return replace(row, unit=wanted, per_model=per_model, decimals=decimals)


def _model_row(quantity: str) -> Outcome:
    known = BY_QUANTITY.get(quantity) or OUTCOMES.get(quantity)
    if known is not None:
        return known
    unit = unit_of(quantity) or ""
    share = quantity.endswith(("_fraction", "_share"))
    return Outcome(
        quantity,
        quantity,
        quantity.replace("_", " "),
        "%" if share else unit,
        None,
        100.0 if share else 1.0,
        default=False,
    )


_SHORT = {
    "og": "original_gravity",
    "fg": "final_gravity",
    "abv": "alcohol",
    "strength": "alcohol",
    "ibu": "bitterness",
    "colour": "color",
}
"""What the trade also calls them."""


def quantity_of(name: str) -> str:
    """Return the quantity behind a name a person typed."""
    typed = "_".join(name.lower().split())
    row = OUTCOMES.get(_SHORT.get(typed, typed))
    return row.quantity if row is not None else name
