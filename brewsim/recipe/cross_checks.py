"""What no single line can get wrong: lines of a recipe held against each other."""

import math
import unicodedata
from collections.abc import Iterable, Iterator

from brewsim.quantities.format import shown
from brewsim.quantities.gravity import as_gravity, pair_of
from brewsim.recipe.faults import Fault, in_words
from brewsim.recipe.hop_age import months_of
from brewsim.recipe.knob_ranges import KnobRange
from brewsim.recipe.schema import Hop, Recipe

MAX_ROWS = 200
MAX_G_L = 40.0
MAX_GRIST_KG_L = 1.5
MIN_GRIST_KG_L = 0.02
_MOST_ALPHA_MG_L = 1500.0
"""Wort dissolves some 450 to 650 mg/L of alpha acids (Hosom, brewing-science log): twice that is
a slip of grams or percent, less may be a brewer's waste."""
_BOTTLES_ONLY = ("priming", "rating", "headspace")


def faults_between(recipe: Recipe) -> list[Fault]:
    """Return the faults that show only when lines are held against each other."""
    found = [*_grist(recipe), *_process(recipe), *_package(recipe), *_precursors(recipe)]
    for number, hop in enumerate(recipe.hop, start=1):
        found += [(hop.line, f"hop {number} {what}") for what in _hop(hop, recipe)]
    found += _lots(recipe)
    found += _given(recipe)
    return [(line, in_words(line, "", text)) for line, text in found]


def _given(recipe: Recipe) -> Iterator[Fault]:
    """Yield a fault where the beer is stated to be denser than its wort."""
    worts, beers = (
        [
            (stated, as_gravity(name, stated.value))
            for name in pair_of(f"{which}_gravity_sg")
            if (stated := recipe.given.get(name)) is not None
        ]
        for which in ("original", "final")
    )
    for beer, dense in beers:
        for wort, thin in worts:
            if dense > thin:
                told = f"given: beer ({beer.text}) cannot be denser than its wort ({wort.text})"
                yield beer.line, told


def _grist(recipe: Recipe) -> Iterator[Fault]:
    if not recipe.malt and not recipe.sugar:
        yield 0, "the recipe has no malt and no sugar; add a [[malt]] with a name and a mass"
        return
    masses = [row.mass.value for row in recipe.malt] + [row.mass.value for row in recipe.sugar]
    grist = math.fsum(masses)
    rate = grist / recipe.volume.value
    told = f"{shown(grist, 'kg')} of malt and sugar in {shown(recipe.volume.value, 'L')}"
    if rate > MAX_GRIST_KG_L:
        yield (
            recipe.volume.line,
            f"{told} is more than 1.5 kg/L; check kg against g, and the volume",
        )
    if rate < MIN_GRIST_KG_L:
        yield recipe.volume.line, f"{told} is less than 20 g/L; check g against kg, and the volume"


def _process(recipe: Recipe) -> Iterator[Fault]:
    house = recipe.brewhouse
    if recipe.mash is not None and recipe.mash.time is not None and recipe.mash_time is not None:
        told = f"mash says {recipe.mash.time.text} already; keep one"
        yield recipe.mash_time.line, f"mash_time: {told}"
    if recipe.brewed and months_of(recipe.brewed, 0) is None:
        yield 0, f"brewed: “{recipe.brewed}” is no day; write it as 2025-03-01"
    if house.lauter != "stated" and recipe.efficiency is not None:
        yield (
            recipe.efficiency.line,
            f"efficiency: it is computed for “{house.lauter}”; leave one of the two out",
        )
    sparge = recipe.water.sparge
    if house.lauter == "no sparge" and sparge is not None and sparge.value:
        told = f"water sparge: {sparge.text}, but lauter is “no sparge”"
        yield sparge.line, f'{told}; leave it out, or write lauter = "batch sparge"'
    if house.altitude is not None and house.boil_temperature is not None:
        yield house.line, "brewhouse: altitude and boil_temperature say the same; keep one"


def _package(recipe: Recipe) -> Iterator[Fault]:
    package = recipe.package
    if package.container != "bottle":
        for key in _BOTTLES_ONLY:
            if getattr(package, key) is not None:
                told = f"package {key}: is for bottles, nothing of a keg reads it"
                yield package.line, f'{told}; write container = "bottle", or leave it out'
    if package.priming is None:
        return
    if package.carbonation is not None:
        yield (
            package.line,
            (
                "package: carbonation follows from priming; keep one of the two"
                " (a wanted carbonation goes into [targets])"
            ),
        )
    if package.priming.mass is not None:
        dose = package.priming.mass.value / recipe.volume.value
        if dose > 30:
            told = f"{shown(dose, 'g/L', twin=False)} of sugar"
            yield package.line, f"package priming: {told} bursts bottles; 4 to 9 g/L is usual"


