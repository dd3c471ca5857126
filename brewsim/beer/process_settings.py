"""What a recipe says of the process, by quantity: stated phrases, and numbers that follow."""

import math
from dataclasses import replace

import numpy as np

from brewsim.beer.set_points import beside
from brewsim.beer.spreads import moved
from brewsim.beer.statements import middle_of, settings_of
from brewsim.beer.volume_plan import Plan, planned_package_l
from brewsim.constants import CO2_G_L_PER_VOL, CO2_G_PER_G_GLUCOSE
from brewsim.distributions.base import Distribution
from brewsim.distributions.constructors import lognormal, truncated
from brewsim.distributions.truncation import Truncated
from brewsim.formulas.beer.packaging import residual_carbonation_vol
from brewsim.priors.library import Prior, Priors
from brewsim.quantities.format import shown
from brewsim.quantities.statement import Stated, rescaled, scaled
from brewsim.recipe.schema import Recipe

Statements = dict[str, Stated | Prior | float | Distribution]

_BOIL_PER_METRE = 1 / 293.0
"""Degrees the boiling point falls per metre of altitude, about 1 per 293 m [common practice]."""
_SMALL_KETTLE_L, _LARGE_KETTLE_L = 100.0, 500.0
_GLUCOSE_G_L_PER_VOL = CO2_G_L_PER_VOL / CO2_G_PER_G_GLUCOSE
"""Glucose that carbonates by one volume where all of it ferments, g/L."""
_SUGARS = {
    "glucose": "",
    "glucose monohydrate": "priming_monohydrate_sugar_factor",
    "sucrose": "priming_sucrose_sugar_factor",
}


def process_statements(recipe: Recipe, planned: Plan, priors: Priors) -> Statements:
    """Return quantity -> what the recipe states of it, or the number that follows from it."""
    found: Statements = dict(settings_of(recipe))
    found |= {
        "mash_water_l": planned.mash_water_l,
        "sparge_water_l": planned.sparge_water_l,
        "evaporation_l_h": recipe.brewhouse.evaporation or planned.evaporation_l_h,
    }
    if recipe.water.mash is not None:
        found["mash_water_l"] = recipe.water.mash
    if recipe.water.sparge is not None:
        found["sparge_water_l"] = recipe.water.sparge
    if recipe.brewhouse.altitude is not None:
        found["boil_temperature_c"] = _boiling_point(recipe.brewhouse.altitude)
    if recipe.efficiency is not None and recipe.efficiency_of == "fermenter":
        found["stated_mash_efficiency_fraction"] = _into_kettle(recipe.efficiency, recipe, priors)
    found |= _yeast(recipe, priors)
    found |= _package(recipe, priors)
    mark = priors.scalar("water_measure_factor")
    if recipe.volume.phrase.kind != "plain":
        share = planned.preboil_volume_l / recipe.volume.value
        found["preboil_volume_l"] = scaled(recipe.volume, share)
    elif mark is not None:
        found["preboil_volume_l"] = moved(mark.distribution, planned.preboil_volume_l)
    retention = kettle_retention(planned.postboil_volume_l, priors)
    if retention is not None:
        found["boil_retention_fraction"] = retention
    for quantity, said in list(found.items()):
        if isinstance(said, Stated):
            found |= beside(quantity, said)
    return found


def _boiling_point(altitude: Stated) -> Stated:
    """Return the temperature at which wort boils at an altitude, spread as the altitude is."""
    phrase = rescaled(altitude.phrase, lambda metres: 100.0 - _BOIL_PER_METRE * metres)
    text = f"{phrase.middle:.1f} °C at {altitude.text}"
    return replace(altitude, text=text, phrase=phrase, model_unit="°C", unit="")


def _into_kettle(stated: Stated, recipe: Recipe, priors: Priors) -> Stated:
    """An efficiency into the fermenter leaves out what the trub holds; put it back."""
    return scaled(stated, 1 / (1 - middle_of("trub_fraction", recipe, priors)))


