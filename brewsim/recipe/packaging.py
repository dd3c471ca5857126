"""Priming sugar and storage, as brewers write them."""

import re
from dataclasses import dataclass, field
from typing import Literal

from brewsim.errors import did_you_mean
from brewsim.quantities.fields import check_limits, value_reader
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Phrase, Stated, Written, line_of

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


@dataclass(frozen=True, slots=True)
class Priming:
    """Priming sugar: `dose` (g/L of packaged beer) or `mass` (g in the batch); one is set.

    `note` says what was taken for granted, to be shown to the person.
    """

    sugar: PrimingSugar
    dose: Stated | None = None
    mass: Stated | None = None
    text: str = field(default="", compare=False)
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Storage:
    """How long (weeks) and how cold (°C) the packaged beer is kept."""

    time: Stated
    temperature: Stated | None = None
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
        dose = read_phrase(where, "g/L")
        check_limits(dose, 0, 30)
        return Priming(sugar, dose=dose, text=text)
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


_TIME = value_reader("weeks", 0, 520)
_CELSIUS = value_reader("°C", -5, 45)


def read_storage(written: object) -> Storage:
    """Read "6 weeks at 4 °C"."""
    text = " ".join(str(written).replace("@", " at ").split())
    if isinstance(written, list | dict):
        raise ValueError("write a time and a temperature: 6 weeks at 4 °C")  # noqa: TRY004 - a fault
    time, _, temperature = re.sub(r"^for\s+", "", text).partition(" at ")
    line = line_of(written)
    return Storage(
        _TIME(Written(time, line)),
        _CELSIUS(Written(temperature, line)) if temperature else None,
        text,
    )
