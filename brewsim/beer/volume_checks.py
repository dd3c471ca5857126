"""Water, losses and sugar held against grain and volume: what cannot be brewed is refused."""

from collections.abc import Iterator

from brewsim.beer.statements import Basis, Statements
from brewsim.beer.volume_plan import Plan, extract_and_water
from brewsim.quantities.chances import percent
from brewsim.quantities.format import shown
from brewsim.quantities.numerals import rounded
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


def faults_of_water(basis: Basis, planned: Plan) -> list[str]:
    """Return what is wrong with losses and water, each with its line."""
    statements = basis.statements
    found = [*_losses(basis, planned.packaged_l), *_sugars(basis)]
    if not found:
        found = [
            *_volume(statements, planned),
            *_boiled(statements, planned),
            *_mash(statements, planned),
        ]
    return [in_words(stated.line if stated else 0, "", what) for stated, what in found]


_Fault = tuple[Stated | None, str]


def _sugars(basis: Basis) -> Iterator[_Fault]:
    for number, sugar in enumerate(basis.statements.lines["sugar"], start=1):
        extract, water = extract_and_water(sugar, basis)
        if extract + water > _WHOLE:
            told = f"{shown(extract, 'fraction')} extract and {shown(water, 'fraction')} moisture"
            what = f"sugar {number}: {told} are more than the whole; state both"
            said = (sugar.said.get(f"sugar_{name}_fraction") for name in ("water", "extract"))
            yield next(filter(None, said), sugar.amount), what


def _losses(basis: Basis, packaged_l: float) -> Iterator[_Fault]:
    for quantity in ("trub_fraction", "fermenter_loss_fraction"):
        share = basis.value(quantity)
        if share > _MOST_LOST:
            told = f"{quantity}: {shown(share, 'fraction')} lost leaves next to nothing"
            yield (
                basis.statements.stated(quantity),
                f"{told}; {shown(_MOST_LOST, 'fraction')} is the most",
            )
    if packaged_l < _LEAST_LEFT * basis.statements.volume.value:
        told = "what stays in the fermenter and in dry hops leaves next to no beer of"
        yield (
            basis.statements.volume,
            f"volume: {told} {basis.statements.volume.text}; check losses and dry hops",
        )
    efficiency = basis.statements.stated("stated_mash_efficiency_fraction")
    trub = basis.value("trub_fraction")
    of = basis.statements.word("", "efficiency_of")
    if efficiency is None or of != "fermenter" or trub > _MOST_LOST:
        return
    kettle = efficiency.value / (1 - trub)
    if kettle > 1:
        told = f"efficiency: {efficiency.text} into the fermenter with {shown(trub, 'fraction')}"
        needed = f"of the wort left in the kettle needs {percent(kettle)} into the kettle"
        yield efficiency, f'{told} {needed}; check both, or write efficiency_of = "kettle"'


def _volume(statements: Statements, planned: Plan) -> Iterator[_Fault]:
    """Yield a fault for a spread of the volume that the water decides, so that nothing reads it."""
    volume = statements.volume
    if volume.phrase.kind not in ("plain", "exactly") and not planned.by_volume:
        why = "its spread follows from the water here"
        yield (
            volume,
            f"volume: “{volume.text}”: {why}; write {shown(volume.value, 'L', twin=False)}",
        )


def _boiled(statements: Statements, planned: Plan) -> Iterator[_Fault]:
    """Yield a fault where top-up and sugar fill the kettle, so that no wort is boiled."""
    if planned.preboil_volume_l - planned.gone_l >= _LEAST_BOILED * planned.postboil_volume_l:
        return
    topup = statements.stated("topup_l")
    wanted = shown(statements.volume.value, "L")
    if topup is not None and topup.value:
        told = f"water topup: {topup.text} in {wanted} leaves no wort to boil; top up with less"
        yield topup, told
    else:
        yield statements.volume, f"volume: the sugar alone takes up {wanted}; check its mass"


def _mash(statements: Statements, planned: Plan) -> Iterator[_Fault]:
    mash, sparge = statements.stated("mash_water_l"), statements.stated("sparge_water_l")
    stated = mash or sparge
    grain = planned.grain_kg
    if stated is None or not grain:
        return
    if planned.mash_water_l < _THICKEST_L_KG * grain:
        key = "mash" if mash else "sparge"
        told = f"water {key}: {stated.text} makes a mash of {_about(planned.mash_water_l)}"
        least = _about(_THICKEST_L_KG * grain)
        yield stated, f"{told} for {shown(grain, 'kg')} of malt; it needs at least {least}"
        return
    left = planned.fermenter_l
    wanted = statements.volume.value
    if not wanted / _FARTHEST <= left <= wanted * _FARTHEST:
        told = f"water: {_about(planned.mash_water_l + planned.sparge_water_l)} in all leaves"
        told += f" about {_about(max(left, 0.0))} in the fermenter,"
        told += f" the volume says {statements.volume.text}"
        yield stated, f"{told}; check both, or leave mash or sparge out to have it planned"


def _about(litres: float) -> str:
    return shown(rounded(litres, 3), "L", twin=False)
