"""Ingredients of a BeerJSON document: malts, sugars, hops, other additions."""

from collections import Counter
from collections.abc import Iterator, Mapping

from brewsim.interchange.ledger import Place, number_text
from brewsim.interchange.toml_text import Table
from brewsim.interchange.units import COLOR, GRAVITY, MASS, MINUTES, PERCENT, TEMPERATURE, VOLUME
from brewsim.priors.library import Priors

SUCROSE_POINTS = 46.21
"""Points of gravity of a pound of sucrose in a US gallon.

Source: definition of a potential in the pound and gallon system (46.21 for 100 % extract)."""
_THOUSANDS = 900.0
"""A gravity from here on is written in thousandths, 1037 for 1.037."""
_LATE_MIN = 15.0
_STAND_BELOW_C = 98.0
_SUGARS = {
    "dry extract": "Dry malt extract",
    "extract": "Liquid malt extract",
    "sugar": "Sucrose",
    "honey": "Honey",
}
"""Kind of fermentable -> the entry of the library that one without a known name is taken as."""


def malt_tables(additions: Place, priors: Priors) -> list[Table]:
    """Return a table for every malt, sugar and extract that is given by weight."""
    found = []
    for place in additions.places("fermentable_additions"):
        name, kind = place.text("name", needed=True), place.text("type", needed=True)
        _maker(place, name)
        place.raw("grain_group")
        mass = _mass(place, name)
        if not mass:
            continue
        if kind == "grain":
            found.append(_malt(place, name, mass))
        elif kind in _SUGARS:
            found.append(_sugar(place, name, mass, kind, priors))
        else:
            _leave(place, name, f"brewsim has no fermentable of type {kind or 'unknown'}")
    return found


def _maker(place: Place, name: str) -> None:
    words = [place.text(key) for key in ("producer", "product_id", "origin")]
    if any(words):
        told = ", ".join(word for word in words if word)
        place.ledger.left.append(
            f"{name}: maker, product or origin ({told}); no prior is chosen by it"
        )


def _leave(place: Place, name: str, why: str) -> None:
    place.ledger.left.append(f"LEFT OUT OF THE BEER: {name}: {why}")


def _mass(place: Place, name: str) -> str:
    if "amount" not in place:
        place.fault("amount", "is missing")
        return ""
    held = place.place("amount")
    unit = held.text("unit") if held is not None else ""
    if unit in VOLUME:
        _leave(place, name, "it is given by volume; state its mass")
        return ""
    return place.amount("amount", MASS)


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
    fine = held.amount("fine_grind", PERCENT)
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
        unit = potential.split(" ")[-1]
        if unit == "°P":
            held.fault("potential", "is read as a gravity, 1.037 for example")
            return
        parts = [float(part) for part in potential.split(" to ")]
        parts = [sg / 1000 if sg >= _THOUSANDS else sg for sg in parts]
        told = " to ".join(number_text(1e5 * (sg - 1) / SUCROSE_POINTS, 6) for sg in parts)
        table.add("extract", f"{told} %", f"potential {potential}", path)


def _sugar(place: Place, name: str, mass: str, kind: str, priors: Priors) -> Table:
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
    late = use in ("add_to_fermentation", "add_to_package") or (
        use == "add_to_boil" and minutes is not None and minutes <= _LATE_MIN
    )
    if use in ("add_to_fermentation", "add_to_package"):
        place.ledger.assumed.append(f"{name}: {use.replace('_', ' ')} is read as late in the boil")
    table.add("when", "late" if late else "boil")
    return table


def minutes_of(timing: Place | None, key: str) -> float | None:
    """Return a time in minutes, None where there is none."""
    if timing is None or key not in timing:
        return None
    found = timing.one(key, {unit: unit for unit in MINUTES})
    return None if found is None else found[0] * MINUTES[found[1]]


def hop_tables(additions: Place, boil: float, steps: Mapping[str, list[Place]]) -> list[Table]:
    """Return a table for every hop addition; those of one pack share a lot."""
    places = list(additions.places("hop_additions"))
    packs = [(p.content.get("name"), repr(p.content.get("alpha_acid"))) for p in places]
    shared = [pack for pack, count in Counter(packs).items() if count > 1]
    found = []
    for place, pack in zip(places, packs, strict=True):
        name = place.text("name", needed=True)
        _maker(place, name)
        form, mass, when = place.text("form"), _mass(place, name), _when(place, name, boil, steps)
        if form == "extract":
            _leave(place, name, "a hop extract is not modelled")
        elif mass and when:
            table = Table("[[hop]]")
            table.add("variety", name, path=f"{place.path}.name")
            if pack in shared:
                lot = f"lot {shared.index(pack) + 1}"
                table.add("lot", lot, "assumed: same variety and alpha acids, one pack")
            table.add("alpha", _alpha(place), path=f"{place.path}.alpha_acid")
            if form in ("leaf", "plug", "leaf (wet)"):
                table.add("form", "cone")
            if form in ("leaf (wet)", "powder"):
                told = "its weight is read as dry" if form == "leaf (wet)" else "read as pellets"
                place.ledger.assumed.append(f"{name}: {form}: {told}")
            table.add("mass", mass, path=f"{place.path}.amount")
            table.add("when", when, path=f"{place.path}.timing")
            found.append(table)
        if year := place.text("year"):
            place.ledger.left.append(f"{name}: crop year {year}; state age or harvest for its loss")
        if place.raw("beta_acid"):
            place.ledger.left.append(f"{name}: beta acids")
    return found


