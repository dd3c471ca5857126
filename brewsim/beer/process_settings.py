"""What a recipe says of the process, by quantity: stated phrases, and numbers that follow."""

import math
from dataclasses import replace

import numpy as np

from brewsim.beer.grist_rows import rests_of
from brewsim.beer.statements import About, Basis, Said
from brewsim.beer.volume_plan import Plan
from brewsim.constants import CO2_G_L_PER_VOL, CO2_G_PER_G_GLUCOSE
from brewsim.distributions.base import Distribution
from brewsim.distributions.constructors import lognormal, truncated
from brewsim.distributions.truncation import Truncated
from brewsim.formulas.beer.packaging import residual_carbonation_vol
from brewsim.formulas.wort.mash_schedule import mash_schedule_rise_c
from brewsim.priors.library import Prior, Priors, load_priors
from brewsim.quantities.format import number, shown
from brewsim.quantities.numerals import rounded
from brewsim.quantities.statement import Stated, rescaled, scaled

ATTENUATION_FOR = "attenuation_reference_temperature_c"
CARBONATION = "keg_carbonation_vol"
_EFFICIENCY, _PRIMING = "stated_mash_efficiency_fraction", "priming_sugar_g_l"
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


def planned_of(basis: Basis, planned: Plan) -> dict[str, Said]:
    """Return what follows from the statements: quantity -> phrase, prior, spread or number."""
    found: dict[str, Said] = {}
    for quantity in ("mash_water_l", "sparge_water_l", "evaporation_l_h"):
        if basis.statements.stated(quantity) is None:
            found[quantity] = getattr(planned, quantity)
    if (altitude := basis.statements.stated("altitude_m")) is not None:
        found["boil_temperature_c"] = _boiling_point(altitude)
    efficiency = basis.statements.by("field").get(_EFFICIENCY)
    if efficiency is not None and basis.statements.word("", "efficiency_of") == "fermenter":
        found[_EFFICIENCY] = _into_kettle(efficiency, basis.value("trub_fraction"))
    found |= _mash(basis) | _yeast(basis)
    found |= _package(basis, planned.packaged_l)
    if basis.statements.volume.phrase.kind != "plain":
        share = planned.preboil_volume_l / basis.statements.volume.value
        found["preboil_volume_l"] = scaled(basis.statements.volume, share)
    else:
        found["preboil_volume_l"] = About(planned.preboil_volume_l)
    retention = kettle_retention(planned.postboil_volume_l, basis.priors)
    if retention is not None:
        found["boil_retention_fraction"] = retention
    return found


def with_usual_lauter(basis: Basis) -> Basis:
    """Return the basis with the usual efficiency picked where nothing states one.

    A brewery's own prior of the efficiency counts as stating it.
    """
    statements = basis.statements
    own = basis.priors.scalars.get(_EFFICIENCY) is not load_priors().scalars.get(_EFFICIENCY)
    stated = own or statements.stated(_EFFICIENCY) is not None
    if stated or statements.variants["mash_efficiency_fraction"] != "stated":
        return basis
    usual = {**statements.variants, "mash_efficiency_fraction": "usual"}
    return replace(basis, statements=replace(statements, variants=usual))


def _boiling_point(altitude: Stated) -> Stated:
    """Return the temperature at which wort boils at an altitude, spread as the altitude is."""
    phrase = rescaled(altitude.phrase, lambda metres: 100.0 - _BOIL_PER_METRE * metres)
    text = f"{number(phrase.middle, 1)} °C at {altitude.text}"
    return replace(altitude, text=text, phrase=phrase, model_unit="°C", unit="")


def _into_kettle(stated: Stated, trub: float) -> Stated:
    """An efficiency into the fermenter leaves out what the trub holds; put it back."""
    return scaled(stated, 1 / (1 - trub))


