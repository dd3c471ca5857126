"""What a quantity's unit measures, told by the quantity's name or by the unit itself."""

import re

from brewsim.quantities.spellings import BY_KIND
from brewsim.units import unit_of

_KIND_OF_MODEL_UNIT = {
    "fraction": "fraction",
    "": "number",
    "odour units": "number",
    "doublings": "number",
    "°P": "gravity",
    "SG": "gravity",
    "EBC": "colour",
    "SRM": "colour",
    "°L": "colour",
    "vol": "carbonation",
    "IBU": "bitterness",
    "pH": "pH",
    "Δ°C": "temperature difference",
    "m": "altitude",
    "nmol/L": "molar concentration",
}
COMPOSED = {
    ("mass", "volume"): "concentration",
    ("mass", "mass"): "content",
    ("volume", "mass"): "volume per mass",
    ("volume", "time"): "flow",
    ("number", "time"): "rate",
}
"""What a unit over a unit measures."""


def model_unit_of(name: str) -> str | None:
    """Return the model unit of a quantity's name, with fractions told apart.

    None if the name ends in no known unit.
    """
    base = name.partition("__")[0]
    if base.endswith(("_fraction", "_share")):
        return "fraction"
    if base.endswith("_sg"):
        return "SG"
    unit = unit_of(base)
    if unit == "°C" and re.search(r"_(error|halving|width|step|rise|loss)(_|$)", base):
        return "Δ°C"
    return unit


def kind_of(model_unit: str) -> str:
    """Return what a model unit measures ("mass", "fraction", ...), "other" if it has one form."""
    if model_unit in _KIND_OF_MODEL_UNIT:
        return _KIND_OF_MODEL_UNIT[model_unit]
    above, slash, below = model_unit.partition("/")
    if not slash:
        return _simple(above)
    upper = "number" if above == "1" else _simple(above)
    return COMPOSED.get((upper, _simple(below)), "other")


def _simple(symbol: str) -> str:
    for kind, table in BY_KIND.items():
        if symbol in table and kind not in ("carbonation", "gravity", "colour"):
            return kind
    return "other"
