"""Numbers as people read them: in the unit they typed, rounded as their outcome is."""

from collections.abc import Callable, Mapping

from brewsim.quantities.catalogue import Outcome, outcome_of
from brewsim.quantities.conversion import Unit, from_model
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.numerals import plain, significant
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
    if spread <= 0:
        return [plain(value) for value in values]
    places = max(0, 1 - _exponent(spread * 1.0000001))
    return [f"{value:.{places}f}" if places < 12 else plain(value) for value in values]


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
    span = f"between {low} and {_with_unit(high, symbol)}"
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
    return f"{number} {symbol}".strip()


def value(row: Outcome, number: float) -> str:
    """Return a value in its shown unit, rounded as that outcome is."""
    shown = number * row.per_model
    return significant(shown, 3) if row.decimals is None else f"{shown:.{row.decimals}f}"


def changed(row: Outcome, number: float) -> str:
    """Return a signed step, to one digit more than the value."""
    shown = number * row.per_model
    text = significant(shown, 2) if row.decimals is None else f"{shown:.{row.decimals + 1}f}"
    if float(text) == 0:
        return "0"
    return f"−{text[1:]}" if text.startswith("-") else f"+{text}"


def amount(row: Outcome, number: float) -> str:
    """Return a spread, to one digit more than the value."""
    shown = number * row.per_model
    return significant(shown, 2) if row.decimals is None else f"{shown:.{row.decimals + 1}f}"


def with_unit(row: Outcome, text: str) -> str:
    """Return a number with its unit; a gravity has none."""
    return text if row.unit in ("", "SG") else f"{text} {row.unit}"


def lower(label: str) -> str:
    """Return a label inside a sentence."""
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def odds(chance: float) -> str:
    """Return how odd a reading so far out is."""
    if chance > 0.3:
        return "That is as expected."
    if chance > 0.1:
        return f"That is a little out: 1 batch in {round(1 / chance)} is further out."
    if chance > 0.01:
        return f"That is unusual: 1 batch in {round(1 / chance)} is further out."
    if chance > 0.001:
        return f"That is rare: 1 batch in {round(1 / chance, -1 if chance < 0.02 else 0):.0f}."
    return "That is hardly possible: fewer than 1 batch in 1,000. Check the reading first."


def told_in(units: Mapping[str, str]) -> Callable[[str, float], str]:
    """Return what writes down a value of a quantity; `units` are those of `Problem.units`."""

    def told(quantity: str, number: float) -> str:
        row = outcome_of(quantity, units)
        return with_unit(row, value(row, number))

    return told


def counted(number: int, what: str) -> str:
    """Return "1 batch" or "3 batches"."""
    plural = f"{what}es" if what.endswith("ch") else f"{what}s"
    return f"{number} {what if number == 1 else plural}"
