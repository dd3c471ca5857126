"""Phrases for a spread: one small grammar, from text to a Phrase in model units.

5.6 %                          the prior's spread around this value
exactly 5.6 %                  no spread
5.6 ± 0.6 %                    nine in ten between 5.0 and 6.2 %
5.0 to 6.2 %                   the same
15 mg/kg within a factor 2.5   nine in ten, in folds
between 5 and 6.2 %            never outside
between 5 and 6.2 %, likely 5.5
5.6 sd 0.4 %                   a standard deviation
measured 5.4; 5.9; 5.6 %       own measurements (or a list), "of 3 lots" behind them
at most 30 IBU, at least 4 %   one-sided: targets only
"""

import math
import re
from collections.abc import Sequence

from brewsim.quantities.amounts import Amount, bare_unit, read_amounts, total
from brewsim.quantities.conversion import Unit, convert, scale_of
from brewsim.quantities.numerals import plain
from brewsim.quantities.statement import Phrase, Stated, line_of

_I = re.IGNORECASE
_EXACTLY = re.compile(r"(?:exactly|=)\s*(.+)", _I)
_AT_MOST = re.compile(
    r"(?:at most|no more than|not above|up to|below|under|max\.?|<=?|≤)\s*(.+)", _I
)
_AT_LEAST = re.compile(r"(?:at least|no less than|not below|above|over|min\.?|>=?|≥)\s*(.+)", _I)
_BETWEEN = re.compile(r"between\s+(.+?)\s+and\s+(.+?)(?:\s*,?\s*(?:most\s+)?likely\s+(.+))?", _I)
_FACTOR = re.compile(r"(.+?),?\s+within\s+(?:a\s+)?factor\s+(?:of\s+)?(.+)", _I)
_SD = re.compile(r"(.+?)\s*,?\s*\bsd\b\s*=?\s*(.+)", _I)
_PLUS_MINUS = re.compile(r"([^±]+?)\s*(\()?\s*±\s*([^±()]+?)\s*(?(2)\))", _I)
_TO = re.compile(
    r"\s+to\s+|\s*[–—]\s*|\s*\.\.\.?\s*(?=[0-9])|\s+-\s+|(?<=[^\s(/-])-(?=[0-9.½¼¾⅓⅔])", _I
)
_MEASURED = re.compile(r"measured:?\s+(.+)", _I)
_LOTS = re.compile(r",?\s*\b(?:of|from)\s+([0-9]{1,4})\s+(?:different\s+)?lots?\s*", _I)
_ABOUT = re.compile(r"(?:about|ca\.?|circa|roughly|~|≈)\s*(.+)", _I)


def read_phrase(written: object, model_unit: str) -> Stated:
    """Return what a text (or a list of texts: own measurements) says, in model units.

    Raises ValueError with the fault in words. Numbers and true/false are read as their text.
    """
    if isinstance(written, Stated):
        return written
    line = line_of(written)
    if isinstance(written, list | tuple):
        line = line_of(written[0]) if written else 0
        text = "measured " + "; ".join(str(item) for item in written)
        told = "[" + ", ".join(f'"{item}"' for item in written) + "]"
    else:
        text = told = str(written)
    text = text.replace("\u00a0", " ").replace("\u202f", " ").replace("−", "-").strip()
    text = re.sub(r"\+\s?/\s?-|\+-", "±", text)
    if not text:
        raise ValueError("nothing is written here")
    if len(text) > 300:
        raise ValueError("is longer than 300 characters")
    phrase, unit = _read(text, model_unit)
    return Stated(told, phrase, model_unit, unit, line)


def _read(text: str, unit: str) -> tuple[Phrase, str]:
    if (match := _ABOUT.fullmatch(text)) is not None:
        text = match[1]
    for pattern, reader in _READERS:
        if (match := pattern.fullmatch(text)) is not None:
            return reader(match, unit)
    ends = _TO.split(text, maxsplit=1)
    if len(ends) == 2 and ends[0].strip():
        return _range(ends[0], ends[1], unit)
    (value,), symbol = _values([text], unit)
    return Phrase("plain", value), symbol


def _values(texts: Sequence[str], model_unit: str) -> tuple[list[float], str]:
    """Return the texts' values, a number without unit taking the unit of a neighbour."""
    runs = [read_amounts(text, model_unit) for text in texts]
    lent = _lent(runs)
    first = runs[0][0]
    symbol = (first.unit or lent or bare_unit(first.number, model_unit)).symbol
    return [total(run, model_unit, lent) for run in runs], symbol


def _lent(runs: Sequence[list[Amount]]) -> Unit | None:
    return next((a.unit for run in reversed(runs) for a in run if a.unit is not None), None)


