"""Plan backwards at the medians: what a recipe leaves out so that it hits its volume."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from brewsim.beer.lines import Line
from brewsim.beer.statements import Basis
from brewsim.constants import EXTRACT_L_KG
from brewsim.quantities.statement import Stated

_OPEN_KETTLE_L = 60.0
_SMALL_POT_L = 10.0
_EVAPORATED_SHARE_PER_H = 0.07
_THICKNESS_L_KG = 3.0
_LEAST_KEPT = 0.01
"""A kettle that keeps everything is refused; the plan must not divide by nothing before that."""
MASH_STEPS = ("mash",)
FERMENTER = "fermenter"
KETTLE_STEPS = ("first wort", "boil", "flameout", "whirlpool")


@dataclass(frozen=True)
class Plan:
    """Planned volumes in litres at 20 °C; `grain_kg` is the malt, `gone_l` what the boil takes.

    `by_volume` says whether the wort is run off to a planned volume mark, so that its volume is
    known: so it is unless the recipe states its water, or an efficiency is computed from the water.
    """

    mash_water_l: float
    sparge_water_l: float
    preboil_volume_l: float
    postboil_volume_l: float
    evaporation_l_h: float
    fermenter_l: float
    packaged_l: float
    gone_l: float
    grain_kg: float
    by_volume: bool


def plan(basis: Basis) -> Plan:
    """Return the planned volumes of a recipe.

    Wort into the fermenter is what is left of the post-boil volume after trub and hops; before
    it come evaporation, kettle sugar, top-up, and in the mash what grain and mash hops hold.
    `fermenter_l` is what stated water leaves there.
    """
    value, lines = basis.value, basis.statements.lines
    volume = basis.statements.volume.value
    held = _held_by_hops(basis, KETTLE_STEPS)
    kept = max(1 - value("trub_fraction"), _LEAST_KEPT)
    added = sum(_sugar_litres(row, basis) for row in _sugars(basis, FERMENTER))
    postboil = (volume - added + held) / kept
    evaporation = _evaporation(basis, postboil)
    gone = evaporation * value("boil_time_min") / 60
    sugar = sum(_sugar_litres(row, basis) for row in _sugars(basis, "boil", "late"))
    preboil = postboil + gone - sugar - value("topup_l")
    grain = sum(malt.dosed for malt in lines["malt"])
    absorbed = grain * value("grain_absorption_l_kg") + value("mash_dead_space_l")
    absorbed += _held_by_hops(basis, MASH_STEPS)
    total = max(preboil + absorbed, 0.1)
    water = [basis.statements.stated(f"{one}_water_l") for one in ("mash", "sparge")]
    lauter = basis.statements.word("brewhouse", "lauter")
    mash, sparge = _split(water, lauter, total, preboil, absorbed, grain)
    return Plan(
        mash_water_l=mash,
        sparge_water_l=sparge,
        preboil_volume_l=preboil,
        postboil_volume_l=postboil,
        evaporation_l_h=evaporation,
        fermenter_l=(postboil + mash + sparge - absorbed - preboil) * kept - held + added,
        packaged_l=_packaged(basis, volume),
        gone_l=gone,
        grain_kg=grain,
        by_volume=lauter == "stated" and water == [None, None],
    )


def _packaged(basis: Basis, volume: float) -> float:
    """Return the beer that reaches the package, after the fermenter's loss and dry hops."""
    dry = sum(hop.dosed for hop in basis.statements.lines["hop"] if hop.step == "dry hop")
    left = volume * (1 - basis.value("fermenter_loss_fraction"))
    return left - dry / 1000 * basis.value("dry_hop_absorption_l_kg")


def _held_by_hops(basis: Basis, steps: Collection[str]) -> float:
    """Return the wort that the hops of these steps hold, pellets and cones each their own."""
    return sum(
        hop.dosed / 1000 * basis.value(f"{hop.words['form']}_absorption_l_kg")
        for hop in basis.statements.lines["hop"]
        if hop.step in steps
    )


def extract_and_water(sugar: Line, basis: Basis) -> tuple[float, float]:
    """Return the shares of a kettle sugar that are extract and water."""
    entry = basis.priors.find("sugar", sugar.name)

    def middle(short: str) -> float:
        quantity = f"sugar_{short}"
        said = sugar.said.get(quantity) or basis.statements.stated(quantity)
        own = basis.priors.of(entry, short) if entry is not None else None
        prior = own or basis.priors.scalar(quantity)
        return said.value if said is not None else prior.value if prior is not None else 0.0

    return middle("extract_fraction"), middle("water_fraction")


def _sugars(basis: Basis, *when: str) -> list[Line]:
    """Return the sugars that go in at these times."""
    return [row for row in basis.statements.lines["sugar"] if row.words["when"] in when]


def _sugar_litres(sugar: Line, basis: Basis) -> float:
    """Return the room a kettle sugar takes: its extract dissolved, and its water."""
    extract, water = extract_and_water(sugar, basis)
    return sugar.dosed * (EXTRACT_L_KG * extract + water)


def _evaporation(basis: Basis, postboil: float) -> float:
    """Return litres boiled off in an hour, as stated or as usual for a kettle of this size.

    The usual figure is a small kettle's; it falls in proportion below 10 L (common practice, no
    source: a small pot is kept from boiling dry), and above 60 L it is a share of the wort.
    """
    usual = basis.value("evaporation_l_h")
    if basis.statements.stated("evaporation_l_h") is not None:
        return usual
    if postboil > _OPEN_KETTLE_L:
        return _EVAPORATED_SHARE_PER_H * postboil
    return usual * min(1.0, postboil / _SMALL_POT_L)


def _split(
    water: Sequence[Stated | None],
    lauter: str,
    total: float,
    preboil: float,
    absorbed: float,
    grain: float,
) -> tuple[float, float]:
    """Return mash and sparge water; what is stated stays, the rest makes up the total."""
    mash, sparge = water
    if mash is not None and sparge is not None:
        return mash.value, sparge.value
    if mash is not None:
        return mash.value, 0.0 if lauter == "no sparge" else max(total - mash.value, 0.0)
    if sparge is not None:
        return max(total - sparge.value, 0.0), sparge.value
    if lauter == "no sparge":
        return total, 0.0
    if lauter == "batch sparge":
        return preboil / 2 + absorbed, preboil / 2
    first = min(total, _THICKNESS_L_KG * grain) if grain else total
    return first, total - first
