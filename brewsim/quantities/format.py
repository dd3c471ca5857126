"""How a number reads: the one place where a value of a quantity becomes text.

The same value of the same quantity reads alike in every command and on the page. What people wrote
themselves is repeated in their own unit.
"""

import math
from collections.abc import Callable, Mapping, Sequence

from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.conversion import Unit, from_model
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.numerals import fixed, plain, significant
from brewsim.quantities.statement import Phrase, Stated

_TWIN = {
    "kg": "lb",
    "lb": "kg",
    "g": "oz",
    "oz": "g",
    "L": "US gal",
    "US gal": "L",
    "imp gal": "L",
    "hL": "US bbl",
    "US bbl": "hL",
    "UK bbl": "hL",
    "°C": "°F",
    "°F": "°C",
    "g/L": "oz/US gal",
    "g/hL": "oz/US bbl",
    "oz/US gal": "g/L",
    "oz/imp gal": "g/L",
    "lb/US bbl": "g/L",
    "lb/UK bbl": "g/L",
    "°P": "SG",
    "SG": "°P",
    "°Bx": "SG",
    "points": "°P",
    "EBC": "SRM",
    "SRM": "EBC",
    "°L": "EBC",
    "vol": "g/L CO2",
    "g/L CO2": "vol",
    "bar": "psi",
    "psi": "bar",
    "kPa": "psi",
    "L/h": "US gal/h",
    "US gal/h": "L/h",
    "m": "ft",
    "ft": "m",
}


_MOST_PLACES = 12
_MOST_LITRES = 1_000.0
"""From here on a volume is told in hectolitres, as breweries of that size do."""


def default_unit(model_unit: str, value: float = 0.0) -> str:
    """Return the unit a value in that model unit is shown in when nobody chose one."""
    if model_unit == "L" and abs(value) >= _MOST_LITRES:
        return "hL"
    return {"fraction": "%", "Δ°C": "°C"}.get(model_unit, model_unit)


def in_unit(value: float, model_unit: str, unit: str = "") -> float:
    """Return a model value in the unit of that symbol (of the model unit itself without one)."""
    symbol = unit or default_unit(model_unit)
    return from_model(value, Unit(symbol, kind_of(model_unit)), model_unit)


def shown(value: float, model_unit: str, unit: str = "", *, twin: bool = True) -> str:
    """Return "70 g (2.5 oz)": a model value in the person's unit with the twin unit beside it."""
    symbol = unit or default_unit(model_unit, value)
    number = in_unit(value, model_unit, symbol)
    text = _with_unit(_digits(number, symbol), symbol)
    other = _TWIN.get(symbol) if twin and kind_of(model_unit) != "temperature difference" else None
    if other is None:
        return text
    second = in_unit(value, model_unit, other)
    return f"{text} ({_with_unit(_twin_digits(second, other), other)})"


def numbers_apart(values: list[float], spread: float) -> list[str]:
    """Return numbers rounded alike, to two figures of their spread."""
    places = max(0, 1 - _exponent(spread * 1.0000001)) if spread > 0 else _MOST_PLACES
    return [number(v, places) if places < _MOST_PLACES else _signed(plain(v)) for v in values]


def in_words(stated: Stated) -> str:
    """Return what a stated value says: "nine in ten between 5.0 and 6.2 %", in its own unit."""
    phrase, unit = stated.phrase, stated.unit
    symbol = unit or default_unit(stated.model_unit)
    middle = shown(phrase.middle, stated.model_unit, unit, twin=False)
    if phrase.kind == "plain":
        return f"{middle}, with the usual spread"
    if phrase.kind == "exactly":
        return f"exactly {middle}"
    if phrase.kind == "sd":
        return f"{middle}, standard deviation {_with_unit(_width(stated), symbol)}"
    if phrase.kind == "measured":
        lots = f" of {phrase.lots} lots" if phrase.lots else ""
        return f"{len(phrase.values)} own measurements{lots}, mean {middle}"
    return _between(phrase, stated.model_unit, symbol, middle)


def _between(phrase: Phrase, model_unit: str, symbol: str, middle: str) -> str:
    if phrase.low is None or phrase.high is None:
        return f"at {'most' if phrase.low is None else 'least'} {middle}"
    ends = [in_unit(end, model_unit, symbol) for end in (phrase.low, phrase.high)]
    low, high = numbers_apart(ends, abs(ends[1] - ends[0]))
    span = f"between {low} and {high} {symbol}".rstrip()
    if phrase.kind == "uniform":
        return f"anywhere {span}, never outside"
    if phrase.kind == "triangular":
        return f"{span}, likely {middle}, never outside"
    fold = f" (within a factor {phrase.factor:g})" if phrase.factor else ""
    return f"nine in ten {span}{fold}"


