"""Numbers as people write them: .5, 1 1/2, ⅔, 2⁄3, 4,1; and numbers as people read them."""

import math
import re
import unicodedata
from decimal import ROUND_HALF_UP, Context, Decimal

_SIGN = r"[-+−]?"
_DECIMAL = r"(?:[0-9]+(?:[.,][0-9]+)*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
_VULGAR = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_FRACTION = r"[0-9]+\s*[/⁄]\s*[0-9]+(?![0-9.,])"
NUMBER = rf"{_SIGN}(?:[0-9]+\s+{_FRACTION}|{_FRACTION}|[0-9]*\s*[{_VULGAR}]|{_DECIMAL})"
_LARGE = 1e9
_EXACT = Context(prec=60)
_LEADING = re.compile(rf"\s*({NUMBER})")


def split_number(text: str) -> tuple[float | None, str]:
    """Return (number, the rest) of a text that starts with a number, (None, text) if it does not.

    Raises ValueError where a comma could be a decimal or a thousands comma, or the number is not
    finite.
    """
    match = _LEADING.match(text)
    if not match:
        return None, text.strip()
    number = _value(match[1].strip())
    if not math.isfinite(number) or abs(number) > 1e15:
        raise ValueError(f"{match[1].strip()} is too large to be meant")
    return number, text[match.end() :].strip()


def _value(text: str) -> float:
    sign = -1.0 if text[0] in "-−" else 1.0
    text = text.lstrip("-+− ")
    if text[-1] in _VULGAR:
        return sign * (float(text[:-1].strip() or 0) + unicodedata.numeric(text[-1]))
    if re.search(r"[/⁄]", text):
        *whole, fraction = re.sub(r"\s*[/⁄]\s*", "/", text).split()
        above, below = fraction.split("/")
        if float(below) == 0:
            raise ValueError(f"{text} divides by zero")
        return sign * (float(whole[0] if whole else 0) + float(above) / float(below))
    return sign * float(_without_commas(text))


def _without_commas(text: str) -> str:
    """Return the number with a decimal point; refuse what can be read in two ways."""
    if text.count(".") > 1 or ("," in text and "." in text):
        return _thousands(text)
    if "," not in text:
        return text
    whole, _, digits = text.partition(",")
    if "," in digits:
        return _thousands(text)
    if len(digits) == 3 and whole.lstrip("0"):
        raise ValueError(
            f"{text}: decimal or thousands comma? write {whole}.{digits} or {whole}{digits}"
        )
    return f"{whole}.{digits}"


def _thousands(text: str) -> str:
    last = max(text.rfind("."), text.rfind(","))
    groups, mark = text[:last], text[last]
    other = "," if mark == "." else "."
    if mark not in groups and re.fullmatch(rf"[0-9]{{1,3}}(?:\{other}[0-9]{{3}})+", groups):
        return groups.replace(other, "") + "." + text[last + 1 :]
    if re.fullmatch(rf"[0-9]{{1,3}}(?:\{mark}[0-9]{{3}})+", text):
        return text.replace(mark, "")
    raise ValueError(f"{text} is not a number brewsim can read; write it with one decimal point")


def fixed(value: float, places: int) -> str:
    """Return a number with that many digits after the point, halves away from zero.

    Below 0 places, so many digits before the point are zeros.
    """
    if abs(value) >= _LARGE:
        return f"{value:.{max(places, 0)}f}"
    unit = Decimal(1).scaleb(-places)
    return format(Decimal(value).quantize(unit, ROUND_HALF_UP, _EXACT), "f")


def significant(value: float, digits: int) -> str:
    """Return a number to that many significant figures, never in powers of ten for beer sizes."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    if abs(value) >= _LARGE:
        return f"{value:.{digits - 1}e}"
    places = digits - 1 - Decimal(value).adjusted()
    rounded = Decimal(fixed(value, places))
    return fixed(value, digits - 1 - rounded.adjusted()) if rounded else f"{value:g}"


def rounded(value: float, digits: int) -> float:
    """Return a number rounded to that many significant figures."""
    return float(significant(value, digits))


def plain(value: float) -> str:
    """Return a number as a person would type it, at most six significant figures."""
    text = f"{value:.6g}"
    return text if "e" not in text else significant(value, 3)
