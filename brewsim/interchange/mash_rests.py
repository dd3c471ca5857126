"""The mash of a BeerJSON document: every rest that a recipe can say, in order."""

from brewsim.interchange.additions import minutes_of
from brewsim.interchange.ledger import Place, number_text
from brewsim.interchange.toml_text import Table
from brewsim.interchange.units import TEMPERATURE, VOLUME
from brewsim.quantities.phrases import read_phrase
from brewsim.recipe.mash_schedule import MASH_CELSIUS, MASH_MINUTES, REST_CELSIUS, SUGAR_FROM_C

_RESTS = ("infusion", "temperature", "decoction", "")
_USUAL_MIN = 60.0


def mash_of(recipe: Place, top: Table) -> None:
    """Add the rests of the mash; steps that are none are left out with their reason."""
    held = recipe.place("mash")
    if held is None:
        return
    rests: list[tuple[float, str]] = []
    for step in held.places("mash_steps"):
        if water := step.amount("amount", VOLUME):
            told = f"water of “{step.text('name')}”, {water}: planned back from the volume"
            recipe.ledger.left.append(told)
        rests += _rest(recipe, step)
    path = f"{held.path}.mash_steps"
    if not any(SUGAR_FROM_C <= celsius <= MASH_CELSIUS.high for celsius, _ in rests):
        recipe.ledger.assumed.append(
            f"mash: no rest between {SUGAR_FROM_C:g} and {MASH_CELSIUS.high:g} °C;"
            " brewsim takes its own"
        )
    elif len(rests) == 1:
        top.add("mash", rests[0][1], path=path)
    else:
        top.add_list("mash", [told for _, told in rests], path=path)


def _rest(recipe: Place, step: Place) -> list[tuple[float, str]]:
    """Return the warmth in °C and the words of a step that is a rest."""
    name, kind = step.text("name"), step.text("type")
    warm, minutes = step.amount("step_temperature", TEMPERATURE), minutes_of(step, "step_time")
    if not warm:
        return []
    celsius = read_phrase(warm, "°C").value
    if minutes is None:
        minutes = _USUAL_MIN
        recipe.ledger.assumed.append(f"rest “{name}”: {minutes:g} min; no time is given")
    told = f"{number_text(minutes)} min at {warm}"
    if why := _no_rest(kind, celsius, minutes):
        recipe.ledger.left.append(f"step “{name}” of the mash, {told}: {why}")
        return []
    if minutes > MASH_MINUTES.high:
        recipe.ledger.assumed.append(f"rest “{name}”: {MASH_MINUTES.high:g} min, for {told}")
        minutes = MASH_MINUTES.high
    if "end_temperature" in step and step.amount("end_temperature", TEMPERATURE) != warm:
        recipe.ledger.left.append(f"rest “{name}”: what it warms or cools to by its end")
    by = " by decoction" if kind == "decoction" else ""
    return [(celsius, f"{warm} for {number_text(minutes)} min{by}")]


def _no_rest(kind: str, celsius: float, minutes: float) -> str:
    """Return why a step is no rest of the mash, "" where it is one."""
    if kind.startswith("souring"):
        return "brewsim follows no souring"
    if kind not in _RESTS:
        return f"{kind}, no rest"
    if not REST_CELSIUS.low <= celsius <= REST_CELSIUS.high:
        return f"no rest between {REST_CELSIUS.low:g} and {REST_CELSIUS.high:g} °C"
    return "" if minutes >= MASH_MINUTES.low else f"shorter than {MASH_MINUTES.low:g} min"