def _width(stated: Stated) -> str:
    phrase, sd = stated.phrase, stated.phrase.sd or 0.0
    ends = [in_unit(phrase.middle + s, stated.model_unit, stated.unit) for s in (-sd, sd)]
    return significant(abs(ends[1] - ends[0]) / 2, 2)


def _exponent(value: float) -> int:
    return int(f"{value:e}".partition("e")[2])


def _digits(number: float, symbol: str) -> str:
    if symbol == "SG":
        return f"{number:.3f}"
    return plain(float(significant(number, 5))) if number else "0"


def _twin_digits(number: float, symbol: str) -> str:
    if symbol == "SG":
        return f"{number:.3f}"
    if symbol in ("°F", "°C", "EBC", "SRM"):
        return f"{number:.0f}"
    return significant(number, 2)


def _with_unit(number: str, symbol: str) -> str:
    return f"{_signed(number)} {symbol}".strip()


def _signed(text: str) -> str:
    """Return a number with a real minus sign, and none where nothing is left of it."""
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "−")


def bare(value: float) -> str:
    """Return a model number to four figures, as a person would type it."""
    return _signed(plain(float(f"{value:.4g}")))


# values of a catalogue row -----------------------------------------------------------------------
_NO_VALUE = "no value"


def number(value: float, decimals: int | None = None, figures: int = 2) -> str:
    """Return a rounded number with a real minus sign; without decimals, significant figures."""
    if not math.isfinite(value):
        return _NO_VALUE
    text = significant(value, figures) if decimals is None else fixed(value, decimals)
    return _signed(text)


def times(doublings: float, figures: int = 2) -> str:
    """Return doublings as so many times: 1 is 2×, −1 is 0.5×."""
    if not abs(doublings) < 1000:
        return _NO_VALUE
    text = number(2.0**doublings, None, figures)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text}×"


def value(row: Quantity, model: float) -> str:
    """Return a value (model units) without its unit; a fold carries its ×."""
    return printed(row, model * row.per_model)


def printed(row: Quantity, shown_value: float) -> str:
    """Return a value that is already in the row's shown unit (doublings for folds)."""
    if row.fold:
        return times(shown_value, row.figures)
    return number(shown_value, row.decimals, row.figures)


def span(row: Quantity, low: float, high: float) -> str:
    """Return "4.7 to 5.3" of two values in model units."""
    return f"{value(row, low)} to {value(row, high)}"


def with_unit(row: Quantity, text: str) -> str:
    """Put the unit behind a number; a gravity and a fold have none."""
    return f"{text} {unit_word(row)}".strip()


def unit_word(row: Quantity) -> str:
    """Return the unit behind a number of this quantity, "" where it stands bare."""
    return "" if row.fold or row.unit == "SG" else row.unit


def heading(row: Quantity) -> str:
    """Return the label with its unit, for the head of a column."""
    return f"{row.label} ({row.unit})" if row.unit and not row.fold else row.label


def reading(row: Quantity, model: float) -> str:
    """Return a measured value: one digit more than a forecast where the brewer read one."""
    text, size = value(row, model), model * row.per_model
    if row.fold or not math.isfinite(size):
        return text
    exact = math.isclose(float(text.replace("−", "-")), size, rel_tol=1e-6, abs_tol=1e-12)
    return text if exact else value(row.finer(), model)


def step(row: Quantity, model: float) -> str:
    """Return a signed difference, to one digit more than a value; a fold as so many times."""
    if row.fold:
        return times(model, row.figures + 1)
    decimals = None if row.decimals is None else row.decimals + 1
    text = number(model * row.per_model, decimals)
    if text.strip("0.") == "":
        return "0"
    return text if text.startswith("−") or text == _NO_VALUE else f"+{text}"


def spread(row: Quantity, model: float) -> str:
    """Return a standard deviation or a half width to two figures; of folds, as a factor."""
    if row.fold:
        return f"a factor {times(model).rstrip('×')}"
    return number(model * row.per_model)


def slight(row: Quantity, size: float) -> float:
    """Return the largest change of a value of that size that is not worth a word.

    A twentieth of the last printed digit: in model units, or as a share of 1 for folds.
    """
    if row.scale != "linear" or row.fold:
        return 0.005
    last = 0.01 * abs(size) if row.decimals is None else 10.0**-row.decimals / abs(row.per_model)
    return 0.05 * last


def written_in(units: Mapping[str, str]) -> Callable[[str, float], str]:
    """Return a function that writes a value of a quantity with its unit.

    `units` are those of `Problem.units`.
    """

    def written(quantity: str, model: float) -> str:
        row = outcome_of(quantity, units)
        return with_unit(row, value(row, model))

    return written


def together(values: Sequence[float], largest: float, least: int) -> list[str]:
    """Return numbers rounded alike: to two figures of `largest`, at least `least` decimals."""
    decimals = max(least, 1 - _exponent(largest or 1.0))
    return [number(v, decimals) for v in values]