def _yeast(basis: Basis) -> dict[str, Said]:
    found: dict[str, Said] = {}
    if basis.statements.origin("strain_attenuation_fraction") == "field":
        found["malt_lot_attenuation_fraction"] = 0.0
        found["batch_attenuation_fraction"] = 0.0
    name, said = basis.statements.word("yeast", "name"), basis.statements.word("yeast", "diastatic")
    if is_diastatic(name, said, basis.priors):
        factor = basis.priors.scalar("diastatic_yeast_factor")
        found["diastatic_factor"] = factor.value if factor is not None else 3.0
    return found


def picked(basis: Basis) -> Basis:
    """Return the basis with the priors that words of the recipe pick: a bag's, the krausen's."""
    found: dict[str, Said] = {}
    for quantity, name in basis.statements.picked.items():
        prior = basis.priors.scalar(name)
        if prior is not None:
            found[quantity] = replace(prior, quantity=quantity)
    return replace(basis, statements=basis.statements.planned(found))


def _mash(basis: Basis) -> dict[str, Said]:
    """Return how far below its first sugar rest a mash is mixed, and what an attenuation is for."""
    rests, found = basis.statements.rests, dict[str, Said]()
    if rests:
        first = next(rest for rest in rests if rest.makes_sugar)
        found["mash_in_step_c"] = first.celsius - rests[0].celsius
    if basis.statements.origin("strain_attenuation_fraction") == "field":
        fixed = rests_of(rests).fixed
        conversion = np.array([basis.value("mash_conversion_time_min")])
        (rise,) = mash_schedule_rise_c(
            fixed["mash_rest_rise_c"], fixed["mash_rest_time_min"], conversion
        )
        found[ATTENUATION_FOR] = basis.value("mash_set_temperature_c") + float(rise)
        found["attenuation_reference_time_min"] = basis.value("mash_time_min")
    return found


def is_diastatic(yeast: str, said: str | None, priors: Priors) -> bool:
    """Whether a yeast is, or may be, diastatic: as the recipe says, else by the yeast's table."""
    entry = priors.find("yeast", yeast)
    known = entry.tags.get("diastatic", "no").lower() if entry is not None else "no"
    return (said or known) in ("yes", "true", "unknown")


def _package(basis: Basis, beer_l: float) -> dict[str, Said]:
    found: dict[str, Said] = {}
    warm = basis.statements.stated("fermentation_temperature_c")
    if warm is not None and basis.statements.stated("warmest_temperature_c") is None:
        found["warmest_temperature_c"] = warm
    if basis.statements.word("package", "container") == "keg":
        rest = basis.priors.scalar("residual_extract_keg_plato")
        left = rest.value if rest is not None else 0.0
        return found | {"live_yeast_share": 0.0, "residual_extract_plato": left}
    found["live_yeast_share"] = 1.0
    found["priming_volume_l"] = beer_l
    return found | _priming(basis, beer_l)


def _priming(basis: Basis, beer_l: float) -> dict[str, Said]:
    if sugar := basis.statements.word("package priming", "sugar"):
        factor = basis.priors.scalar(_SUGARS[sugar]) if _SUGARS[sugar] else None
        found: dict[str, Said] = {
            "priming_sugar_factor": factor.value if factor is not None else 1.0
        }
        mass = basis.statements.stated("priming_mass_g")
        return found | ({_PRIMING: _per_litre(mass, beer_l)} if mass is not None else {})
    carbonation = basis.statements.stated(CARBONATION)
    if carbonation is None:
        return {_PRIMING: 0.0}
    warmest = basis.statements.stated("warmest_temperature_c") or basis.statements.stated(
        "fermentation_temperature_c"
    )
    celsius = warmest.value if warmest is not None else 20.0
    (left,) = residual_carbonation_vol(np.array([celsius]), np.zeros(1))
    wanted = max(carbonation.value - float(left), 0.0)
    return {_PRIMING: wanted * _GLUCOSE_G_L_PER_VOL}


def _per_litre(mass: Stated, beer_l: float) -> Stated:
    """Return a mass of sugar as a dose of the beer it is weighed for."""
    dose = scaled(mass, 1 / beer_l)
    text = f"{mass.text}, {shown(rounded(dose.value, 3), 'g/L', twin=False)} of beer"
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
