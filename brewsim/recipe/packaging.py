"""Priming sugar and storage, as brewers write them."""

import re
from dataclasses import dataclass, field
from typing import Annotated, Literal

from brewsim.errors import did_you_mean
from brewsim.quantities.fields import check_limits
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Phrase, Stated, Written, line_of
from brewsim.recipe.measures import measures
from brewsim.recipe.sets import Sets

PrimingSugar = Literal["glucose", "glucose monohydrate", "sucrose"]
_SUGARS: dict[str, PrimingSugar] = {
    "glucose": "glucose",
    "anhydrous glucose": "glucose",
    "glucose monohydrate": "glucose monohydrate",
    "dextrose": "glucose monohydrate",
    "dextrose monohydrate": "glucose monohydrate",
    "corn sugar": "glucose monohydrate",
    "sucrose": "sucrose",
    "sugar": "sucrose",
    "table sugar": "sucrose",
    "cane sugar": "sucrose",
    "beet sugar": "sucrose",
}
_GRAMS_PER_LITRE = {"sucrose": 845.0, "glucose": 640.0, "glucose monohydrate": 640.0}
"""Bulk density: 200 g to a US cup of granulated sugar, 151 g of corn sugar [from memory]."""
_BULK_SPREAD = 0.1
_DOSE = measures("g/L", "6 g/L", 0, 30)
_TIME = measures("weeks", "6 weeks", 0, 520)
_WARMTH = measures("°C", "4 °C", -5, 45)


@dataclass(frozen=True, slots=True)
class Priming:
    """Priming sugar: `dose` (g/L of packaged beer) or `mass` (g in the batch); one is set.

    `note` says what was taken for granted, to be shown to the person.
    """

    sugar: PrimingSugar
    dose: Annotated[Stated | None, _DOSE, Sets("priming_sugar_g_l", knob="priming sugar")] = None
    mass: Annotated[Stated | None, Sets("priming_mass_g")] = None
    text: str = field(default="", compare=False)
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Storage:
    """How long (weeks) and how cold (°C) the packaged beer is kept."""

    time: Annotated[Stated, _TIME, Sets("storage_week", knob="weeks of storage")]
    temperature: Annotated[Stated | None, Sets("storage_temperature_c")] = None
    text: str = field(default="", compare=False)


def read_priming(written: object) -> Priming:
    """Read "6 g/L glucose", "120 g sucrose", "2/3 cup corn sugar"."""
    text = " ".join(str(written).split()) if not isinstance(written, list | dict) else ""
    names = "|".join(sorted(_SUGARS, key=len, reverse=True))
    match = re.search(rf"\b({names})\b", text, re.IGNORECASE)
    if match is None:
        word = re.sub(r"[^a-z ]", " ", text.lower()).split()
        hint = did_you_mean(word[-1] if word else "", _SUGARS)
        raise ValueError(f"which sugar? write glucose, dextrose or sucrose: 6 g/L glucose.{hint}")
    sugar = _SUGARS[match[1].lower()]
    amount = f"{text[: match.start()]} {text[match.end() :]}".strip(" ,")
    amount = re.sub(r"\s+of$", "", amount)
    if not amount:
        raise ValueError(f"how much? write 6 g/L {match[1]}")
    where = Written(amount, line_of(written))
    if re.search(r"/|\bper\b", re.sub(r"[0-9]\s*[/⁄]\s*[0-9]", "", amount)):
        return Priming(sugar, dose=_DOSE.parse(where), text=text)
    if re.search(r"\b(cups?|tbsp|tbs|tablespoons?|tsp|teaspoons?|m?l|cc)\b", amount, re.IGNORECASE):
        return _by_volume(where, sugar, text)
    mass = read_phrase(where, "g")
    check_limits(mass, 0, 1e7)
    return Priming(sugar, mass=mass, text=text)


def _by_volume(where: Written, sugar: PrimingSugar, text: str) -> Priming:
    volume = read_phrase(where, "L")
    grams = volume.value * _GRAMS_PER_LITRE[sugar]
    low, high = grams * (1 - _BULK_SPREAD), grams * (1 + _BULK_SPREAD)
    stated = Stated(text, Phrase("range90", grams, low, high), "g", "g", line_of(where))
    check_limits(stated, 0, 1e7)
    note = (
        f"{text}: read as {sugar}, taken as {grams:.0f} g ± 10 % (bulk density from memory;"
        " US cups and spoons); weigh it to do better"
    )
    return Priming(sugar, mass=stated, text=text, note=note)


def read_storage(written: object) -> Storage:
    """Read "6 weeks at 4 °C"."""
    text = " ".join(str(written).replace("@", " at ").split())
    if isinstance(written, list | dict):
        raise ValueError("write a time and a temperature: 6 weeks at 4 °C")  # noqa: TRY004 - a fault
    time, _, temperature = re.sub(r"^for\s+", "", text).partition(" at ")
    line = line_of(written)
    return Storage(
        _TIME.parse(Written(time, line)),
        _WARMTH.parse(Written(temperature, line)) if temperature else None,
        text,
    )
