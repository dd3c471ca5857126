"""Cautions shown at the point of decision: what triggers each, its words and who says so."""

from collections.abc import Callable
from dataclasses import dataclass

from brewsim.quantities.format import number
from brewsim.wording.caution_lines import Facts, over_rating, rating, short_line, sought_over_rating
from brewsim.wording.parts import Danger, Level, Place

_LEVELS: tuple[Level, ...] = ("stop", "caution", "note")
_STOP_CHANCE = 0.01


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: shown at `place` when `applies`; title and text may read the facts."""

    id: str
    level: Level
    place: Place
    applies: Callable[[Facts], bool]
    title: str
    text: Callable[[Facts], str]
    source: str


def dangers(facts: Facts) -> tuple[Danger, ...]:
    """Return the cautions that apply, the gravest first, in the order of the table."""
    found = [
        Danger(c.level, c.title, c.text(facts), c.source, c.place, short_line(c.id, facts))
        for c in CAUTIONS
        if c.applies(facts)
    ]
    return tuple(sorted(found, key=lambda danger: _LEVELS.index(danger.level)))


def _over(facts: Facts) -> bool:
    chance = facts.over_rating_chance
    return facts.bottled and chance is not None and chance >= _STOP_CHANCE


def _over_text(facts: Facts) -> str:
    chance = over_rating(facts)
    why = (
        "Dry hops carry enzymes that restart fermentation in the bottle: one degree Plato more "
        "fermented is nearly two volumes more. "
        if facts.dry_hopped
        else ""
    )
    return (
        f"Chance that a bottle of this batch goes over its rating of {rating(facts)} "
        f"volumes of CO₂: {chance}. {why}Glass that bursts cuts and blinds. Use a keg, or bottles "
        "rated for more; prime less; before filling, run a forced-ferment test (a warm, "
        "well-yeasted sample taken to its end) and bottle only when the batch has reached that "
        "gravity. If bottles are already too lively: chill them, do not shake or move them bare "
        "handed, wear eye protection and thick clothing."
    )


def _under_text(facts: Facts) -> str:
    chance = f"{over_rating(facts)}{sought_over_rating(facts)}"
    return (
        f"Chance that a bottle goes over its rating of {rating(facts)} volumes of CO₂: "
        f"{chance}. That counts fermentation as modelled, not damaged or re-used glass, uneven "
        "sugar, infection or heat. Bottle on a forced-ferment result, not on a predicted gravity."
    )


def _keg_text(facts: Facts) -> str:
    hops = (
        "Dry hops carry enzymes that can restart fermentation as long as yeast is about. "
        if facts.dry_hopped
        else ""
    )
    return (
        f"{hops}Use a keg with a working relief valve, within the pressure stamped on it. Do not "
        "move this beer to bottles on the numbers of this page: the bottle question was not asked."
    )


def _diastatic_text(facts: Facts) -> str:
    how = "is" if facts.diastatic == "yes" else "may be (nobody said)"
    return (
        f"The yeast {how} diastatic: it can go on eating dextrins for weeks in the package, and "
        "it stays in hoses and seals for the next beer. Wait for a forced-ferment result, keep "
        "the beer cold, and clean as if it were an infection."
    )


def _creep_text(_facts: Facts) -> str:
    return (
        "Dry hops carry enzymes that can restart fermentation, also in the bottle. Three days "
        "of the same gravity is not proof: compare with a forced-ferment sample that had the "
        "same hops."
    )


def _gas_text(facts: Facts) -> str:
    litres = 20.0 * facts.fermenter_l
    return (
        f"A batch like this gives off roughly {number(litres, None, 1)} L of carbon dioxide. "
        "It has no smell and collects low down. Ventilate, use an alarm in cellars and cold rooms, "
        "and never lean into a vessel. Common work limits: 0.5 % of the air over eight hours, 1.5 "
        "to 3 % for minutes."
    )


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "over-pressure",
        "stop",
        "top",
        _over,
        "Bottles could burst",
        _over_text,
        "Bottles of ordinary make are commonly held to about 3 volumes (brewing magazine, 2014); "
        "forced-ferment test: common practice, no source",
    ),
    Caution(
        "pressure-left",
        "caution",
        "top",
        lambda facts: facts.bottled and not _over(facts) and facts.over_rating_chance is not None,
        "Pressure in the bottle",
        _under_text,
        "common practice, no source",
    ),
    Caution(
        "diastatic",
        "caution",
        "top",
        lambda facts: facts.diastatic == "yes" or (facts.bottled and facts.diastatic != "no"),
        "Yeast that may not stop",
        _diastatic_text,
        "Summary of brewery experience with diastatic yeast, Master Brewers Association of the "
        "Americas library",
    ),
    Caution(
        "creep",
        "caution",
        "top",
        lambda facts: facts.dry_hopped and facts.bottled,
        "Dry hops can restart fermentation",
        _creep_text,
        "Seminar on over-attenuation from dry hopping, Brewers Association; case of 3.0 volumes "
        "rising above 4.5, home brewing magazine",
    ),
    Caution(
        "keg",
        "note",
        "top",
        lambda facts: not facts.bottled,
        "Keg",
        _keg_text,
        "common practice, no source",
    ),
    Caution(
        "grape",
        "note",
        "knobs",
        lambda facts: facts.grape_product,
        "Grape product: sulphite and allergens",
        lambda _facts: (
            "A grape-derived powder may bring sulphite. From 10 mg/L of SO₂ it has to be declared "
            "on a label in the EU, and from 10 ppm in the US; tell the people who drink it in any "
            "case, and ask the supplier for the figure."
        ),
        "EU Regulation 1169/2011, Annex II; US declaration at 10 ppm: secondary",
    ),
    Caution(
        "engineered",
        "note",
        "knobs",
        lambda facts: facts.engineered != "no",
        "Engineered yeast",
        lambda _facts: (
            "Engineered yeast is treated differently from country to country: free to use here, "
            "subject to approval there. Check before you brew for sale or take beer or yeast "
            "over a border."
        ),
        "Review: Browning et al., MBAA Technical Quarterly 59(3), 2022, "
        "doi 10.1094/TQ-59-3-1111-01",
    ),
    Caution(
        "label",
        "note",
        "spec",
        lambda _facts: True,
        "Labels and duty",
        lambda _facts: (
            "Strength on a label and duty rest on the measured beer, not on a simulation. "
            "Tolerances differ by country and change; look up the one in force where you sell."
        ),
        "EU Regulation 1169/2011, Annex XII; HMRC manual BEER3700",
    ),
    Caution(
        "carbon-dioxide",
        "note",
        "method",
        lambda _facts: True,
        "Carbon dioxide in closed rooms",
        _gas_text,
        "NIOSH Pocket Guide (0.5 %, 3 %); HSE EH40 (0.5 %, 1.5 %); volume from the Balling balance",
    ),
    Caution(
        "hot",
        "note",
        "method",
        lambda facts: facts.hot_side,
        "Hot wort",
        lambda _facts: (
            "Wort above 60 °C burns the skin within seconds. Closed shoes, gloves, a clear path; "
            "never lift a full kettle, and keep glass and alcohol away from the hot side."
        ),
        "Brew-day safety articles, home brewing magazine",
    ),
    Caution(
        "law",
        "note",
        "method",
        lambda _facts: True,
        "Home brewing and selling",
        lambda _facts: (
            "Limits for home brewing, and whether you may sell or give away, differ by country "
            "and change. Check locally. For pressure vessels, gas, electricity and sale, follow "
            "local codes and licensed practice."
        ),
        "27 CFR 25.205 to 25.206 (US); BierStV § 41 (Germany); read the text in force",
    ),
    Caution(
        "estimates",
        "note",
        "method",
        lambda _facts: True,
        "What this page is",
        lambda _facts: (
            "Estimates from published formulas and typical spreads. Not a laboratory result, and "
            "not safety or legal advice."
        ),
        "",
    ),
)
