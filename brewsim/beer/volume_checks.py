"""Water, losses and sugar held against grain and volume: what cannot be brewed is refused."""

from collections.abc import Iterator

from brewsim.beer.statements import middle_of, said_of
from brewsim.beer.volume_plan import (
    KETTLE_STEPS,
    MASH_STEPS,
    Plan,
    collects_by_volume,
    extract_and_water,
    held_by_hops,
    plan,
    planned_package_l,
)
from brewsim.priors.library import Priors
from brewsim.quantities.format import shown
from brewsim.quantities.statement import Stated
from brewsim.recipe.faults import in_words
from brewsim.recipe.schema import Recipe

_MOST_LOST = 0.9
_THICKEST_L_KG = 1.8
"""A mash with less water cannot be stirred [common practice, no source]."""
_FARTHEST = 2.0
"""Stated water that leaves fewer or more litres than the volume by this factor is a slip."""
_WHOLE = 1.02
"""Extract and water of a sugar together, with room for the rounding of both."""
_LEAST_LEFT = 0.05
"""Share of the volume that must reach the package."""
_LEAST_BOILED = 0.05
"""Share of the wort after the boil that must have been boiled."""


def faults_of_water(recipe: Recipe, priors: Priors) -> list[str]:
    """Return what is wrong with losses and water, each with its line."""
    found = [*_losses(recipe, priors)]
    found += _sugars(recipe, priors)
    if not found:
        planned = plan(recipe, priors)
        found = [
            *_volume(recipe),
            *_boiled(recipe, priors, planned),
            *_mash(recipe, priors, planned),
        ]
    return [in_words(stated.line if stated else 0, "", what) for stated, what in found]


_Fault = tuple[Stated | None, str]


def _sugars(recipe: Recipe, priors: Priors) -> Iterator[_Fault]:
    for number, sugar in enumerate(recipe.sugar, start=1):
        extract, water = extract_and_water(sugar, recipe, priors)
        if extract + water > _WHOLE:
            told = f"{shown(extract, 'fraction')} extract and {shown(water, 'fraction')} moisture"
            what = f"sugar {number}: {told} are more than the whole; state both"
            yield sugar.moisture or sugar.extract or sugar.mass, what


def _losses(recipe: Recipe, priors: Priors) -> Iterator[_Fault]:
    for quantity in ("trub_fraction", "fermenter_loss_fraction"):
        share = middle_of(quantity, recipe, priors)
        if share > _MOST_LOST:
            told = f"{quantity}: {shown(share, 'fraction')} lost leaves next to nothing"
            yield said_of(quantity, recipe), f"{told}; {shown(_MOST_LOST, 'fraction')} is the most"
    if planned_package_l(recipe, priors) < _LEAST_LEFT * recipe.volume.value:
        told = "what stays in the fermenter and in dry hops leaves next to no beer of"
        yield recipe.volume, f"volume: {told} {recipe.volume.text}; check losses and dry hops"
    efficiency, trub = recipe.efficiency, middle_of("trub_fraction", recipe, priors)
    if efficiency is None or recipe.efficiency_of != "fermenter" or trub > _MOST_LOST:
        return
    kettle = efficiency.value / (1 - trub)
    if kettle > 1:
        told = f"efficiency: {efficiency.text} into the fermenter with {shown(trub, 'fraction')}"
        needed = f"of the wort left in the kettle needs {100 * kettle:.0f} % into the kettle"
        yield efficiency, f'{told} {needed}; check both, or write efficiency_of = "kettle"'


def _volume(recipe: Recipe) -> Iterator[_Fault]:
    """Yield a fault for a spread of the volume that the water decides, so that nothing reads it."""
    volume = recipe.volume
    if volume.phrase.kind not in ("plain", "exactly") and not collects_by_volume(recipe):
        why = "its spread follows from the water here"
        yield (
            volume,
            f"volume: “{volume.text}”: {why}; write {shown(volume.value, 'L', twin=False)}",
        )


def _boiled(recipe: Recipe, priors: Priors, planned: Plan) -> Iterator[_Fault]:
    """Yield a fault where top-up and sugar fill the kettle, so that no wort is boiled."""
    gone = planned.evaporation_l_h * middle_of("boil_time_min", recipe, priors) / 60
    boiled = planned.preboil_volume_l - gone
    if boiled >= _LEAST_BOILED * planned.postboil_volume_l:
        return
    topup = said_of("topup_l", recipe)
    wanted = shown(recipe.volume.value, "L")
    if topup is not None and topup.value:
        told = f"water topup: {topup.text} in {wanted} leaves no wort to boil; top up with less"
        yield topup, told
    else:
        yield recipe.volume, f"volume: the sugar alone takes up {wanted}; check its mass"


def _mash(recipe: Recipe, priors: Priors, planned: Plan) -> Iterator[_Fault]:
    water = recipe.water
    stated = water.mash or water.sparge
    grain = sum(row.mass.value for row in recipe.malt)
    if stated is None or not grain:
        return
    if planned.mash_water_l < _THICKEST_L_KG * grain:
        key = "mash" if water.mash else "sparge"
        told = f"water {key}: {stated.text} makes a mash of {_about(planned.mash_water_l)}"
        least = _about(_THICKEST_L_KG * grain)
        yield stated, f"{told} for {shown(grain, 'kg')} of malt; it needs at least {least}"
        return
    left = _into_fermenter(recipe, priors, planned, grain)
    wanted = recipe.volume.value
    if not wanted / _FARTHEST <= left <= wanted * _FARTHEST:
        told = f"water: {_about(planned.mash_water_l + planned.sparge_water_l)} in all leaves"
        told += f" about {_about(max(left, 0.0))} in the fermenter,"
        told += f" the volume says {recipe.volume.text}"
        yield stated, f"{told}; check both, or leave mash or sparge out to have it planned"


def _into_fermenter(recipe: Recipe, priors: Priors, planned: Plan, grain: float) -> float:
    """Return the wort that the planned or stated water leaves in the fermenter, L."""

    def middle(quantity: str) -> float:
        return middle_of(quantity, recipe, priors)

    water = planned.mash_water_l + planned.sparge_water_l
    held = grain * middle("grain_absorption_l_kg") + middle("mash_dead_space_l")
    run_off = water - held - held_by_hops(recipe, priors, MASH_STEPS)
    after = planned.postboil_volume_l + run_off - planned.preboil_volume_l
    kettle_hops = held_by_hops(recipe, priors, KETTLE_STEPS)
    return after * (1 - middle("trub_fraction")) - kettle_hops


def _about(litres: float) -> str:
    return shown(float(f"{litres:.3g}"), "L", twin=False)
