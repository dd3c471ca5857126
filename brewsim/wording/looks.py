"""How an outcome is shown: label, unit, rounding."""

from brewsim.quantities.catalogue import BY_QUANTITY, outcome_of
from brewsim.study.model.problem import Problem
from brewsim.units import unit_of
from brewsim.wording.content import Look
from brewsim.wording.sentences import capital

_VERBS = {
    "original_gravity_sg": "start",
    "final_gravity_sg": "finish",
    "alcohol_by_volume_fraction": "finish",
    "bitterness_ibu": "carry",
    "beer_color_ebc": "pour",
    "beer_color_srm": "pour",
    "carbonation_vol": "hold",
    "packaged_volume_l": "fill",
}


_UNITS = {"alcohol_by_volume_fraction": "% ABV", "carbonation_vol": "volumes of CO₂"}


_DECIMALS = {
    "": 2,
    "%": 1,
    "SG": 3,
    "°P": 1,
    "IBU": 0,
    "EBC": 0,
    "SRM": 0,
    "g/L": 1,
    "L": 1,
    "vol": 1,
    "kcal/L": 0,
}


def look_of(name: str, label: str = "", unit: str | None = None) -> Look:
    """Return how a quantity is shown: label, shown unit, rounding, fold or not."""
    base = name.partition("__")[0]
    unit = unit_of(base) or "" if unit is None else unit
    label = label or base.replace("_", " ")
    if unit == "doublings":
        return Look(label, "", fold=True)
    verb = _VERBS.get(base, "")
    if base.endswith(("_fraction", "_share")):
        return Look(label, _UNITS.get(base, "%"), 1, 100.0, verb=verb)
    kind = "SG" if base.endswith("_sg") else unit
    return Look(label, _UNITS.get(base, unit), _DECIMALS.get(kind), verb=verb)


def recipe_looks(problem: Problem) -> dict[str, Look]:
    """Return a look for every outcome and target of a posed recipe."""
    looks = {}
    for name in dict.fromkeys((*problem.outcomes, *problem.targets)):
        row = outcome_of(name, problem.units)
        usual = look_of(name)
        fold = row.unit == "doublings"
        unit = "" if fold or row.unit == "SG" else row.unit
        unit = usual.unit if unit == "vol" else unit
        label = row.label if name in BY_QUANTITY else problem.graph.label(name)
        looks[name] = Look(
            capital(label), unit, row.decimals, row.per_model, fold=fold, verb=usual.verb
        )
    return looks
