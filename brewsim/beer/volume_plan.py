"""Plan backwards at the medians: what a recipe leaves out so that it hits its volume."""

from collections.abc import Collection
from dataclasses import dataclass

from brewsim.beer.lines import Line
from brewsim.beer.statements import Statements
from brewsim.constants import EXTRACT_L_KG
from brewsim.priors.library import Priors

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


def plan(statements: Statements, priors: Priors) -> Plan:
    """Return the planned volumes of a recipe.

    Wort into the fermenter is what is left of the post-boil volume after trub and hops; before
    it come evaporation, kettle sugar, top-up, and in the mash what grain and mash hops hold.
    """

    def middle(quantity: str) -> float:
        return statements.value(quantity, priors)

    held = held_by_hops(statements, priors, KETTLE_STEPS)
    postboil = (statements.volume.value + held) / (1 - middle("trub_fraction"))
    evaporation = _evaporation(statements, priors, postboil)
    sugar = sum(_sugar_litres(row, statements, priors) for row in statements.lines["sugar"])
    preboil = postboil + evaporation * middle("boil_time_min") / 60 - sugar - middle("topup_l")
    grain = sum(malt.dosed for malt in statements.lines["malt"])
    absorbed = grain * middle("grain_absorption_l_kg") + middle("mash_dead_space_l")
    absorbed += held_by_hops(statements, priors, MASH_STEPS)
    total = max(preboil + absorbed, 0.1)
    mash, sparge = _split(statements, total, preboil, absorbed, grain)
    return Plan(mash, sparge, preboil, postboil, evaporation)


def collects_by_volume(statements: Statements) -> bool:
    """Whether the wort is run off to a planned volume mark, so that its volume is known.

    So it is unless the recipe states its water, or an efficiency is computed from the water.
    """
    water = (statements.stated("mash_water_l"), statements.stated("sparge_water_l"))
    return statements.word("brewhouse", "lauter") == "stated" and water == (None, None)


def planned_package_l(statements: Statements, priors: Priors) -> float:
    """Return the beer that reaches the package, after the fermenter's loss and dry hops."""
    dry = sum(hop.dosed for hop in statements.lines["hop"] if hop.step == "dry hop")
    kept = 1 - statements.value("fermenter_loss_fraction", priors)
    absorbed = dry / 1000 * statements.value("dry_hop_absorption_l_kg", priors)
    return statements.volume.value * kept - absorbed


def held_by_hops(statements: Statements, priors: Priors, steps: Collection[str]) -> float:
    """Return the wort that the hops of these steps hold, pellets and cones each their own."""
    return sum(
        hop.dosed / 1000 * statements.value(f"{hop.words['form']}_absorption_l_kg", priors)
        for hop in statements.lines["hop"]
        if hop.step in steps
    )


def extract_and_water(sugar: Line, statements: Statements, priors: Priors) -> tuple[float, float]:
    """Return the shares of a kettle sugar that are extract and water."""
    entry = priors.find("sugar", sugar.name)

    def middle(short: str) -> float:
        quantity = f"sugar_{short}"
        said = sugar.said.get(quantity) or statements.stated(quantity)
        own = priors.of(entry, short) if entry is not None else None
        prior = own or priors.scalar(quantity)
        return said.value if said is not None else prior.value if prior is not None else 0.0

    return middle("extract_fraction"), middle("water_fraction")


def _sugar_litres(sugar: Line, statements: Statements, priors: Priors) -> float:
    """Return the room a kettle sugar takes: its extract dissolved, and its water."""
    extract, water = extract_and_water(sugar, statements, priors)
    return sugar.dosed * (EXTRACT_L_KG * extract + water)


def _evaporation(statements: Statements, priors: Priors, postboil: float) -> float:
    """Return litres boiled off in an hour, as stated or as usual for a kettle of this size.

    The usual figure is a small kettle's; it falls in proportion below 10 L (common practice, no
    source: a small pot is kept from boiling dry), and above 60 L it is a share of the wort.
    """
    usual = statements.value("evaporation_l_h", priors)
    if statements.stated("evaporation_l_h") is not None:
        return usual
    if postboil > _OPEN_KETTLE_L:
        return _EVAPORATED_SHARE_PER_H * postboil
    return usual * min(1.0, postboil / _SMALL_POT_L)


def _split(
    statements: Statements, total: float, preboil: float, absorbed: float, grain: float
) -> tuple[float, float]:
    """Return mash and sparge water; what is stated stays, the rest makes up the total."""
    mash, sparge = statements.stated("mash_water_l"), statements.stated("sparge_water_l")
    lauter = statements.word("brewhouse", "lauter")
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