def _alpha(place: Place) -> str:
    if "alpha_acid" not in place:
        place.fault("alpha_acid", "is missing")
    return place.amount("alpha_acid", PERCENT)


def _when(place: Place, name: str, boil: float, steps: Mapping[str, list[Place]]) -> str:
    timing = place.place("timing")
    if timing is None:
        place.fault("timing", "is missing; without it nobody knows when the hops go in")
        return ""
    use = timing.text("use")
    step = _step(timing, steps.get(use, []))
    if use == "add_to_fermentation":
        return _dry_hop(place, name, timing, step)
    if use == "add_to_package":
        _leave(place, name, "hops in the package are not modelled")
        return ""
    if use not in ("", "add_to_boil", "add_to_mash"):
        timing.fault("use", f"is “{use}”, which is no use of an ingredient")
        return ""
    return "mash" if use == "add_to_mash" else _in_boil(timing, name, boil, step)


def _in_boil(timing: Place, name: str, boil: float, step: Place | None) -> str:
    duration, begun = minutes_of(timing, "duration"), minutes_of(timing, "time")
    if timing.raw("continuous"):
        timing.ledger.assumed.append(f"{name}: added all through the boil; read as half of it")
        return f"boil {number_text(boil / 2)} min"
    warm, end = (_celsius(step, f"{at}_temperature") for at in ("start", "end"))
    if warm is not None and end is not None and warm < _STAND_BELOW_C <= end:
        return "first wort"  # the step that heats the wort to the boil
    if warm is not None and min(warm, warm if end is None else end) < _STAND_BELOW_C:
        minutes = duration if duration is not None else minutes_of(step, "step_time")
        stand = f" {number_text(minutes)} min" if minutes is not None else ""
        return f"whirlpool{stand} at {number_text(warm, 6)} °C"
    if duration is None and begun is None:
        timing.ledger.assumed.append(f"{name}: no time is given; boiled all the way")
        return f"boil {number_text(boil)} min"
    minutes = duration if duration is not None else max(boil - (begun or 0.0), 0.0)
    return f"boil {number_text(minutes)} min" if minutes > 0 else "flameout"


def _dry_hop(place: Place, name: str, timing: Place, step: Place | None) -> str:
    times = [minutes_of(timing, key) for key in ("time", "duration")]
    begun, duration = (None if t is None else number_text(t / MINUTES["day"]) for t in times)
    day = f" day {begun}" if begun is not None else ""
    contact = f" for {duration} days" if duration is not None else ""
    warm = _celsius(step, "start_temperature")
    at = f" at {number_text(warm, 6)} °C" if warm is not None else ""
    if begun is None and "specific_gravity" in timing:
        timing.raw("specific_gravity")
        place.ledger.assumed.append(f"{name}: added at a gravity; read as while it ferments")
        return f"dry hop during fermentation{contact}{at}"
    return f"dry hop{day}{contact}{at}"


def _step(timing: Place, steps: list[Place]) -> Place | None:
    number = timing.number("step")
    if number is None or not steps:
        return steps[0] if len(steps) == 1 else None
    if 1 <= number <= len(steps) and number == int(number):
        return steps[int(number) - 1]
    timing.fault("step", f"is {number_text(number)}; there are {len(steps)} such steps")
    return None


def _celsius(step: Place | None, key: str) -> float | None:
    if step is None or key not in step:
        return None
    found = step.one(key, TEMPERATURE)
    if found is None:
        return None
    value, unit = found
    return value if unit == "°C" else (value - 32) / 1.8


def misc_tables(additions: Place, priors: Priors) -> Iterator[Table]:
    """Yield a table for every thiol precursor of the library; what else there is, is left out."""
    for place in additions.places("miscellaneous_additions"):
        name = place.text("name", needed=True)
        _maker(place, name)
        timing = place.place("timing")
        use = timing.text("use") if timing is not None else ""
        if priors.find("precursor", name) is None:
            place.ledger.left.append(f"{name}: brewsim follows no {place.text('type') or 'spice'}")
            continue
        table = Table("[[precursor]]")
        table.add("name", name, path=f"{place.path}.name")
        table.add("mass", _mass(place, name), path=f"{place.path}.amount")
        day = minutes_of(timing, "time")
        when = {"add_to_mash": "mash", "add_to_boil": "boil"}.get(use, "fermentation")
        if when == "fermentation":
            when += f" day {number_text((day or 0.0) / MINUTES['day'])}"
        elif when == "boil" and timing is not None and "step" in timing:
            when = "whirlpool"
        table.add("when", when, path=f"{place.path}.timing")
        yield table
