"""When an ingredient goes in, as brewers write it."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from brewsim.errors import did_you_mean
from brewsim.quantities.numerals import split_number
from brewsim.quantities.statement import Stated, Written, line_of
from brewsim.recipe.measures import measures
from brewsim.recipe.sets import Measures, Sets

HopStep = Literal["mash", "first wort", "boil", "flameout", "whirlpool", "dry hop"]
PrecursorStep = Literal["mash", "boil", "whirlpool", "fermentation"]
SugarTime = Literal["boil", "late", "fermenter"]


@dataclass(frozen=True, slots=True)
class HopTime:
    """When a hop goes in.

    `time` is minutes before the end of the boil (boil), minutes in the stand (whirlpool) or days
    of contact (dry hop), else None. `temperature` is °C of the stand or of the dry hop's contact.
    `day` is the day a dry hop goes in, counted from pitching; `fermenting` says that the yeast is
    still at work then (said outright, or taken from a day of 4 or less).
    """

    step: HopStep
    time: Stated | None = None
    temperature: Stated | None = None
    day: float | None = None
    fermenting: bool = False
    text: str = field(default="", compare=False)

    def said(self) -> Iterator[tuple[Sets, Stated]]:
        """Yield what the time and the temperature state, each with the quantity it sets."""
        for name, (_, sets) in HOP_SETTINGS.get(self.step, {}).items():
            stated = self.temperature if name == "temperature" else self.time
            if stated is not None:
                yield sets, stated


@dataclass(frozen=True, slots=True)
class PrecursorTime:
    """When a precursor goes in; `day` of fermentation where that is the step."""

    step: PrecursorStep
    day: float | None = None
    text: str = field(default="", compare=False)


_HOP_WAYS = (
    "mash, first wort, boil 60 min, flameout, whirlpool 20 min at 80 °C"
    " or dry hop day 3 for 4 days at 16 °C"
)
_PRECURSOR_WAYS = "mash, boil, whirlpool or fermentation day 2"
_STEPS = (
    ("mash", r"(?:in\s+)?(?:the\s+)?mash(?:\s+hops?)?|mh"),
    ("first wort", r"first[\s-]wort(?:\s+hops?)?|fwh"),
    ("whirlpool", r"whirlpool|hop\s?stand|stand|wp|steep"),
    ("dry hop", r"dry[\s-]?hop(?:ped|s)?|dh"),
    (
        "flameout",
        r"(?:at\s+)?(?:flame\s?out|heat[\s-]off|knock\s?out|end\s+of\s+(?:the\s+)?boil)",
    ),
    ("boil", r"boil(?:ed|ing)?|kettle"),
)
_STEP = re.compile(
    "|".join(f"(?P<{name.replace(' ', '_')}>(?:{words})(?![a-z]))" for name, words in _STEPS),
    re.IGNORECASE,
)
_CLAUSE = re.compile(
    r"\s+(?=(?:for|at|on\s+day|day|during|in|after|while|with)(?![a-z]))", re.IGNORECASE
)
_BOIL = measures("min", "60 min", 0, 360)
_STAND = measures("min", "20 min", 0, 600)
_STAND_WARM = measures("°C", "80 °C", 40, 105)
_CONTACT = measures("days", "4 days", 0, 60)
_CONTACT_WARM = measures("°C", "16 °C", -2, 35)
HOP_SETTINGS: Mapping[HopStep, Mapping[str, tuple[Measures, Sets]]] = {
    "boil": {"time": (_BOIL, Sets("hop_boil_time_min", knob="minutes"))},
    "whirlpool": {
        "stand": (_STAND, Sets("stand_time_min", error="stand_time_error_min")),
        "temperature": (
            _STAND_WARM,
            Sets(
                "stand_set_temperature_c",
                error="stand_temperature_error_c",
                knob="temperature",
            ),
        ),
    },
    "dry hop": {
        "contact": (_CONTACT, Sets("dry_hop_contact_day", knob="days")),
        "temperature": (_CONTACT_WARM, Sets("dry_hop_temperature_c", knob="temperature")),
    },
}
"""Step -> what its time and its temperature are called as knobs, how they are read and set."""
_LAST_FERMENTING_DAY = 4  # assumption: most ale fermentations are still active on day 4


def read_hop_time(written: object) -> HopTime:
    """Read when a hop goes in; raises ValueError with the ways to write it."""
    text = _text(written)
    match = _STEP.match(text)
    if not text:
        raise ValueError(f"when? write {_HOP_WAYS}")
    if match is None:
        return _boil(text, written)
    step, rest = str(match.lastgroup).replace("_", " "), text[match.end() :].strip(" ,:")
    if step == "boil":
        return _boil(rest, written)
    if step == "whirlpool":
        return _whirlpool(rest, written)
    if step == "dry hop":
        return _dry_hop(rest, written)
    if rest:
        raise ValueError(f"“{rest}” cannot be read after “{step}”; write {_HOP_WAYS}")
    return HopTime("mash", text=text) if step == "mash" else _plain_step(step, text)


def _plain_step(step: str, text: str) -> HopTime:
    return HopTime("first wort" if step == "first wort" else "flameout", text=text)


def _text(written: object) -> str:
    if isinstance(written, list | dict):
        raise ValueError(f"write it as one text in quotes: {_HOP_WAYS}")  # noqa: TRY004 - a fault
    text = re.sub(r"\s+", " ", str(written).replace("@", " at ")).strip()
    return text.lower() if text.isupper() else text


def _boil(rest: str, written: object) -> HopTime:
    text = re.sub(r"^(?:at|for|last)\s+", "", rest, flags=re.IGNORECASE)
    text = re.sub(
        r"\s*(?:\bboil|before (?:the )?(?:end|flame\s?out)|left|remaining)\.?$",
        "",
        text,
        flags=re.IGNORECASE,
    )
    if not text:
        raise ValueError("boil for how long? write boil 60 min")
    number, unit = _number(text)
    if number is None:
        hint = did_you_mean(text.split()[0], ["mash", "flameout", "whirlpool", "dry hop", "boil"])
        raise ValueError(f"is not a time brewsim can read; write {_HOP_WAYS}.{hint}")
    minutes: Stated = _BOIL.parse(_at(text if unit else f"{text} min", written))
    step: HopStep = "boil" if minutes.value > 0 else "flameout"
    return HopTime(step, minutes if step == "boil" else None, text=str(written))


def _number(text: str) -> tuple[float | None, str]:
    try:
        return split_number(text)
    except ValueError:
        return None, ""


def _at(text: str, written: object) -> Written:
    return Written(text, line_of(written))


def _clauses(rest: str) -> Iterator[str]:
    for clause in _CLAUSE.split(f" {rest}"):
        if clause.strip(" ,"):
            yield clause.strip(" ,")


def _whirlpool(rest: str, written: object) -> HopTime:
    time: Stated | None = None
    temperature: Stated | None = None
    for clause in _clauses(rest):
        value = re.sub(r"^(?:for|at)\s+", "", clause, flags=re.IGNORECASE)
        if temperature is None and re.search(r"(?:°|\b)\s*[CFK]\.?$|deg|sius|heit", value):
            temperature = _STAND_WARM.parse(_at(value, written))
        elif time is None and not clause.lower().startswith("at "):
            time = _STAND.parse(_at(value, written))
        elif temperature is None:
            temperature = _STAND_WARM.parse(_at(value, written))
        else:
            raise ValueError(f"“{clause}” cannot be read; write whirlpool 20 min at 80 °C")
    return HopTime("whirlpool", time, temperature, text=str(written))


_DAY = re.compile(r"(?:on\s+)?day\s+([0-9]+(?:[.,][0-9])?)", re.IGNORECASE)
_GRAVITY_OR_SHARE = re.compile(
    r"at\s+(1[.,]0[0-9]{1,2}|[0-9]\s*[/⁄]\s*[0-9])(?:\s.*)?", re.IGNORECASE
)


def _dry_hop(rest: str, written: object) -> HopTime:
    time: Stated | None = None
    temperature: Stated | None = None
    day: float | None = None
    fermenting: bool | None = None
    for clause in _clauses(rest):
        value = re.sub(r"^(?:for|at)\s+", "", clause, flags=re.IGNORECASE)
        low = clause.lower()
        if (match := _DAY.fullmatch(clause)) and day is None:
            day = float(match[1].replace(",", "."))
        elif re.fullmatch(r"(during|in|while|with)\b.*ferment\w*|during", low) or (
            _GRAVITY_OR_SHARE.fullmatch(clause)
        ):
            fermenting = True
        elif re.fullmatch(r"after\b.*ferment\w*", low):
            fermenting = False
        elif low.startswith("at ") and temperature is None:
            temperature = _CONTACT_WARM.parse(_at(value, written))
        elif not low.startswith("at ") and time is None:
            time = _CONTACT.parse(_at(value, written))
        else:
            raise ValueError(f"“{clause}” cannot be read; write dry hop day 3 for 4 days at 16 °C")
    if day is not None and day > 120:
        raise ValueError(f"day {day:g} is past day 120; count from pitching")
    if fermenting is None:
        fermenting = day is not None and day <= _LAST_FERMENTING_DAY
    return HopTime("dry hop", time, temperature, day, fermenting, str(written))


_PRECURSOR_STEP = re.compile(
    r"(?:in\s+|at\s+)?(?:the\s+)?(?:(?P<mash>mash)|(?P<boil>boil|kettle|flame\s?out)"
    r"|(?P<whirlpool>whirlpool|hop\s?stand|wp)"
    r"|(?P<fermentation>(?:during\s+|with\s+)?(?:fermentation|fermenter|dry[\s-]?hop|pitching"
    r"|pitch|day)))\b\s*,?\s*(?:(?:on\s+)?(?:day\s+)?(?P<day>[0-9]{1,3}(?:[.,][0-9])?))?",
    re.IGNORECASE,
)


def read_precursor_time(written: object) -> PrecursorTime:
    """Read when a precursor goes in; raises ValueError with the ways to write it."""
    text = _text(written)
    match = _PRECURSOR_STEP.fullmatch(text)
    if match is None:
        steps = ["mash", "boil", "whirlpool", "fermentation"]
        hint = did_you_mean((text.split() or [""])[0], steps)
        raise ValueError(f"is not a time brewsim can read; write {_PRECURSOR_WAYS}.{hint}")
    day = float(match["day"].replace(",", ".")) if match["day"] else None
    if match["mash"]:
        step: PrecursorStep = "mash"
    elif match["boil"]:
        step = "boil"
    else:
        step = "whirlpool" if match["whirlpool"] else "fermentation"
    if day is not None and (step != "fermentation" or day > 60):
        raise ValueError(f"a day belongs to fermentation, 0 to 60; write {_PRECURSOR_WAYS}")
    if step == "fermentation" and day is None:
        day = 0.0
    return PrecursorTime(step, day, str(written))


_SUGAR_WORDS: Mapping[str, SugarTime] = {
    "boil": "boil",
    "kettle": "boil",
    "late": "late",
    "flameout": "late",
    "whirlpool": "late",
    "end of boil": "late",
    "fermenter": "fermenter",
    "fermentation": "fermenter",
    "primary": "fermenter",
    "pitching": "fermenter",
    "high krausen": "fermenter",
}
_SUGAR_DAY = re.compile(
    r"(?:ferment(?:er|ation)\s*,?\s*)?(?:on\s+)?day\s+([0-9]{1,3})", re.IGNORECASE
)


def read_sugar_time(written: object) -> SugarTime:
    """Read when a sugar goes in; a day of fermentation is any day, for all of it ferments.

    Example:
        >>> read_sugar_time("in the fermenter on day 3")
        'fermenter'
    """
    one = "" if isinstance(written, list | dict) else _text(written).lower()
    text = re.sub(r"^(?:in|into|at|during|with)\s+(?:the\s+)?", "", one)
    if _SUGAR_DAY.fullmatch(text):
        return "fermenter"
    if text not in _SUGAR_WORDS:
        hint = did_you_mean((text.split() or [""])[0], _SUGAR_WORDS)
        raise ValueError(f"is no time for a sugar; write boil, late or fermenter.{hint}")
    return _SUGAR_WORDS[text]
