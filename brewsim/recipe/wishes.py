"""What the next beer should be, against beers that were tasted: "half of G1", "as G1"."""

import re
from dataclasses import dataclass, field
from typing import Literal

from brewsim.errors import did_you_mean
from brewsim.quantities.statement import Written, line_of

TASTED = ("thiols", "hops", "bitterness")
"""What tasters have words for."""
MEASURED = ("alcohol", "color", "final_gravity")
WISHED = (*TASTED, *MEASURED)
Kind = Literal["times", "as", "less", "more", "window", "between", "strong", "just right"]

_FRACTIONS = {
    "a tenth": 0.1,
    "a quarter": 0.25,
    "a third": 1 / 3,
    "half": 0.5,
    "two thirds": 2 / 3,
    "three quarters": 0.75,
    "twice": 2.0,
    "double": 2.0,
    "three times": 3.0,
    "four times": 4.0,
}
_WORDS = "|".join(_FRACTIONS)
_NUMBER = r"(?:[x×]\s*)?(\d+(?:[.,]\d+)?)\s*[x×]?"
_STRONG = re.compile(rf"({_WORDS})\s+as\s+strong\s+as\s+(.+)", re.IGNORECASE)
_TIMES = re.compile(rf"({_WORDS})\s+(?:of\s+|as\s+)?(.+)", re.IGNORECASE)
_WINDOW = re.compile(rf"{_NUMBER}\s*(?:to|-|–)\s*{_NUMBER}\s+(?:of\s+)?(.+)", re.IGNORECASE)
_SIDE = re.compile(r"(less|more|as|like)\s+(?:than\s+|in\s+)?(.+)", re.IGNORECASE)
_BETWEEN = re.compile(r"between\s+(.+?)\s+and\s+(.+)", re.IGNORECASE)
_SHAPES = (
    "half of G1, as G1, twice G1, x0.3 to x0.6 of G1, less than G1, more than G1, between G1 and "
    "G2, half as strong as G1 or just right"
)
_LEAST, _MOST = 0.01, 100.0


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish or hold: of what, what kind, against which batches.

    `low` and `high` are times the beer it is compared with, of a window; `times` of a fraction.
    """

    name: str
    kind: Kind
    batches: tuple[str, ...] = ()
    times: float = 1.0
    low: float = 0.0
    high: float = 0.0
    text: str = field(default="", compare=False)
    line: int = field(default=0, compare=False)


def read_wish(name: str, written: object) -> Wish:
    """Read one wish; raises ValueError with the fault in words.

    >>> read_wish("thiols", "half of G1").times
    0.5
    """
    if name not in WISHED:
        near = did_you_mean(name, WISHED) or f" There is: {', '.join(WISHED)}."
        raise ValueError(f"{name} cannot be wished for.{near}")
    if not isinstance(written, str):
        raise ValueError(f"write one text in quotes: {_SHAPES}")  # noqa: TRY004 - a fault
    text = " ".join(written.split())
    line = line_of(written)
    if text.lower() == "just right":
        if name not in TASTED:
            raise ValueError(f"just right is what tasters say; of {name}, write as G1")
        return Wish(name, "just right", text=text, line=line)
    for pattern, made in ((_STRONG, "strong"), (_BETWEEN, "between"), (_WINDOW, "window")):
        match = pattern.fullmatch(text)
        if match is not None:
            return _made(name, made, match, Written(text, line))
    if (match := _TIMES.fullmatch(text)) is not None:
        return Wish(name, "times", (match[2],), _FRACTIONS[match[1].lower()], text=text, line=line)
    if (match := _SIDE.fullmatch(text)) is not None:
        word = match[1].lower()
        kind: Kind = "less" if word == "less" else "more" if word == "more" else "as"
        return Wish(name, kind, (match[2],), text=text, line=line)
    raise ValueError(f"is not read; write {_SHAPES}")


def _made(name: str, kind: str, match: re.Match[str], text: Written) -> Wish:
    said, line = str(text), line_of(text)
    if kind == "between":
        if match[1].lower() == match[2].lower():
            raise ValueError("names one beer twice")
        return Wish(name, "between", (match[1], match[2]), text=said, line=line)
    if kind == "strong":
        if name not in TASTED[:2]:
            raise ValueError(f"as strong as is what tasters say of aroma; of {name}, write half of")
        times = _FRACTIONS[match[1].lower()]
        return Wish(name, "strong", (match[2],), times, text=said, line=line)
    low, high = (float(match[n].replace(",", ".")) for n in (1, 2))
    if not _LEAST <= low < high <= _MOST:
        raise ValueError(
            f"runs from x{low:g} to x{high:g}; write rising folds, such as x0.3 to x0.6"
        )
    return Wish(name, "window", (match[3],), low=low, high=high, text=said, line=line)


def read_wish_line(text: str) -> Wish:
    """Read a wish of the command line, "thiols: half of G1"; raises ValueError."""
    name, mark, phrase = text.partition(":")
    if not mark:
        raise ValueError(f"“{text}” says not of what; write thiols: half of G1")
    return read_wish(name.strip().lower(), phrase.strip())