def _yeast(recipe: Recipe, priors: Priors) -> Statements:
    found: Statements = {}
    if recipe.yeast.attenuation is not None:
        found["malt_lot_attenuation_fraction"] = 0.0
        found["batch_attenuation_fraction"] = 0.0
        mash = priors.scalar("mash_set_temperature_c")
        set_point = recipe.mash.value if recipe.mash is not None else mash.value if mash else 66.0
        found["attenuation_reference_temperature_c"] = set_point
    if is_diastatic(recipe, priors):
        factor = priors.scalar("diastatic_yeast_factor")
        found["diastatic_factor"] = factor.value if factor is not None else 3.0
    if recipe.model.stall == "possible":
        chance = priors.scalar("stall_possible_share")
        if chance is not None:
            found["stall_share"] = replace(chance, quantity="stall_share")
    return found


def is_diastatic(recipe: Recipe, priors: Priors) -> bool:
    """Whether the yeast is, or may be, diastatic: by the recipe, else by the yeast's table."""
    entry = priors.find("yeast", recipe.yeast.name)
    known = entry.tags.get("diastatic", "no").lower() if entry is not None else "no"
    return (recipe.yeast.diastatic or known) in ("yes", "true", "unknown")


def _package(recipe: Recipe, priors: Priors) -> Statements:
    package, found = recipe.package, Statements()
    if package.storage is not None:
        found["storage_week"] = package.storage.time
        if package.storage.temperature is not None:
            found["storage_temperature_c"] = package.storage.temperature
    if package.container == "keg":
        if package.carbonation is not None:
            found["keg_carbonation_vol"] = package.carbonation
        found["live_yeast_share"] = 0.0
        rest = priors.scalar("residual_extract_keg_plato")
        found["residual_extract_plato"] = rest.value if rest is not None else 0.0
        return found
    found["live_yeast_share"] = 1.0
    beer_l = planned_package_l(recipe, priors)
    found["priming_volume_l"] = beer_l
    return found | _priming(recipe, priors, beer_l)


def _priming(recipe: Recipe, priors: Priors, beer_l: float) -> Statements:
    package = recipe.package
    if package.priming is not None:
        sugar = _SUGARS[package.priming.sugar]
        factor = priors.scalar(sugar) if sugar else None
        found: Statements = {"priming_sugar_factor": factor.value if factor is not None else 1.0}
        if package.priming.dose is not None:
            found["priming_sugar_g_l"] = package.priming.dose
        elif package.priming.mass is not None:
            found["priming_sugar_g_l"] = _per_litre(package.priming.mass, beer_l)
        return found
    if package.carbonation is None:
        return {"priming_sugar_g_l": 0.0}
    warmest = package.warmest or recipe.yeast.temperature
    celsius = warmest.value if warmest is not None else 20.0
    (left,) = residual_carbonation_vol(np.array([celsius]), np.zeros(1))
    wanted = max(package.carbonation.value - float(left), 0.0)
    return {"priming_sugar_g_l": wanted * _GLUCOSE_G_L_PER_VOL}


def _per_litre(mass: Stated, beer_l: float) -> Stated:
    """Return a mass of sugar as a dose of the beer it is weighed for."""
    dose = scaled(mass, 1 / beer_l)
    text = f"{mass.text}, {shown(float(f'{dose.value:.3g}'), 'g/L', twin=False)} of beer"
    return replace(dose, text=text, model_unit="g/L", unit="")


def kettle_retention(postboil_l: float, priors: Priors) -> Distribution | None:
    """Return the boil retention of a kettle between the small and the large one's prior.

    None up to 100 L, where the small kettle's own prior holds; from there to 500 L the log of the
    median and the log-sd go in a straight line with ln volume.
    """
    small = priors.scalar("boil_retention_fraction")
    large = priors.scalar("boil_retention_large_fraction")
    if small is None or large is None or postboil_l <= _SMALL_KETTLE_L:
        return None
    reach = math.log(_LARGE_KETTLE_L / _SMALL_KETTLE_L)
    share = min(1.0, math.log(postboil_l / _SMALL_KETTLE_L) / reach)
    (low, narrow), (high, wide) = _log_normal(small), _log_normal(large)
    median = math.exp(low + share * (high - low))
    spread = narrow + share * (wide - narrow)
    return truncated(lognormal(median, spread), 0.0, 1.0)


def _log_normal(prior: Prior) -> tuple[float, float]:
    """Return mean and sd of the logarithm, of a lognormal that may be cut off."""
    made = prior.distribution
    whole = made.whole if isinstance(made, Truncated) else made
    logs = np.log(whole.from_score(np.array([0.0, -1.0])))
    return float(logs[0]), float(logs[0] - logs[1])
