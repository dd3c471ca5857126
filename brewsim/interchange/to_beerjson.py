"""A recipe becomes a BeerJSON 1.0 document: medians as its numbers, spreads in its notes."""

from brewsim.interchange.export import Export, Json, amount_of, time_of
from brewsim.interchange.from_beerjson import NOT_STATED
from brewsim.interchange.ingredients_out import (
    culture_out,
    hops_out,
    malts_out,
    precursors_out,
    sugars_out,
)
from brewsim.interchange.ledger import number_text
from brewsim.priors.library import Priors, load_priors
from brewsim.recipe.mash_schedule import Mash, Rest
from brewsim.recipe.schema import Recipe


def export_beerjson(recipe: Recipe, priors: Priors | None = None) -> tuple[Json, tuple[str, ...]]:
    """Return a recipe as a BeerJSON 1.0 document, and what the standard cannot say of it.

    Numbers are the medians of what the recipe states, in litres, kilograms, grams, °C, minutes
    and percent; spreads stand in the notes as they were written.
    """
    out = Export(recipe, priors or load_priors())
    boil = out.value("boil", recipe.boil)
    ingredients: Json = {
        "fermentable_additions": [*malts_out(out), *sugars_out(out, boil)],
        "hop_additions": list(hops_out(out, boil)),
        "culture_additions": [culture_out(out)],
    }
    if recipe.precursor:
        ingredients["miscellaneous_additions"] = list(precursors_out(out))
    written: Json = {
        "name": recipe.name,
        "type": "all grain" if recipe.malt else "extract",
        "author": NOT_STATED,
        "batch_size": amount_of("l", out.value("volume", recipe.volume)),
        "efficiency": _efficiency(out),
        "boil": {"boil_time": time_of(boil)},
        "ingredients": ingredients,
    }
    if out.boil_steps:
        written["boil"]["boil_steps"] = [
            {
                "name": "boil",
                "start_temperature": amount_of("C", 100.0),
                "step_time": time_of(boil),
            },
            *out.boil_steps,
        ]
    if recipe.mash is not None:
        written["mash"] = _mash(out, recipe.mash)
    if out.fermentation_steps:
        written["fermentation"] = {
            "name": "fermentation",
            "fermentation_steps": out.fermentation_steps,
        }
    written |= _package(out)
    _lose(out)
    written["notes"] = _notes(out)
    held: Json = {"version": 1, "recipes": [written]}
    if equipment := _equipment(out):
        held["equipments"] = [equipment]
    return {"beerjson": held}, tuple(out.lost)


def _efficiency(out: Export) -> Json:
    recipe = out.recipe
    prior = out.priors.scalar("stated_mash_efficiency_fraction")
    trub = out.priors.scalar("trub_fraction")
    kept = 1 - (trub.value if trub is not None else 0.0)
    if recipe.brewhouse.trub_loss is not None:
        kept = 1 - recipe.brewhouse.trub_loss.value
    if recipe.efficiency is None:
        if recipe.brewhouse.lauter != "stated":
            out.lost.append(f"brewhouse: efficiency computed from a {recipe.brewhouse.lauter}")
        out.assumed.append("efficiency: median of brewsim's prior")
        mash = prior.value if prior is not None else 0.0
        return {"mash": amount_of("%", 100 * mash), "brewhouse": amount_of("%", 100 * mash * kept)}
    stated = out.value("efficiency", recipe.efficiency)
    if recipe.efficiency_of == "fermenter":
        return {"brewhouse": amount_of("%", 100 * stated)}
    return {"mash": amount_of("%", 100 * stated), "brewhouse": amount_of("%", 100 * stated * kept)}


def _mash(out: Export, mash: Mash) -> Json:
    """Write the rests of a mash; one of an hour where the recipe names no time."""
    warm = out.value("mash", mash.temperature)
    timed = mash.time or out.recipe.mash_time
    out.assumed.append("mash: grain at 20 °C" if timed else "mash: rest of 60 min, grain at 20 °C")
    if mash.decoction is not None:
        out.lost.append(f"mash: decoction ({mash.decoction.text})")
    rests = mash.rests or (Rest(warm, timed.value if timed is not None else 60.0),)
    steps = [
        {
            "name": "rest" if len(rests) == 1 else f"rest {number}",
            "type": "infusion" if number == 1 else "temperature",
            "step_temperature": amount_of("C", rest.celsius),
            "step_time": time_of(rest.minutes),
        }
        for number, rest in enumerate(rests, start=1)
    ]
    return {"name": "mash", "grain_temperature": amount_of("C", 20.0), "mash_steps": steps}


def _package(out: Export) -> Json:
    package = out.recipe.package
    vessel: Json = {"name": package.container, "type": package.container}
    found: Json = {"packaging": {"name": "package", "packaging_vessels": [vessel]}}
    if package.carbonation is not None:
        volumes = float(number_text(out.value("package, carbonation", package.carbonation)))
        vessel["carbonation"] = found["carbonation"] = volumes
    for key in ("rating", "priming", "storage", "warmest", "headspace"):
        if getattr(package, key):
            out.lost.append(f"package: {key} ({getattr(package, key).text})")
    return found


_ITEMS = (
    ("Mash Tun", "dead_space", "L"),
    ("Brew Kettle", "trub_loss", "share"),
    ("Fermenter", "fermenter_loss", "share"),
)


def _equipment(out: Export) -> Json | None:
    house, batch = out.recipe.brewhouse, out.recipe.volume.value
    items = []
    for form, key, kind in _ITEMS:
        stated = getattr(house, key)
        rate = house.evaporation if form == "Brew Kettle" else None
        if stated is None and rate is None:
            continue
        loss = 0.0 if stated is None else out.value(f"brewhouse, {key}", stated)
        if kind == "share":
            loss = batch * loss / (1 - loss) if form == "Brew Kettle" else batch * loss
        item = {"name": form, "form": form, "maximum_volume": amount_of("l", 2 * batch)}
        item["loss"] = amount_of("l", loss)
        if rate is not None:
            item["boil_rate_per_hour"] = amount_of("l", out.value("brewhouse, evaporation", rate))
        items.append(item)
    if not items:
        return None
    out.assumed.append("equipment: vessels of twice the batch")
    return {"name": "brewhouse", "equipment_items": items}


def _lose(out: Export) -> None:
    """Name the parts of a recipe that the standard has no place for."""
    recipe = out.recipe
    for key in ("targets", "knobs", "given", "priors"):
        names = list(getattr(recipe, key))
        if names:
            out.lost.append(f"{key}: {', '.join(names)}")
    house = ("bag", "altitude", "boil_temperature", "heat_off", "chill", "stand_cooling")
    out.lost += [f"brewhouse: {key}" for key in house if getattr(recipe.brewhouse, key)]
    out.lost += [f"water: {k}" for k in ("mash", "sparge", "topup") if getattr(recipe.water, k)]
    out.lost += ["yeast: krausen"] if recipe.yeast.krausen else []
    out.lost += [key for key in ("wort_ph", "souring", "brewed") if getattr(recipe, key)]
    if recipe.model.model_dump(exclude_defaults=True):
        out.lost.append("model: which formulas are used")


def _notes(out: Export) -> str:
    parts = [out.recipe.notes] if out.recipe.notes else []
    for title, items in (
        ("Numbers are medians; stated with their spread", out.said),
        ("Assumed", out.assumed),
        ("Not in this document", out.lost),
    ):
        if items:
            parts.append(f"{title}: {'; '.join(dict.fromkeys(items))}.")
    return "\n".join(parts)
