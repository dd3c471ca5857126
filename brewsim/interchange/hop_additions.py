"""Hops and other additions of a BeerJSON document."""

from collections import Counter
from collections.abc import Iterator, Mapping

from brewsim.interchange.additions import celsius_of, leave, mass_of, minutes_of, note_maker
from brewsim.interchange.ledger import Place, number_text
from brewsim.interchange.toml_text import Table
from brewsim.interchange.units import MINUTES
from brewsim.priors import library

_STAND_BELOW_C = 98.0
_SHARE = 0.3
"""Alpha acids of so many percent or less are written as a share of 1: no hop has so little."""


def hop_tables(
    additions: Place, boil: float, steps: Mapping[str, list[Place]], priors: library.Priors
) -> list[Table]:
    """Return a table for every hop addition; those of one pack share a lot."""
    places = list(additions.places("hop_additions"))
    packs = [(repr(p.content.get("name")), repr(p.content.get("alpha_acid"))) for p in places]
    shared = [pack for pack, count in Counter(packs).items() if count > 1]
    found = []
    for place, pack in zip(places, packs, strict=True):
        name = place.text("name", needed=True)
        note_maker(place, name)
        form, mass, when = place.text("form"), mass_of(place, name), _when(place, name, boil, steps)
        if form == "extract":
            leave(place, name, "a hop extract is not modelled")
        elif mass and when:
            table = Table("[[hop]]")
            table.add("variety", name, path=f"{place.path}.name")
            if pack in shared:
                lot = f"lot {shared.index(pack) + 1}"
                table.add("lot", lot, "assumed: same variety and alpha acids, one pack")
            table.add("alpha", _alpha(place, name, priors), path=f"{place.path}.alpha_acid")
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


def _alpha(place: Place, name: str, priors: library.Priors) -> str:
    """Return the alpha acids; "" where none are given and the library knows the variety."""
    told = place.percent("alpha_acid", _SHARE)
    if told not in ("", "0 %"):
        return told
    if priors.find("hop_lot", name) is not None:
        why = "are given as 0" if told else "are not given"
        place.ledger.assumed.append(f"{name}: its alpha acids {why}; brewsim takes the variety's")
        return ""
    if "alpha_acid" not in place:
        place.fault("alpha_acid", "is missing")
    return told


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
        leave(place, name, "hops in the package are not modelled")
        return ""
    if use not in ("", "add_to_boil", "add_to_mash"):
        timing.fault("use", f"is “{use}”, which is no use of an ingredient")
        return ""
    return "mash" if use == "add_to_mash" else _in_boil(timing, name, boil, step)


def _in_boil(timing: Place, name: str, boil: float, step: Place | None) -> str:
    duration, begun = minutes_of(timing, "duration"), minutes_of(timing, "time")
    longest = max(duration or 0.0, begun or 0.0)
    if longest >= MINUTES["day"]:
        days = number_text(longest / MINUTES["day"])
        timing.ledger.assumed.append(f"{name}: {days} days in the boil; read as a dry hop")
        return f"dry hop for {days} days"
    if timing.raw("continuous"):
        timing.ledger.assumed.append(f"{name}: added all through the boil; read as half of it")
        return f"boil {number_text(boil / 2)} min"
    warm, end = (celsius_of(step, f"{at}_temperature") for at in ("start", "end"))
    if warm is not None and end is not None and warm < _STAND_BELOW_C <= end:
        return "first wort"  # the step that heats the wort to the boil
    if warm is not None and min(warm, warm if end is None else end) < _STAND_BELOW_C:
        minutes = duration if duration is not None else minutes_of(step, "step_time")
        stand = f" {number_text(minutes)} min" if minutes is not None else ""
        return f"whirlpool{stand} at {number_text(_stand(timing, name, warm, end), 6)} °C"
    if duration is None and begun is None:
        timing.ledger.assumed.append(f"{name}: no time is given; boiled all the way")
        return f"boil {number_text(boil)} min"
    if duration is None:
        timing.ledger.assumed.append(
            f"{name}: time {number_text(begun or 0.0)} min without a duration; read as minutes"
            " left to boil, as converters write it, not as minutes after the boil began"
        )
    minutes = duration if duration is not None else begun or 0.0
    return f"boil {number_text(minutes)} min" if minutes > 0 else "flameout"


def _stand(timing: Place, name: str, warm: float, end: float | None) -> float:
    """Return the temperature of a stand, °C: what it is cooled to, or halfway as it cools."""
    if end is None or warm == end:
        return warm
    warmth = end if warm >= _STAND_BELOW_C else (warm + end) / 2
    timing.ledger.assumed.append(
        f"{name}: a stand from {number_text(warm, 3)} to {number_text(end, 3)} °C;"
        f" read at {number_text(warmth, 3)} °C"
    )
    return warmth


def _dry_hop(place: Place, name: str, timing: Place, step: Place | None) -> str:
    times = [minutes_of(timing, key) for key in ("time", "duration")]
    begun, duration = (None if t is None else number_text(t / MINUTES["day"]) for t in times)
    day = f" day {begun}" if begun is not None else ""
    contact = f" for {duration} days" if duration is not None else ""
    warm = celsius_of(step, "start_temperature")
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


def misc_tables(additions: Place, priors: library.Priors) -> Iterator[Table]:
    """Yield a table for every thiol precursor of the library; what else there is, is left out."""
    for place in additions.places("miscellaneous_additions"):
        name = place.text("name", needed=True)
        note_maker(place, name)
        timing = place.place("timing")
        use = timing.text("use") if timing is not None else ""
        if priors.find("precursor", name) is None:
            place.ledger.left.append(f"{name}: brewsim follows no {place.text('type') or 'spice'}")
            continue
        table = Table("[[precursor]]")
        table.add("name", name, path=f"{place.path}.name")
        table.add("mass", mass_of(place, name), path=f"{place.path}.amount")
        day = minutes_of(timing, "time")
        when = {"add_to_mash": "mash", "add_to_boil": "boil"}.get(use, "fermentation")
        if when == "fermentation":
            when += f" day {number_text((day or 0.0) / MINUTES['day'])}"
        elif when == "boil" and timing is not None and "step" in timing:
            when = "whirlpool"
        table.add("when", when, path=f"{place.path}.timing")
        yield table