def _precursors(recipe: Recipe) -> Iterator[Fault]:
    for number, row in enumerate(recipe.precursor, start=1):
        if (row.dose is None) == (row.mass is None):
            yield row.line, f'precursor {number}: write either dose = "2.5 g/L" or mass = "50 g"'
        if row.mass is not None and row.mass.value / recipe.volume.value > MAX_G_L:
            yield row.line, f"precursor {number} mass: {_too_much(row.mass.value, recipe)}"
        if row.content is not None and row.basis is None:
            yield (
                row.line,
                (
                    f"precursor {number} content: of what? write"
                    ' basis = "conjugate" or basis = "free-thiol equivalent"'
                ),
            )


def _too_much(grams: float, recipe: Recipe) -> str:
    rate = shown(grams / recipe.volume.value, "g/L", twin=False)
    return f"{shown(grams, 'g')} in {shown(recipe.volume.value, 'L')} is {rate}; 40 g/L is the most"


def _hop(hop: Hop, recipe: Recipe) -> Iterator[str]:
    if (hop.mass is None) == (hop.rate is None):
        yield '(amount): write either mass = "40 g" or rate = "2 g/L"'
        return
    if hop.mass is not None and hop.mass.value / recipe.volume.value > MAX_G_L:
        yield f"mass: {_too_much(hop.mass.value, recipe)}"
        return
    when = hop.when
    if when.step != "boil" or when.time is None:
        return
    if when.time.value > recipe.boil.value:
        boil = shown(recipe.boil.value, "min")
        yield f"when: {shown(when.time.value, 'min')} is longer than the boil of {boil}"
        return
    grams = hop.rate.value if hop.rate else hop.mass.value / recipe.volume.value if hop.mass else 0
    if hop.alpha is not None:
        dose = grams * 1000 * hop.alpha.value
        if dose > _MOST_ALPHA_MG_L:
            yield (
                f"doses {dose:.0f} mg/L of alpha acids ({shown(grams, 'g/L', twin=False)} at"
                f" {shown(hop.alpha.value, 'fraction')}), more than twice what wort dissolves;"
                f" {_MOST_ALPHA_MG_L:.0f} mg/L is the most; check mass and alpha"
            )


def faults_of_knobs(knobs: Iterable[KnobRange], recipe: Recipe) -> Iterator[Fault]:
    """Yield a fault for every knob that may be turned to more than a recipe may have."""
    for knob in knobs:
        rate = knob.high / recipe.volume.value
        most = {"g": MAX_G_L, "kg": MAX_GRIST_KG_L}.get(knob.model_unit, math.inf)
        if rate > most:
            unit = f"{knob.model_unit}/L"
            told = f"reaches {shown(rate, unit, unit, twin=False)}; {most:g} {unit} is the most"
            yield knob.line, in_words(knob.line, f"knob “{knob.id}”", told)


def same_name(text: str) -> str:
    """Return what names have in common that a reader cannot tell apart, or only by their case."""
    return unicodedata.normalize("NFKC", text).casefold()


def lots_alike(recipe: Recipe) -> Iterator[tuple[int, Hop, int, Hop]]:
    """Yield the hop lines whose lot is another's in a reader's eyes and not in a computer's."""
    first: dict[tuple[str, str], tuple[int, Hop]] = {}
    for number, hop in enumerate(recipe.hop, start=1):
        if hop.lot:
            key = hop.variety.lower(), same_name(hop.lot)
            seen, other = first.setdefault(key, (number, hop))
            if other.lot != hop.lot:
                yield seen, other, number, hop


def _lots_alike(recipe: Recipe) -> Iterator[Fault]:
    for seen, other, number, hop in lots_alike(recipe):
        if other.alpha is not None and hop.alpha is not None and other.alpha != hop.alpha:
            told = (
                f"hop {number} lot: “{hop.lot}” and “{other.lot}” of hop {seen} differ only in"
                f" case or in how a letter is stored, with alpha {hop.alpha.text} and"
                f" {other.alpha.text}; write one name, or two that a reader can tell apart"
            )
            yield hop.line, told


def _lots(recipe: Recipe) -> Iterator[Fault]:
    first: dict[str, tuple[int, Hop]] = {}
    yield from _lots_alike(recipe)
    for number, hop in enumerate(recipe.hop, start=1):
        if not hop.lot:
            continue
        seen, other = first.setdefault(hop.lot, (number, hop))
        if other.variety.lower() != hop.variety.lower():
            yield (
                hop.line,
                (
                    f"hop {number} lot: {hop.lot} is {other.variety} in hop {seen},"
                    f" {hop.variety} here; a lot is of one variety"
                ),
            )
        elif other.alpha is not None and hop.alpha is not None and other.alpha != hop.alpha:
            yield (
                hop.line,
                (
                    f"hop {number} alpha: lot {hop.lot} has {other.alpha.text} in hop {seen},"
                    f" {hop.alpha.text} here; state it once"
                ),
            )
