"""The catalogue: one row for each quantity that a person meets by name.

A row holds everything that another room says of the quantity: what people type, the label, the
unit and the rounding, the verb of its forecast, and what a measured value can be. A new quantity
is one row here.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from brewsim.dims import Range, Scale
from brewsim.quantities.conversion import Unit, from_model
from brewsim.quantities.dimensions import kind_of, model_unit_of
from brewsim.quantities.english import capital
from brewsim.units import unit_of

FOLDS = "folds"
"""Unit of a ratio whose logarithm to base 2 is modelled: people read so many times."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity as a person meets it: `per_model` shown units make one model unit.

    A value has `decimals` digits after the point, or `figures` significant figures where that is
    None. `label` stands inside a sentence; `verb` says what the next batch does with it. People
    type `name`, or one of `also`. `role` says who may ask: "page" are the outcomes of every
    report, "side" is computed for every recipe, "asked" only where somebody asks.
    """

    quantity: str
    name: str
    label: str
    unit: str
    decimals: int | None = None
    per_model: float = 1.0
    figures: int = 2
    scale: Scale = "linear"
    verb: str = ""
    also: tuple[str, ...] = ()
    role: Literal["page", "side", "asked"] = "page"

    @property
    def title(self) -> str:
        """The label at the head of a sentence or a chart."""
        return capital(self.label)

    @property
    def fold(self) -> bool:
        """Whether the model has doublings and people read so many times."""
        return self.unit == FOLDS

    @property
    def limits(self) -> Range:
        """What a measured value can be, model units."""
        unit = model_unit_of(self.quantity) or ""
        signed = (
            "error" in self.quantity or "slope" in self.quantity or unit in ("doublings", "Δ°C")
        )
        return _POSSIBLE.get(unit, (-math.inf if signed else 0.0, math.inf))

    def finer(self) -> "Quantity":
        """Return the row with one more digit."""
        decimals = None if self.decimals is None else self.decimals + 1
        return replace(self, decimals=decimals, figures=self.figures + 1)


_felt = partial(Quantity, scale="log2")
_side = partial(Quantity, role="side")
_asked = partial(Quantity, role="asked")

_ROWS = (
    Quantity(
        "original_gravity_sg",
        "original_gravity",
        "original gravity",
        "SG",
        3,
        verb="start",
        also=("og",),
    ),
    Quantity(
        "final_gravity_sg", "final_gravity", "final gravity", "SG", 3, verb="finish", also=("fg",)
    ),
    Quantity(
        "alcohol_by_volume_fraction",
        "alcohol",
        "strength",
        "% ABV",
        1,
        100.0,
        verb="reach",
        also=("abv", "strength"),
    ),
    Quantity("bitterness_ibu", "bitterness", "bitterness", "IBU", 0, verb="carry", also=("ibu",)),
    Quantity("beer_color_ebc", "color", "colour", "EBC", 0, verb="pour", also=("colour",)),
    Quantity("carbonation_vol", "carbonation", "carbonation", "vol", 1, verb="hold"),
    _felt("thiol_activity", "thiol_activity", "thiol activity", "odour units"),
    Quantity("thiol_lead", "thiol_lead", "thiol lead over the hops", FOLDS),
    Quantity("thiol_to_bitterness", "thiol_to_bitterness", "thiols against bitterness", FOLDS),
    _felt("free_3sh_ng_l", "free_3sh", "3SH (grapefruit, passion fruit)", "ng/L"),
    _felt("free_3sha_ng_l", "free_3sha", "3SHA (passion fruit, guava)", "ng/L"),
    _felt("free_4msp_ng_l", "free_4msp", "4MSP (blackcurrant, box tree)", "ng/L"),
    _felt("hop_aroma_activity", "hop_aroma_activity", "hop aroma activity", "odour units"),
    Quantity(
        "bitterness_to_gravity", "bitterness_to_gravity", "bitterness to gravity", "IBU/point", 2
    ),
    Quantity("packaged_volume_l", "packaged_volume", "packaged volume", "L", 1, verb="fill"),
    _side("original_extract_plato", "original_extract", "original extract", "°P", 1),
    _side("final_extract_plato", "final_extract", "final extract", "°P", 1),
    _asked("apparent_attenuation_fraction", "attenuation", "apparent attenuation", "%", 0, 100.0),
    _side("fermenter_volume_l", "fermenter_volume", "wort into the fermenter", "L", 1),
    _asked("preboil_volume_l", "preboil_volume", "wort before the boil", "L", 1),
    _asked("preboil_gravity_sg", "preboil_gravity", "gravity before the boil", "SG", 3),
    _side("preboil_extract_plato", "preboil_extract", "extract before the boil", "°P", 1),
    _asked("postboil_volume_l", "postboil_volume", "wort after the boil", "L", 1),
    _asked("cast_wort_gravity_sg", "cast_wort_gravity", "gravity of the cast wort", "SG", 3),
    _asked("lactic_acid_g_l", "lactic_acid", "lactic acid from souring", "g/L", 1),
    _asked("mash_temperature_c", "mash_temperature", "mash temperature", "°C", 1),
    _asked("strike_water_temperature_c", "strike_water", "temperature of the mash water", "°C", 1),
    _asked(
        "strongest_thiol_lead", "strongest_lead", "thiol lead, strongest against strongest", FOLDS
    ),
    _asked("detecting_taster_share", "tasters", "tasters who notice thiols", "%", 0, 100.0),
    _side("tinseth_ibu", "tinseth", "bitterness by Tinseth's formula", "IBU", 0),
    _side("rager_ibu", "rager", "bitterness by Rager's formula", "IBU", 0),
    _side("garetz_ibu", "garetz", "bitterness by Garetz's formula", "IBU", 0),
    _side("rating_excess_vol", "rating_excess", "carbonation above the bottle's rating", "vol", 1),
    _side("bottle_pressure_bar", "bottle_pressure", "pressure in the package", "bar", 1),
    _side("energy_kcal_l", "energy", "energy", "kcal/L", 0),
    _side("real_extract_plato", "real_extract", "real extract", "°P", 1),
)

BY_QUANTITY = {row.quantity: row for row in _ROWS}
OUTCOMES = {row.name: row for row in _ROWS}
"""Rows by what people type."""
_ALSO = {word: row.name for row in _ROWS for word in row.also}
SIDE_FIGURES = tuple(row.quantity for row in _ROWS if row.role == "side")
"""Quantities computed for every recipe, though they are no outcomes of the page."""

_POSSIBLE = {
    "SG": (0.98, 1.2),
    "°P": (-5.0, 45.0),
    "fraction": (0.0, 1.0),
    "IBU": (0.0, 300.0),
    "vol": (0.0, 8.0),
    "EBC": (0.0, 300.0),
    "SRM": (0.0, 150.0),
    "pH": (2.5, 8.0),
    "°C": (-5.0, 110.0),
}
"""What a measured value can be, by model unit [common practice, no source]."""
_DECIMALS = {"SG": 3, "°P": 1, "IBU": 0, "EBC": 0, "SRM": 0, "vol": 1, "kcal/L": 0, "pH": 2}
"""Digits after the point of a quantity without a row; any other has three figures."""
_FIGURES = 3
_MOST_DECIMALS = 2
"""Of an amount in another unit: who measures in barrels brews many."""


def outcome_of(quantity: str, units: Mapping[str, str] | None = None, label: str = "") -> Quantity:
    """Return the row of a quantity; without one of its own, what the unit of its name tells.

    `units` are those a person uses instead (`Problem.units`). `label` is for a quantity without a
    row.
    """
    row = _model_row(quantity, label)
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


def _model_row(quantity: str, label: str) -> Quantity:
    known = BY_QUANTITY.get(quantity) or OUTCOMES.get(quantity)
    if known is not None:
        return known
    label = label or quantity.partition("__")[0].replace("_", " ")
    model_unit = model_unit_of(quantity) or ""
    if model_unit == "fraction":
        return Quantity(quantity, quantity, label, "%", None, 100.0, _FIGURES, role="asked")
    unit = {"doublings": FOLDS, "SG": "SG"}.get(model_unit, unit_of(quantity) or "")
    decimals = _DECIMALS.get(model_unit)
    return Quantity(quantity, quantity, label, unit, decimals, 1.0, _FIGURES, role="asked")


def quantity_of(name: str) -> str:
    """Return the quantity behind a name a person typed."""
    typed = "_".join(name.lower().split())
    row = OUTCOMES.get(_ALSO.get(typed, typed))
    return row.quantity if row is not None else name
