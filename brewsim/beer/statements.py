"""The middle of a number of the process: as the recipe says it, else the prior's median."""

from brewsim.beer.unknown_names import all_given
from brewsim.priors.library import Priors
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Recipe


def settings_of(recipe: Recipe) -> dict[str, Stated]:
    """Return what the keys of a recipe's own tables state, by quantity."""
    house = recipe.brewhouse
    pairs = {
        "boil_time_min": recipe.boil,
        "stated_mash_efficiency_fraction": recipe.efficiency,
        "mash_set_temperature_c": recipe.mash,
        "wort_ph": recipe.wort_ph,
        "evaporation_l_h": house.evaporation,
        "mash_dead_space_l": house.dead_space,
        "trub_fraction": house.trub_loss,
        "fermenter_loss_fraction": house.fermenter_loss,
        "boil_temperature_c": house.boil_temperature,
        "heat_off_time_min": house.heat_off,
        "chill_time_min": house.chill,
        "stand_cooling_per_min": house.stand_cooling,
        "topup_l": recipe.water.topup,
        "fermentation_temperature_c": recipe.yeast.temperature,
        "strain_attenuation_fraction": recipe.yeast.attenuation,
        "bottle_rating_vol": recipe.package.rating,
        "headspace_fraction": recipe.package.headspace,
        "warmest_temperature_c": recipe.package.warmest or recipe.yeast.temperature,
    }
    return {quantity: stated for quantity, stated in pairs.items() if stated is not None}


def said_of(quantity: str, recipe: Recipe) -> Stated | None:
    """Return what a recipe says of a quantity: [given] before [priors] before a key of its own."""
    stated = all_given(recipe).get(quantity) or recipe.priors.get(quantity)
    return stated or settings_of(recipe).get(quantity)


def middle_of(quantity: str, recipe: Recipe, priors: Priors) -> float:
    """Return the number to plan with: what the recipe says, else the prior's median, else 0."""
    stated = said_of(quantity, recipe)
    if stated is not None:
        return stated.value
    prior = priors.scalar(quantity)
    return prior.value if prior is not None else 0.0
