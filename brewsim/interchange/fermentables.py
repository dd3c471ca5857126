"""Fermentables of a BeerJSON document: malts, sugars, extracts."""

from brewsim.constants import gravity_of
from brewsim.interchange.additions import leave, mass_of, minutes_of, note_maker
from brewsim.interchange.ledger import Place, number_text
from brewsim.interchange.toml_text import Table
from brewsim.interchange.units import COLOR, GRAVITY
from brewsim.priors import library

SUCROSE_POINTS = 46.21
"""Points of gravity of a pound of sucrose in a US gallon.

Source: definition of a potential in the pound and gallon system (46.21 for 100 % extract)."""
_THOUSANDS = 900.0
"""A gravity from here on is written in thousandths, 1037 for 1.037."""
_FEWEST_POINTS = 5.0
"""A gravity from here on is written in points, 37 for 1.037."""
_SHARE = 1.0
"""A yield of so many percent or less is written as a share of 1: no fermentable gives so little."""
_LATE_MIN = 15.0
_SUGARS = {
    "dry extract": "Dry malt extract",
    "extract": "Liquid malt extract",
    "sugar": "Sucrose",
    "honey": "Honey",
}
"""Kind of fermentable -> the entry of the library that one without a known name is taken as."""


def malt_tables(additions: Place, priors: library.Priors) -> list[Table]:
    """Return a table for every malt, sugar and extract that is given by weight."""
    found = []
    for place in additions.places("fermentable_additions"):
        name, kind = place.text("name", needed=True), place.text("type", needed=True)
        note_maker(place, name)
        group = place.text("grain_group")
        mass = mass_of(place, name)
        if not mass:
            continue
        known = {kind for kind in ("malt", "sugar") if priors.find(kind, name) is not None}
        if kind == "grain" or (kind == "other" and (group or "malt" in known)):
            if kind == "other":
                place.ledger.assumed.append(f"{name}: of type other; read as a grain")
            found.append(_malt(place, name, mass))
        elif kind in _SUGARS or (kind == "other" and "sugar" in known):
            found.append(_sugar(place, name, mass, kind, priors))
        else:
            leave(place, name, f"brewsim has no fermentable of type {kind or 'unknown'}")
    return found


def _malt(place: Place, name: str, mass: str) -> Table:
    table = Table("[[malt]]")
    table.add("name", name, path=f"{place.path}.name")
    table.add("mass", mass, path=f"{place.path}.amount")
    _yield(place, table)
    table.add("color", place.amount("color", COLOR), path=f"{place.path}.color")
    timing = place.place("timing")
    use = timing.text("use") if timing is not None else ""
    if use not in ("", "add_to_mash"):
        place.ledger.assumed.append(f"{name}: a grain is mashed, although its timing says {use}")
    return table


def _yield(place: Place, table: Table) -> None:
    held = place.place("yield")
    if held is None:
        return
    path = f"{place.path}.yield"
    fine = held.percent("fine_grind", _SHARE)
    if fine == "0 %":
        place.ledger.assumed.append(f"{path}.fine_grind: 0 % is read as not known")
        fine = ""
    if fine:
        table.add("extract", fine, "fine grind", path)
        return
    coarse, gap = held.place("coarse_grind"), held.place("fine_coarse_difference")
    if coarse is not None:
        value = (coarse.number("value") or 0.0) + ((gap.number("value") if gap else 0.0) or 0.0)
        told = "coarse grind and difference" if gap else "coarse grind, read as fine"
        table.add("extract", f"{number_text(value)} %", told, path)
        return
    potential = held.amount("potential", GRAVITY)
    if potential:
        parts = [_gravity(part) for part in potential.split(" to ")]
        told = " to ".join(number_text(1e5 * (sg - 1) / SUCROSE_POINTS, 6) for sg in parts)
        table.add("extract", f"{told} %", f"potential {potential}", path)


def _gravity(potential: str) -> float:
    """Return a potential as a gravity: 1.037, 1037, 37 points or 9.3 °P."""
    number, _, unit = potential.partition(" ")
    value = float(number)
    if unit == "°P":
        return float(gravity_of(value))
    if value >= _THOUSANDS:
        return value / 1000
    return 1 + value / 1000 if value >= _FEWEST_POINTS else value


def _sugar(place: Place, name: str, mass: str, kind: str, priors: library.Priors) -> Table:
    table = Table("[[sugar]]")
    if priors.find("sugar", name) is not None:
        table.add("name", name, path=f"{place.path}.name")
    else:
        table.add("name", _SUGARS[kind], f"assumed for the {kind} “{name}”", f"{place.path}.type")
        place.ledger.assumed.append(f"{name}: taken as {_SUGARS[kind]}, by its type {kind}")
    table.add("mass", mass, path=f"{place.path}.amount")
    _yield(place, table)
    table.add("color", place.amount("color", COLOR), path=f"{place.path}.color")
    timing = place.place("timing")
    use = timing.text("use") if timing is not None else ""
    minutes = minutes_of(timing, "duration")
    late = use == "add_to_boil" and minutes is not None and minutes <= _LATE_MIN
    cold = use in ("add_to_fermentation", "add_to_package")
    if use == "add_to_package":
        place.ledger.assumed.append(f"{name}: add to package is read as into the fermenter")
    table.add("when", "fermenter" if cold else "late" if late else "boil")
    return table
