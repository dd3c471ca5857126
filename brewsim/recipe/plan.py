"""Plan backwards at the medians: what a recipe leaves out so that it hits its volume."""

from dataclasses import dataclass

from brewsim.recipe.priors import Priors
from brewsim.recipe.schema import Hop, Recipe

_LITRES_PER_KG_EXTRACT = 0.617
_OPEN_KETTLE_L = 60.0
_EVAPORATED_SHARE_PER_H = 0.07
_THICKNESS_L_KG = 3.0
_MASH_STEPS = ("mash",)
KETTLE_STEPS = ("first wort", "boil", "flameout", "whirlpool")


@dataclass(frozen=True)
class Plan:
    """Planned volumes in litres at 20 °C, and masses that follow from rates."""

    mash_water_l: float
    sparge_water_l: float
    preboil_volume_l: float
    postboil_volume_l: float
    evaporation_l_h: float


def hop_grams(hop: Hop, volume_l: float) -> float:
    """Mass of an addition: as weighed, or its rate times the volume into the fermenter."""
    if hop.mass is not None:
        return hop.mass.value
    return hop.rate.value * volume_l if hop.rate is not None else 0.0


def plan(recipe: Recipe, priors: Priors) -> Plan:
    """Return the planned volumes of a recipe.

    Wort into the fermenter is what is left of the post-boil volume after trub and hops; before
    it come evaporation, kettle sugar, top-up, and in the mash what grain and mash hops hold.
    """

    def median(quantity: str) -> float:
        prior = priors.scalar(quantity)
        return prior.value if prior is not None else 0.0

    house, water, volume = recipe.brewhouse, recipe.water, recipe.volume.value
    trub = house.trub_loss.value if house.trub_loss else median("trub_fraction")
    held = sum(
        hop_grams(h, volume)
        / 1000
        * median("pellet_absorption_l_kg" if h.form == "pellet" else "cone_absorption_l_kg")
        for h in recipe.hop
        if h.when.step in KETTLE_STEPS
    )
    postboil = (volume + held) / (1 - trub)
    evaporation = _evaporation(recipe, median("evaporation_l_h"), postboil)
    sugar = sum(_LITRES_PER_KG_EXTRACT * s.mass.value for s in recipe.sugar)
    topup = water.topup.value if water.topup else 0.0
    preboil = postboil + evaporation * recipe.boil.value / 60 - sugar - topup
    grain = sum(m.mass.value for m in recipe.malt)
    dead = house.dead_space.value if house.dead_space else median("mash_dead_space_l")
    mash_hops = sum(hop_grams(h, volume) for h in recipe.hop if h.when.step in _MASH_STEPS)
    absorbed = grain * median("grain_absorption_l_kg") + dead
    absorbed += mash_hops / 1000 * median("pellet_absorption_l_kg")
    total = max(preboil + absorbed, 0.1)
    mash, sparge = _split(recipe, total, preboil, absorbed, grain)
    return Plan(mash, sparge, preboil, postboil, evaporation)


def _evaporation(recipe: Recipe, small_kettle: float, postboil: float) -> float:
    stated = recipe.brewhouse.evaporation
    if stated is not None:
        return stated.value
    return small_kettle if postboil <= _OPEN_KETTLE_L else _EVAPORATED_SHARE_PER_H * postboil


def _split(
    recipe: Recipe, total: float, preboil: float, absorbed: float, grain: float
) -> tuple[float, float]:
    """Return mash and sparge water; what is stated stays, the rest makes up the total."""
    mash, sparge = recipe.water.mash, recipe.water.sparge
    if mash is not None and sparge is not None:
        return mash.value, sparge.value
    if mash is not None:
        return mash.value, max(total - mash.value, 0.0)
    if sparge is not None:
        return max(total - sparge.value, 0.0), sparge.value
    if recipe.brewhouse.lauter == "no sparge":
        return total, 0.0
    if recipe.brewhouse.lauter == "batch sparge":
        return preboil / 2 + absorbed, preboil / 2
    first = min(total, _THICKNESS_L_KG * grain) if grain else total
    return first, total - first
