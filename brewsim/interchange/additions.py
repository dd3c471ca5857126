"""What every addition of a BeerJSON document has: its maker, its mass, its timing."""

from brewsim.interchange.ledger import Place
from brewsim.interchange.units import MASS, MINUTES, TEMPERATURE, VOLUME


def note_maker(place: Place, name: str) -> None:
    """Note who made an ingredient; no prior is chosen by it."""
    words = [place.text(key) for key in ("producer", "product_id", "origin")]
    if any(words):
        told = ", ".join(word for word in words if word)
        place.ledger.left.append(
            f"{name}: maker, product or origin ({told}); no prior is chosen by it"
        )


def leave(place: Place, name: str, why: str) -> None:
    """Note an ingredient that does not reach the beer."""
    place.ledger.left.append(f"LEFT OUT OF THE BEER: {name}: {why}")


def mass_of(place: Place, name: str) -> str:
    """Return the mass of an addition, "" where it has none and that is noted."""
    if "amount" not in place:
        place.fault("amount", "is missing")
        return ""
    held = place.place("amount")
    unit = held.text("unit") if held is not None else ""
    if unit in VOLUME:
        leave(place, name, "it is given by volume; state its mass")
        return ""
    if held is not None and held.content.get("value") == 0:
        leave(place, name, "its amount is 0")
        return ""
    return place.amount("amount", MASS)


def minutes_of(timing: Place | None, key: str) -> float | None:
    """Return a time in minutes, None where there is none."""
    if timing is None or key not in timing:
        return None
    found = timing.one(key, {unit: unit for unit in MINUTES})
    return None if found is None else found[0] * MINUTES[found[1]]


def celsius_of(step: Place | None, key: str) -> float | None:
    """Return a temperature in °C, None where there is none."""
    if step is None or key not in step:
        return None
    found = step.one(key, TEMPERATURE)
    if found is None:
        return None
    value, unit = found
    return value if unit == "°C" else (value - 32) / 1.8