def _exactly(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    (value,), symbol = _values([match[1]], unit)
    return Phrase("exactly", value), symbol


def _at_most(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    (value,), symbol = _values([match[1]], unit)
    return Phrase("at_most", value, high=value), symbol


def _at_least(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    (value,), symbol = _values([match[1]], unit)
    return Phrase("at_least", value, low=value), symbol


def _between(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    if match[3] is None:
        (low, high), symbol = _values([match[1], match[2]], unit)
        _in_order(low, high, match[1], match[2])
        return Phrase("uniform", (low + high) / 2, low, high), symbol
    (low, high, likely), symbol = _values([match[1], match[2], match[3]], unit)
    _in_order(low, high, match[1], match[2])
    if not low <= likely <= high:
        raise ValueError(f"likely {match[3]} is not between {match[1]} and {match[2]}")
    return Phrase("triangular", likely, low, high), symbol


def _factor(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    (value,), symbol = _values([match[1]], unit)
    (factor,), _ = _values([match[2].strip(" .")], "")
    if not 1 < factor <= 1000:
        raise ValueError(f"a factor is above 1 and at most 1000, not {match[2]}")
    if value <= 0:
        raise ValueError("“within a factor” needs a value above 0; write ± instead")
    return Phrase("factor", value, value / factor, value * factor, factor=factor), symbol


def _spread(middle: str, spread: str, model_unit: str) -> tuple[float, float, float, str]:
    """Return middle, middle - spread, middle + spread: offsets and curved scales take care."""
    amounts, widths = read_amounts(middle, model_unit), _widths(spread, model_unit)
    if len(widths) > 1 or len(amounts) > 1:
        raise ValueError("write one number with its unit on either side of the spread")
    (amount,), (width,) = amounts, widths
    relative = width.unit is not None and width.unit.symbol == "% of it"
    unit = amount.unit or (None if relative else width.unit)
    unit = unit or bare_unit(amount.number, model_unit)
    number = amount.number
    wide = abs(number) * width.number / 100 if relative else width.number
    if not relative and width.unit is not None and width.unit != unit:
        if unit.kind in ("gravity", "colour"):
            raise ValueError("write the value and its spread in the same unit")
        (one, _), (other, _) = (scale_of(u, model_unit) for u in (unit, width.unit))
        wide = width.number * other / one
    if wide <= 0:
        raise ValueError("a spread is above 0; write “exactly” where there is none")
    if unit.kind == "fraction" and wide >= abs(number):
        raise ValueError(
            f"± {plain(wide)} % is counted in the same % as {plain(number)}, and would reach 0; "
            f"for {plain(wide)} parts in a hundred of it write ± {plain(number * wide / 100)} %"
        )
    ends = [convert(n, unit, model_unit) for n in (number, number - wide, number + wide)]
    return ends[0], ends[1], ends[2], unit.symbol


def _widths(text: str, model_unit: str) -> list[Amount]:
    try:
        return read_amounts(text, model_unit)
    except ValueError:
        if match := re.fullmatch(r"\s*([0-9.,]+)\s*%(?:\s*of it)?\s*", text):
            return [Amount(_values([match[1]], "")[0][0], Unit("% of it", "number"))]
        raise


def _plus_minus(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    value, low, high, symbol = _spread(match[1], match[3], unit)
    return Phrase("range90", value, low, high), symbol


def _sd(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    value, low, high, symbol = _spread(match[1], match[2], unit)
    return Phrase("sd", value, sd=(high - low) / 2), symbol


def _range(first: str, second: str, unit: str) -> tuple[Phrase, str]:
    (low, high), symbol = _values([first, second], unit)
    _in_order(low, high, first, second)
    return Phrase("range90", (low + high) / 2, low, high), symbol


def _measured(match: re.Match[str], unit: str) -> tuple[Phrase, str]:
    text, lots = match[1], 0
    if (found := _LOTS.search(text)) is not None:
        lots = int(found[1])
        text = text[: found.start()] + text[found.end() :]
    items = [item for item in re.split(r"\s*;\s*|,\s+", text.strip(" ;")) if item]
    if len(items) < 2:
        raise ValueError("own measurements are two or more; write a single one as a plain value")
    if len(items) > 500:
        raise ValueError("more than 500 measurements; give their mean and sd instead")
    if lots and lots < 2:
        raise ValueError("several lots are two or more; leave out “of 1 lots”")
    values, symbol = _values(items, unit)
    return Phrase("measured", math.fsum(values) / len(values), values=tuple(values), lots=lots), (
        symbol
    )


def _in_order(low: float, high: float, first: str, second: str) -> None:
    if not low < high:
        raise ValueError(f"{first.strip()} is not below {second.strip()}; the smaller comes first")


_READERS = (
    (_MEASURED, _measured),
    (_EXACTLY, _exactly),
    (_BETWEEN, _between),
    (_AT_MOST, _at_most),
    (_AT_LEAST, _at_least),
    (_FACTOR, _factor),
    (_SD, _sd),
    (_PLUS_MINUS, _plus_minus),
)
