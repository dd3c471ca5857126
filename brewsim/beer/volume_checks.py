"""Water, losses and sugar held against grain and volume: what cannot be brewed is refused."""

from collections.abc import Iterator

from brewsim.beer.statements import Statements
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


def faults_of_water(statements: Statements, priors: Priors) -> list[str]:
    """Return what is wrong with losses and water, each with its line."""
    found = [*_losses(statements, priors)]
    found += _sugars(statements, priors)
    if not found:
        planned = plan(statements, priors)
        found = [
            *_volume(statements),
            *_boiled(statements, priors, planned),
            *_mash(statements, priors, planned),
        ]
    return [in_words(stated.line if stated else 0, "", what) for stated, what in found]


_Fault = tuple[Stated | None, str]


def _sugars(statements: Statements, priors: Priors) -> Iterator[_Fault]:
    for number, sugar in enumerate(statements.lines["sugar"], start=1):
        extract, water = extract_and_water(sugar, statements, priors)
        if extract + water > _WHOLE:
            told = f"{shown(extract, 'fraction')} extract and {shown(water, 'fraction')} moisture"
            what = f"sugar {number}: {told} are more than the whole; state both"
            said = (sugar.said.get(f"sugar_{name}_fraction") for name in ("water", "extract"))
            yield next(filter(None, said), sugar.amount), what


def _losses(statements: Statements, priors: Priors) -> Iterator[_Fault]:
    for quantity in ("trub_fraction", "fermenter_loss_fraction"):
        share = statements.value(quantity, priors)
        if share > _MOST_LOST:
            told = f"{quantity}: {shown(share, 'fraction')} lost leaves next to nothing"
            yield (
                statements.stated(quantity),
                f"{told}; {shown(_MOST_LOST, 'fraction')} is the most",
            )
    if planned_package_l(statements, priors) < _LEAST_LEFT * statements.volume.value:
        told = "what stays in the fermenter and in dry hops leaves next to no beer of"
        yield (
            statements.volume,
            f"volume: {told} {statements.volume.text}; check losses and dry hops",
        )
    efficiency = statements.stated("stated_mash_efficiency_fraction")
    trub = statements.value("trub_fraction", priors)
    of = statements.word("", "efficiency_of")
    if efficiency is None or of != "fermenter" or trub > _MOST_LOST:
        return
    kettle = efficiency.value / (1 - trub)
    if kettle > 1:
        told = f"efficiency: {efficiency.text} into the fermenter with {shown(trub, 'fraction')}"
        needed = f"of the wort left in the kettle needs {100 * kettle:.0f} % into the kettle"
        yield efficiency, f'{told} {needed}; check both, or write efficiency_of = "kettle"'


def _volume(statements: Statements) -> Iterator[_Fault]:
    """Yield a fault for a spread of the volume that the water decides, so that nothing reads it."""
    volume = statements.volume
    if volume.phrase.kind not in ("plain", "exactly") and not collects_by_volume(statements):
        why = "its spread follows from the water here"
        yield (
            volume,
            f"volume: “{volume.text}”: {why}; write {shown(volume.value, 'L', twin=False)}",
        )


def _boiled(statements: Statements, priors: Priors, planned: Plan) -> Iterator[_Fault]:
    """Yield a fault where top-up and sugar fill the kettle, so that no wort is boiled."""
    gone = planned.evaporation_l_h * statements.value("boil_time_min", priors) / 60
    boiled = planned.preboil_volume_l - gone
    if boiled >= _LEAST_BOILED * planned.postboil_volume_l:
        return
    topup = statements.stated("topup_l")
    wanted = shown(statements.volume.value, "L")
    if topup is not None and topup.value:
        told = f"water topup: {topup.text} in {wanted} leaves no wort to boil; top up with less"
        yield topup, told
    else:
        yield statements.volume, f"volume: the sugar alone takes up {wanted}; check its mass"


def _mash(statements: Statements, priors: Priors, planned: Plan) -> Iterator[_Fault]:
    mash, sparge = statements.stated("mash_water_l"), statements.stated("sparge_water_l")
    stated = mash or sparge
    grain = sum(malt.dosed for malt in statements.lines["malt"])
    if stated is None or not grain:
        return
    if planned.mash_water_l < _THICKEST_L_KG * grain:
        key = "mash" if mash else "sparge"
        told = f"water {key}: {stated.text} makes a mash of {_about(planned.mash_water_l)}"
        least = _about(_THICKEST_L_KG * grain)
        yield stated, f"{told} for {shown(grain, 'kg')} of malt; it needs at least {least}"
        return
    left = _into_fermenter(statements, priors, planned, grain)
    wanted = statements.volume.value
    if not wanted / _FARTHEST <= left <= wanted * _FARTHEST:
        told = f"water: {_about(planned.mash_water_l + planned.sparge_water_l)} in all leaves"
        told += f" about {_about(max(left, 0.0))} in the fermenter,"
        told += f" the volume says {statements.volume.text}"
        yield stated, f"{told}; check both, or leave mash or sparge out to have it planned"


def _into_fermenter(statements: Statements, priors: Priors, planned: Plan, grain: float) -> float:
    """Return the wort that the planned or stated water leaves in the fermenter, L."""

    def middle(quantity: str) -> float:
        return statements.value(quantity, priors)

    water = planned.mash_water_l + planned.sparge_water_l
    held = grain * middle("grain_absorption_l_kg") + middle("mash_dead_space_l")
    run_off = water - held - held_by_hops(statements, priors, MASH_STEPS)
    after = planned.postboil_volume_l + run_off - planned.preboil_volume_l
    kettle_hops = held_by_hops(statements, priors, KETTLE_STEPS)
    return after * (1 - middle("trub_fraction")) - kettle_hops


def _about(litres: float) -> str:
    return shown(float(f"{litres:.3g}"), "L", twin=False)
