"""Ingredients of a recipe as additions of the standard."""

from collections.abc import Iterator

from brewsim.interchange.export import DAY_MIN, Export, Json, amount_of, time_of
from brewsim.recipe.schema import Hop, Malt, Precursor, Sugar

_LATE_MIN = 10
_DEFAULT_YEAST = "clean ale yeast"
_TYPES = {"ale": "ale", "lager": "lager"}
_EXTRACTS = {"Dry malt extract": "dry extract", "Liquid malt extract": "extract", "Honey": "honey"}


def malts_out(out: Export) -> Iterator[Json]:
    """Yield every malt as an addition of the standard."""
    for number, malt in enumerate(out.recipe.malt, start=1):
        what = f"malt {number}, {malt.name}"
        yield {
            "name": malt.name,
            "type": "grain",
            "amount": amount_of("kg", out.value(f"{what}, mass", malt.mass)),
            "yield": {"fine_grind": amount_of("%", 100 * _extract(out, malt, what))},
            "color": amount_of("Lovi", _color(out, malt, "malt", what)),
            "timing": {"use": "add_to_mash"},
        }
        for key in ("moisture", "fermentability", "lot"):
            if getattr(malt, key):
                out.lost.append(f"{what}: {key}")


def _extract(out: Export, row: Malt | Sugar, what: str) -> float:
    if row.extract is not None:
        return out.value(f"{what}, extract", row.extract)
    if isinstance(row, Malt):
        return out.known("malt", row.name, "extract_dry_fraction", f"{what}, extract")
    return out.known("sugar", row.name, "extract_fraction", f"{what}, extract")


def _color(out: Export, row: Malt | Sugar, kind: str, what: str) -> float:
    if row.color is not None:
        return out.value(f"{what}, color", row.color)
    return out.known(kind, row.name, "color_lovibond", f"{what}, color")


def sugars_out(out: Export, boil: float) -> Iterator[Json]:
    """Yield every sugar and extract."""
    for number, sugar in enumerate(out.recipe.sugar, start=1):
        what = f"sugar {number}, {sugar.name}"
        minutes = _LATE_MIN if sugar.when == "late" else boil
        kettle = {"use": "add_to_boil", "duration": time_of(minutes)}
        cold = {"use": "add_to_fermentation"}
        yield {
            "name": sugar.name,
            "type": _EXTRACTS.get(sugar.name, "sugar"),
            "amount": amount_of("kg", out.value(f"{what}, mass", sugar.mass)),
            "yield": {"fine_grind": amount_of("%", 100 * _extract(out, sugar, what))},
            "color": amount_of("Lovi", _color(out, sugar, "sugar", what)),
            "timing": cold if sugar.when == "fermenter" else kettle,
        }
        for key in ("moisture", "fermentability", "bitterness"):
            if getattr(sugar, key):
                out.lost.append(f"{what}: {key}")


def hops_out(out: Export, boil: float) -> Iterator[Json]:
    """Yield every hop addition; steps that they need are added to the boil and fermentation."""
    alphas = {h.lot or h.variety: h.alpha for h in out.recipe.hop if h.alpha is not None}
    for number, hop in enumerate(out.recipe.hop, start=1):
        what = f"hop {number}, {hop.variety}"
        alpha = hop.alpha or alphas.get(hop.lot or hop.variety)
        share = (
            out.value(f"{what}, alpha", alpha)
            if alpha is not None
            else out.known("hop_lot", hop.variety, "stated_alpha_fraction", f"{what}, alpha")
        )
        grams = out.grams(what, hop.mass, hop.rate)
        yield {
            "name": hop.variety,
            "alpha_acid": amount_of("%", 100 * share),
            "form": "leaf" if hop.form == "cone" else "pellet",
            "amount": amount_of("g", grams),
            "timing": _timing(out, hop, boil, what),
        }
        for key in ("lot", "age", "harvest", "storage", "wrap"):
            if getattr(hop, key):
                out.lost.append(f"{what}: {key}")


