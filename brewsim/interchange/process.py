"""The process of a BeerJSON document: boil, efficiency, mash, yeast, losses, package."""

from brewsim.constants import CO2_G_L_PER_VOL
from brewsim.interchange.additions import minutes_of
from brewsim.interchange.ledger import Place, number_text
from brewsim.interchange.toml_text import Table
from brewsim.interchange.units import PER_MASS, PERCENT, TEMPERATURE, VOLUME
from brewsim.priors.library import Priors
from brewsim.quantities.phrases import read_phrase

_USUAL_BOIL_MIN = 60.0
_SHARE = 1.0
"""An efficiency or attenuation of so many percent or less is written as a share of 1."""
_MOST_VOL = 4.5
"""Above it a carbonation is in g/L: beers that foam most have 4.5 volumes [from memory]."""
_YEASTS = {
    "ale": "clean ale yeast",
    "lager": "lager yeast",
    "kveik": "kveik-type farmhouse yeast",
}
"""Type of culture -> the entry of the library that one without a known name is taken as."""
_VESSELS = {"keg": "keg", "cask": "keg", "firkin": "keg", "tank": "keg", "bottle": "bottle"}


def boil_of(recipe: Place, additions: Place, top: Table) -> float:
    """Add the boil; returns its length in minutes."""
    held = recipe.place("boil")
    minutes = minutes_of(held, "boil_time")
    if minutes is not None:
        top.add("boil", f"{number_text(minutes)} min", path=f"{recipe.path}.boil.boil_time")
    else:
        timings = [hop.place("timing") for hop in additions.places("hop_additions")]
        longest = [
            minutes_of(timing, "duration") or 0.0
            for timing in timings
            if timing is not None and timing.raw("use") in (None, "add_to_boil")
        ]
        minutes = max([*longest, 0.0]) or _USUAL_BOIL_MIN
        top.add("boil", f"{number_text(minutes)} min", "assumed: the document gives no boil time")
        recipe.ledger.assumed.append(f"boil of {number_text(minutes)} min; none is given")
    if held is not None and (size := held.amount("pre_boil_size", VOLUME)):
        recipe.ledger.left.append(f"volume before the boil {size}: planned back from the volume")
    return minutes


def efficiency_of(recipe: Place, top: Table) -> None:
    """Add the efficiency: into the kettle where it is given, else into the fermenter."""
    held = recipe.place("efficiency")
    if held is None:
        recipe.ledger.assumed.append("efficiency: none is given; brewsim takes its own")
        return
    path = f"{recipe.path}.efficiency"
    mash, whole = held.percent("mash", _SHARE), held.percent("brewhouse", _SHARE)
    parts = [held.amount(key, PERCENT) for key in ("conversion", "lauter")]
    if mash:
        top.add("efficiency", mash, "of the mash, into the kettle", f"{path}.mash")
        if whole:
            recipe.ledger.left.append(f"brewhouse efficiency {whole}: the mash's was taken")
    elif whole:
        top.add("efficiency", whole, path=f"{path}.brewhouse")
        top.add("efficiency_of", "fermenter")
    if any(parts):
        recipe.ledger.left.append("efficiency of conversion and lautering: parts of the mash's")


def yeast_table(recipe: Place, additions: Place, held: Place, priors: Priors) -> Table:
    """Return the yeast: the first culture that ferments beer alone."""
    table = Table("[yeast]")
    cultures = list(additions.places("culture_additions"))
    yeasts = [c for c in cultures if c.text("type") in _YEASTS]
    for other in cultures:
        if not yeasts or other is not yeasts[0]:
            recipe.ledger.left.append(f"culture “{other.text('name')}”: brewsim follows one yeast")
    if not yeasts:
        recipe.ledger.assumed.append("yeast: none of ale, lager or kveik; a clean ale yeast")
        return table
    culture = yeasts[0]
    name, kind = culture.text("name", needed=True), culture.text("type")
    if priors.find("yeast", name) is not None:
        table.add("name", name, path=f"{culture.path}.name")
    else:
        table.add("name", _YEASTS[kind], f"assumed for “{name}”, by its type {kind}")
        recipe.ledger.assumed.append(f"{name}: taken as {_YEASTS[kind]}, by its type {kind}")
    kept = [c for c in held.places("cultures") if c.raw("name") == culture.raw("name")]
    _attenuation(recipe, culture, kept, table)
    if kept and isinstance(kept[0].raw("glucoamylase"), bool):
        table.add("diastatic", "yes" if kept[0].raw("glucoamylase") else "no")
    fermentation = recipe.place("fermentation")
    steps = [] if fermentation is None else list(fermentation.places("fermentation_steps"))
    first = next((step for step in steps if "start_temperature" in step), None)
    if first is not None:
        warm = first.amount("start_temperature", TEMPERATURE)
        table.add("temperature", warm, path=f"{first.path}.start_temperature")
        if first.raw("free_rise") or "end_temperature" in first:
            recipe.ledger.left.append(
                "how the fermentation warms or cools: brewsim takes its start"
            )
    if len(steps) > 1:
        recipe.ledger.left.append("other steps of the fermentation: brewsim takes the first")
    return table


