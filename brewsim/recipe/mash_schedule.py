"""The mash as brewers write it: one temperature, one for so long, or several rests."""

import re
from dataclasses import dataclass, field
from typing import Annotated

from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Phrase, Stated, Written, line_of
from brewsim.recipe.measures import measures
from brewsim.recipe.sets import Sets

SUGAR_FROM_C, SUGAR_TO_C = 58.0, 74.0
"""Rests between these make sugar: below, the starch of barley malt is not open to the enzymes;
above, they are gone within minutes [from memory]."""
DECOCTION_BOIL_MIN = 15.0
"""How long a decoction is boiled where nobody says [common practice, no source]."""
MASH_CELSIUS = measures("°C", "66 °C", 55, 80)
MASH_MINUTES = measures("min", "60 min", 5, 480)
REST_CELSIUS = measures("°C", "63 °C", 30, 80)
_WAYS = 'write mash = "66 °C", "66 °C for 60 min" or ["63 °C for 40 min", "72 °C for 20 min"]'
_MINUTES = r"[0-9][0-9.,/½¼¾ ]*(?:min(?:ute)?s?|h(?:ours?|rs?)?|')\.?"
_TIMED = re.compile(
    rf"(?:\s*(?:,|@|\bfor\b)\s*|\s+)(?P<time>{_MINUTES})\s*$",
    re.IGNORECASE,
)
_DECOCTED = re.compile(
    r"[\s,]*(?:\bby\b|\bwith\b)?\s*(?:\ba\b\s*)?decoction(?:\s*\(?\s*(?:boiled\s+)?(?:for\s+)?"
    r"(?P<boil>[0-9][0-9.,]*\s*(?:min(?:ute)?s?|'))(?:\s+boil(?:ed)?)?\s*\)?)?\s*(?:\bto\b)?[\s,]*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Rest:
    """One rest of a mash: °C and minutes."""

    celsius: float
    minutes: float

    @property
    def makes_sugar(self) -> bool:
        """Whether starch becomes sugar in it."""
        return SUGAR_FROM_C <= self.celsius < SUGAR_TO_C


@dataclass(frozen=True, slots=True)
class Mash:
    """A mash: the first rest that makes sugar, and all rests where there are several.

    `temperature` is that of the first rest that makes sugar, `time` the minutes of all that do,
    `decoction` the minutes that parts of the mash are boiled.
    """

    temperature: Annotated[
        Stated,
        MASH_CELSIUS,
        Sets("mash_set_temperature_c", error="mash_temperature_error_c", knob="mash temperature"),
    ]
    time: Annotated[Stated | None, Sets("mash_time_min")] = None
    decoction: Annotated[Stated | None, Sets("decoction_boil_time_min")] = None
    rests: tuple[Rest, ...] = ()
    text: str = field(default="", compare=False)


def read_mash(written: object) -> Mash:
    """Read a mash; raises ValueError with the ways to write it.

    Example:
        >>> read_mash(["63 °C for 40 min", "72 °C for 20 min"]).rests[1].minutes
        20.0
    """
    if isinstance(written, dict):
        raise ValueError(_WAYS)  # noqa: TRY004 - a fault of the file
    items = written if isinstance(written, list) else _split(written)
    if not any(_TIMED.search(str(item)) or _DECOCTED.search(str(item)) for item in items):
        return Mash(MASH_CELSIUS.parse(written), text=str(written))  # a value, or own measurements
    if len(items) == 1:
        warmth, time, boil = _parted(items[0])
        return Mash(
            MASH_CELSIUS.parse(warmth),
            MASH_MINUTES.parse(time) if time is not None else None,
            boil,
            text=str(written),
        )
    return _schedule(items, str(written))


def _split(written: object) -> list[Written]:
    """Return the rests of a mash that is written as one text."""
    text = str(written)
    parts = re.split(r"\s*;\s*|\s*,\s*(?=[0-9])|\s+then\s+", text)
    timed = [part for part in parts if _TIMED.search(part)]
    whole = parts if len(timed) == len(parts) and len(parts) > 1 else [text]
    return [Written(part, line_of(written)) for part in whole]


def _parted(item: object) -> tuple[Written, Written | None, Stated | None]:
    """Return temperature, time and decoction of one rest as they are written."""
    text, line = str(item), line_of(item)
    boil = None
    if (found := _DECOCTED.search(text)) is not None:
        text = f"{text[: found.start()]} {text[found.end() :]}".strip()
        told = found["boil"] or f"{DECOCTION_BOIL_MIN:g} min"
        boil = read_phrase(Written(told, line), "min")
    timed = _TIMED.search(text)
    if timed is None:
        return Written(text.strip(), line), None, boil
    minutes = re.sub(r"'\s*\.?$", " min", timed["time"]).rstrip(".")
    return Written(text[: timed.start()].strip(), line), Written(minutes, line), boil


def _schedule(items: list[object] | list[Written], text: str) -> Mash:
    rests, sugar, boiled = [], [], []
    for item in items:
        warmth, time, boil = _parted(item)
        if time is None:
            raise ValueError(f"“{item}”: a rest has a temperature and a time; {_WAYS}")
        stated, minutes = REST_CELSIUS.parse(warmth), MASH_MINUTES.parse(time)
        rest = Rest(stated.value, minutes.value)
        rests.append(rest)
        boiled += [boil] if boil is not None else []
        sugar += [(stated, minutes)] if rest.makes_sugar else []
    if not sugar:
        raise ValueError(
            f"none of these rests makes sugar: one between {SUGAR_FROM_C:g} and {SUGAR_TO_C:g} °C"
            " does; a mash at one temperature may be hotter"
        )
    first = sugar[0][0]
    line = first.line
    return Mash(
        first,
        _sum([minutes for _, minutes in sugar], line),
        _sum(boiled, line) if boiled else None,
        tuple(rests),
        text,
    )


def _sum(times: list[Stated], line: int) -> Stated:
    total = sum(time.value for time in times)
    return Stated(f"{total:g} min", Phrase("exactly", total), "min", "min", line)