def _timing(out: Export, hop: Hop, boil: float, what: str) -> Json:
    when = hop.when
    minutes = None if when.time is None else out.value(f"{what}, when", when.time)
    warm = None if when.temperature is None else out.value(f"{what}, when", when.temperature)
    if when.step == "mash":
        return {"use": "add_to_mash"}
    if when.step == "dry hop":
        timing: Json = {"use": "add_to_fermentation"}
        if when.day is not None:
            timing["time"] = time_of(when.day * DAY_MIN)
        if minutes is not None:
            timing["duration"] = time_of(minutes * DAY_MIN)
        if warm is not None:
            step = {"name": "dry hop", "start_temperature": amount_of("C", warm)}
            timing["step"] = _step(out.fermentation_steps, step, out) + 1
        return timing
    if when.step == "whirlpool":
        stand: Json = {"name": "whirlpool"}
        if warm is None:
            out.lost.append(f"{what}: a stand without a temperature is written as 80 °C")
        stand["start_temperature"] = amount_of("C", 80.0 if warm is None else warm)
        timing = {"use": "add_to_boil"}
        if minutes is not None:
            timing["duration"] = stand["step_time"] = time_of(minutes)
        timing["step"] = _step(out.boil_steps, stand, None) + 2  # the boil is step 1
        return timing
    if when.step == "first wort":
        out.lost.append(f"{what}: first wort; written as boiled all the way")
        return {"use": "add_to_boil", "duration": time_of(boil)}
    return {"use": "add_to_boil", "duration": time_of(minutes or 0.0)}


def _step(steps: list[Json], step: Json, out: Export | None) -> int:
    """Return the place of a step in a list; it is added where it is new."""
    if out is not None and not steps:
        steps.append(_primary(out))
    if step not in steps:
        steps.append(step)
    return steps.index(step)


def _primary(out: Export) -> Json:
    warm = out.recipe.yeast.temperature
    found: Json = {"name": "fermentation"}
    if warm is not None:
        found["start_temperature"] = amount_of("C", out.value("yeast, temperature", warm))
    return found


def precursors_out(out: Export) -> Iterator[Json]:
    """Yield every thiol precursor as another addition."""
    for number, row in enumerate(out.recipe.precursor, start=1):
        what = f"precursor {number}, {row.name}"
        grams = out.grams(what, row.mass, row.dose)
        yield {
            "name": row.name,
            "type": "other",
            "amount": amount_of("g", grams),
            "timing": _precursor_timing(out, row),
        }
        for key in ("content", "basis", "lot"):
            if getattr(row, key):
                out.lost.append(f"{what}: {key}")


def _precursor_timing(out: Export, row: Precursor) -> Json:
    if row.when.step == "mash":
        return {"use": "add_to_mash"}
    if row.when.step == "fermentation":
        return {"use": "add_to_fermentation", "time": time_of((row.when.day or 0.0) * DAY_MIN)}
    if row.when.step == "boil":
        return {"use": "add_to_boil", "duration": time_of(0.0)}
    stand = {"name": "whirlpool", "start_temperature": amount_of("C", 80.0)}
    kept = next((s for s in out.boil_steps if s["name"] == "whirlpool"), stand)
    return {"use": "add_to_boil", "step": _step(out.boil_steps, kept, None) + 2}


def culture_out(out: Export) -> Json:
    """Return the yeast."""
    yeast = out.recipe.yeast
    name = yeast.name or _DEFAULT_YEAST
    entry = out.priors.find("yeast", name)
    kind = _TYPES.get(entry.tags.get("character", "") if entry else "", "ale")
    written: Json = {"name": name, "type": kind, "form": "liquid", "amount": amount_of("pkg", 1.0)}
    if yeast.attenuation is not None:
        share = out.value("yeast, attenuation", yeast.attenuation)
        written["attenuation"] = amount_of("%", 100 * share)
    if yeast.temperature is not None and not out.fermentation_steps:
        out.fermentation_steps.append(_primary(out))
    for key in ("thiol_release", "diastatic"):
        if getattr(yeast, key):
            out.lost.append(f"yeast: {key} ({getattr(yeast, key)})")
    out.assumed.append("yeast: one pack")
    return written