def _attenuation(recipe: Place, culture: Place, kept: list[Place], table: Table) -> None:
    stated = culture.percent("attenuation", _SHARE)
    path = f"{culture.path}.attenuation"
    if not stated and kept:
        stated, path = kept[0].percent("attenuation_range", _SHARE), kept[0].path
    if not stated:
        stated = recipe.percent("apparent_attenuation", _SHARE)
        path = f"{recipe.path}.apparent_attenuation"
    else:
        recipe.raw("apparent_attenuation")
    table.add("attenuation", stated, path=path)


def equipment_tables(held: Place, top: Table) -> list[Table]:
    """Return the losses of the equipment, where the document has one set of it."""
    sets = list(held.places("equipments"))
    if len(sets) != 1:
        if sets:
            held.ledger.left.append("equipments: several; none belongs to the recipe")
        return []
    house, priors = Table("[brewhouse]"), Table("[priors]")
    into = next((line[1].strip('"') for line in top.lines if line[0] == "volume"), "")
    batch = max(read_phrase(into, "L").value, 0.0) if into else 0.0
    for item in sets[0].places("equipment_items"):
        form, (loss, litres) = item.text("form"), _lost(item)
        if form == "Mash Tun" and litres:
            house.add("dead_space", loss, path=f"{item.path}.loss")
        elif form == "Brew Kettle" and litres and batch:
            share = f"{number_text(100 * litres / (batch + litres))} %"
            house.add("trub_loss", share, f"{loss} left in the kettle", f"{item.path}.loss")
        elif form == "Fermenter" and litres and batch:
            share = f"{number_text(100 * litres / batch)} %"
            house.add("fermenter_loss", share, f"{loss} left behind", f"{item.path}.loss")
        elif litres:
            held.ledger.left.append(f"loss of {loss} in “{item.text('name')}” ({form})")
        if rate := item.amount("boil_rate_per_hour", VOLUME):
            house.add("evaporation", f"{rate}/h", path=f"{item.path}.boil_rate_per_hour")
        if kept := item.amount("grain_absorption_rate", PER_MASS):
            path = f"{item.path}.grain_absorption_rate"
            priors.add("grain_absorption_l_kg", kept, path=path)
    return [house, priors]


def _lost(item: Place) -> tuple[str, float]:
    """Return a vessel's loss as it is written and in L; a loss below 0 is a fault."""
    loss = item.amount("loss", VOLUME)
    litres = read_phrase(loss, "L").value if loss else 0.0
    if litres < 0:
        item.fault("loss", "is below 0")
    return loss, max(litres, 0.0)


def package_table(recipe: Place) -> Table:
    """Return the package: keg or bottle, and its carbonation."""
    table = Table("[package]")
    held = recipe.place("packaging")
    vessels = [] if held is None else list(held.places("packaging_vessels"))
    kinds = [(vessel, _VESSELS.get(vessel.text("type"), "")) for vessel in vessels]
    known = [(vessel, kind) for vessel, kind in kinds if kind]
    if known:
        vessel, kind = known[0]
        table.add("container", kind, path=f"{vessel.path}.type")
        if kind == "bottle":
            recipe.ledger.assumed.append("bottle: its pressure rating is not given; state rating")
    if len({kind for _, kind in kinds}) > 1:
        recipe.ledger.left.append("further kinds of package: brewsim takes one")
    carbonation = recipe.number("carbonation")
    if carbonation is None and known:
        carbonation = known[0][0].number("carbonation")
    if carbonation is not None:
        told = "assumed: volumes of carbon dioxide; the document gives no unit"
        if carbonation > _MOST_VOL:
            told = f"assumed: {number_text(carbonation)} g/L; the document gives no unit"
            recipe.ledger.assumed.append(f"carbonation {number_text(carbonation)}: read as g/L")
            carbonation = round(carbonation / CO2_G_L_PER_VOL, 2)
        table.add("carbonation", f"{number_text(carbonation)} vol", told)
    return table
