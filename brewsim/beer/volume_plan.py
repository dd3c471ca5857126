"""Plan backwards at the medians: what a recipe leaves out so that it hits its volume."""

from collections.abc import Collection
from dataclasses import dataclass

from brewsim.beer.statements import middle_of, said_of
from brewsim.constants import EXTRACT_L_KG
from brewsim.priors.library import Priors
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Hop, Recipe, Sugar

_OPEN_KETTLE_L = 60.0
_SMALL_POT_L = 10.0
_EVAPORATED_SHARE_PER_H = 0.07
_THICKNESS_L_KG = 3.0
MASH_STEPS = ("mash",)
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

    def middle(quantity: str) -> float:
        return middle_of(quantity, recipe, priors)

    held = held_by_hops(recipe, priors, KETTLE_STEPS)
    postboil = (recipe.volume.value + held) / (1 - middle("trub_fraction"))
    evaporation = _evaporation(recipe, priors, postboil)
    sugar = sum(_sugar_litres(row, recipe, priors) for row in recipe.sugar)
    preboil = postboil + evaporation * middle("boil_time_min") / 60 - sugar - middle("topup_l")
    grain = sum(m.mass.value for m in recipe.malt)
    absorbed = grain * middle("grain_absorption_l_kg") + middle("mash_dead_space_l")
    absorbed += held_by_hops(recipe, priors, MASH_STEPS)
    total = max(preboil + absorbed, 0.1)
    mash, sparge = _split(recipe, total, preboil, absorbed, grain)
    return Plan(mash, sparge, preboil, postboil, evaporation)


def collects_by_volume(recipe: Recipe) -> bool:
    """Whether the wort is run off to a planned volume mark, so that its volume is known.

    So it is unless the recipe states its water, or an efficiency is computed from the water.
    """
    water = recipe.water
    forward = water.mash is not None or water.sparge is not None
    return recipe.brewhouse.lauter == "stated" and not forward


def planned_package_l(recipe: Recipe, priors: Priors) -> float:
    """Return the beer that reaches the package, after the fermenter's loss and dry hops."""
    dry = sum(hop_grams(h, recipe.volume.value) for h in recipe.hop if h.when.step == "dry hop")
    left = recipe.volume.value * (1 - middle_of("fermenter_loss_fraction", recipe, priors))
    return left - dry / 1000 * middle_of("dry_hop_absorption_l_kg", recipe, priors)


def held_by_hops(recipe: Recipe, priors: Priors, steps: Collection[str]) -> float:
    """Return the wort that the hops of these steps hold, pellets and cones each their own."""
    return sum(
        hop_grams(hop, recipe.volume.value)
        / 1000
        * middle_of(f"{hop.form}_absorption_l_kg", recipe, priors)
        for hop in recipe.hop
        if hop.when.step in steps
    )


def extract_and_water(sugar: Sugar, recipe: Recipe, priors: Priors) -> tuple[float, float]:
    """Return the shares of a kettle sugar that are extract and water."""
    entry = priors.find("sugar", sugar.name)

    def middle(short: str, stated: Stated | None) -> float:
        said = sugar.given.get(short) or stated or recipe.priors.get(f"sugar_{short}")
        own = priors.of(entry, short) if entry is not None else None
        prior = own or priors.scalar(f"sugar_{short}")
        return said.value if said is not None else prior.value if prior is not None else 0.0

    return middle("extract_fraction", sugar.extract), middle("water_fraction", sugar.moisture)


def _sugar_litres(sugar: Sugar, recipe: Recipe, priors: Priors) -> float:
    """Return the room a kettle sugar takes: its extract dissolved, and its water."""
    extract, water = extract_and_water(sugar, recipe, priors)
    return sugar.mass.value * (EXTRACT_L_KG * extract + water)


def _evaporation(recipe: Recipe, priors: Priors, postboil: float) -> float:
    """Return litres boiled off in an hour, as stated or as usual for a kettle of this size.

    The usual figure is a small kettle's; it falls in proportion below 10 L (common practice, no
    source: a small pot is kept from boiling dry), and above 60 L it is a share of the wort.
    """
    usual = middle_of("evaporation_l_h", recipe, priors)
    if said_of("evaporation_l_h", recipe) is not None:
        return usual
    if postboil > _OPEN_KETTLE_L:
        return _EVAPORATED_SHARE_PER_H * postboil
    return usual * min(1.0, postboil / _SMALL_POT_L)


def _split(
    recipe: Recipe, total: float, preboil: float, absorbed: float, grain: float
) -> tuple[float, float]:
    """Return mash and sparge water; what is stated stays, the rest makes up the total."""
    mash, sparge = recipe.water.mash, recipe.water.sparge
    if mash is not None and sparge is not None:
        return mash.value, sparge.value
    if mash is not None:
        no_sparge = recipe.brewhouse.lauter == "no sparge"
        return mash.value, 0.0 if no_sparge else max(total - mash.value, 0.0)
    if sparge is not None:
        return max(total - sparge.value, 0.0), sparge.value
    if recipe.brewhouse.lauter == "no sparge":
        return total, 0.0
    if recipe.brewhouse.lauter == "batch sparge":
        return preboil / 2 + absorbed, preboil / 2
    first = min(total, _THICKNESS_L_KG * grain) if grain else total
    return first, total - first
