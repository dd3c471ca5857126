"""What a person may have meant to write: slips of digits, of the decimal point and of the unit."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_SWAPPED, _DIGIT, _POINT, _ZERO, _UNIT = 0.3, 0.4, 0.1, 0.1, 0.1
"""Shares of slips by kind: assumption. Two digits in the wrong order and one wrong digit lead."""
_UNITS = {
    "L": ("US gal", "imp gal", "hL"), "hL": ("L",), "US gal": ("L", "imp gal"),
    "imp gal": ("L", "US gal"), "gal": ("L",), "EBC": ("SRM",), "SRM": ("EBC",),
    "°C": ("°F",), "°F": ("°C",),
}  # fmt: skip
"""Units that are written one for the other."""


@dataclass(frozen=True)
class Slip:
    """A text that may have been meant, what slipped, and its share of all slips."""

    text: str
    what: str
    share: float


def slips_of(written: str) -> Iterator[Slip]:
    """Yield what may have been meant by a reading's text, the instrument left out.

    >>> [slip.text for slip in slips_of("94 IBU") if slip.what == "two digits in the wrong order"]
    ['49 IBU']
    """
    text = written.partition(" by ")[0].strip()
    match = _NUMBER.search(text)
    if match is None:
        return
    number, before, after = match[0], text[: match.start()], text[match.end() :]
    digits = [place for place, sign in enumerate(number) if sign.isdigit()]
    pairs = [(a, b) for a, b in pairwise(digits) if number[a] != number[b]]
    for a, b in pairs:
        signs = list(number)
        signs[a], signs[b] = signs[b], signs[a]
        share = _SWAPPED / len(pairs)
        yield Slip(f"{before}{''.join(signs)}{after}", "two digits in the wrong order", share)
    for place in digits:
        for digit in "0123456789".replace(number[place], ""):
            changed = f"{number[:place]}{digit}{number[place + 1 :]}"
            yield Slip(f"{before}{changed}{after}", "one digit", _DIGIT / 9 / len(digits))
    for changed, share in _shifted(number):
        yield Slip(f"{before}{changed}{after}", "the decimal point", share)
    whole, point, part = re.match(r"([0-9]+)([.,]?)([0-9]*)", number).groups()  # type: ignore[union-attr]
    if point:
        yield Slip(f"{before}{whole}{point}0{part}{after}", "a zero left out", _ZERO)
    others = _UNITS.get(after.strip(), ())
    for unit in others:
        yield Slip(f"{before}{number} {unit}", "the unit", _UNIT / len(others))


def _shifted(number: str) -> Iterator[tuple[str, float]]:
    """Yield the number ten times as large and as small, in plain digits."""
    whole, _, part = number.replace(",", ".").partition(".")
    yield f"{whole}{part[:1] or '0'}" + (f".{part[1:]}" if part[1:] else ""), _POINT / 2
    if len(whole) > 1 or part:
        yield f"{whole[:-1] or '0'}.{whole[-1]}{part}", _POINT / 2
