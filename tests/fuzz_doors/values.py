"""What can be written for a key or a quantity: at its limits, at 0, at a thousand times usual.

Limits, units and examples come from the schema itself (`Measures`, `Reads`, words), so a new key
is tried without a word here.
"""

import typing
from functools import cache

from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Reads
from brewsim.recipe.schema import Block, Recipe
from brewsim.recipe.sets import Measures

_SHOWN = {"fraction": ("%", 100.0), "pH": ("", 1.0), "doublings": ("", 1.0)}
_TIMES = ("boil", "when")
_TEMPLATES = {
    "when": (
        "mash",
        "first wort",
        "flameout",
        "boil {n} min",
        "whirlpool {n} min at {t} °C",
        "whirlpool",
        "dry hop day {n} for {m} days at {t} °C",
        "dry hop for {n} days",
        "fermentation day {n}",
        "boil",
    ),
    "mash": (
        "{t} °C for {n} min",
        "{t} °C",
        ["{t} °C for {n} min", "{u} °C for {m} min"],
        ["45 °C for 10 min", "{t} °C for {n} min by decoction", "76 °C for 5 min"],
    ),
    "priming": ("{n} g/L glucose", "{n} g/L sucrose", "{n} g/L"),
    "storage": ("{n} weeks at {t} °C", "{n} months at {t} °C", "{n} days"),
}
_NUMBERS = (0, 1e-6, 0.5, 1, 4, 7, 20, 60, 119, 121, 360, 480, 1440, 1e4, 1e6, -1)
_WARMTHS = (-30, -2, 0, 1, 4, 18, 35, 55, 57.9, 58, 66, 73.9, 74, 80, 82, 99, 105, 1e3)


def number(value):
    """A number as a person types it, without an exponent."""
    return f"{float(f'{value:.6g}'):.12f}".rstrip("0").rstrip(".") or "0"


def extremes(low, high, usual):
    """Numbers at and around the limits of a quantity, and far from what is usual."""
    span = (high - low) if high < 1e300 else max(abs(usual), 1.0)
    just = 1e-6 * span
    near = [low, low + just, low - just, usual]
    far = [0.0, -usual, usual * 1e3, usual * 1e-3, usual * 10, usual / 10, 1e-9]
    return [*near, *far, *([high, high - just, high + just] if high < 1e300 else [1e12])]


def phrase(chance, numbers, usual, unit):
    """A value in any shape of phrase; `numbers` are candidates in model units."""
    word, times = _SHOWN.get(unit, (unit, 1.0))
    one, other = (times * chance.choice(numbers) for _ in range(2))
    wide = abs(times * usual) * chance.choice([0.0, 1e-9, 0.03, 0.3, 1.0, 30.0])
    factor = chance.choice([1, 1.0001, 1.3, 2.5, 5, 20, 1000])
    low, high = sorted((one, other))
    n = number
    told = chance.choice(
        [
            f"{n(one)}",
            f"{n(one)}",
            f"exactly {n(one)}",
            f"{n(one)} ± {n(wide)}",
            f"{n(low)} to {n(high)}",
            f"between {n(low)} and {n(high)}",
            f"between {n(low)} and {n(high)} {word}, likely {n((low + high) / 2)}",
            f"{n(one)} {word} within a factor {factor}",
            f"{n(one)} sd {n(wide)}",
            f"at most {n(one)}",
            [f"{n(one + step * wide)} {word}".strip() for step in (-1, 0, 0.5, 0.2)],
            [f"{n(one)} {word}".strip()] * 4,
        ]
    )
    if isinstance(told, list) or (word and word in told):
        return told
    return f"{told} {word}".strip()


def quantity_value(chance, usual, unit):
    """A value of a quantity that has no stated limits, by what it usually is."""
    high = 1.0 if unit == "fraction" else float("inf")
    return phrase(chance, extremes(0.0, high, usual), usual, unit)


class Key(typing.NamedTuple):
    """A key of a table ("" for the top): its marks."""

    table: str
    name: str
    marks: tuple

    def value(self, chance):
        """Return any value for the key, or None for its absence."""
        if chance.random() < 0.03:
            return None
        if self.name in _TEMPLATES:
            return _filled(chance, chance.choice(_TEMPLATES[self.name]))
        measured = [mark for mark in self.marks if isinstance(mark, Measures)]
        if measured:
            mark = measured[0]
            usual = _usual(mark)
            return phrase(chance, extremes(mark.low, mark.high, usual), usual, mark.unit)
        words = [mark for mark in self.marks if isinstance(mark, str)]
        return chance.choice([*words, "", "x", "é" * 200, "0", "\u202e"])


def _usual(mark):
    """Return the value of a key's example; half of what it may be where that holds more words."""
    try:
        return read_phrase(mark.example, mark.unit).value
    except ValueError:
        return mark.high / 2 if mark.high < 1e300 else 1.0


def _filled(chance, template):
    if isinstance(template, list):
        return [_filled(chance, part) for part in template]
    places = {"n": _NUMBERS, "m": _NUMBERS, "t": _WARMTHS, "u": _WARMTHS}
    return template.format(**{k: number(chance.choice(v)) for k, v in places.items()})


@cache
def recipe_keys():
    """Return every key of a recipe that holds a value."""
    return tuple(_keys(Recipe, ""))


def _keys(model, table):
    for name, field in model.model_fields.items():
        marks = tuple(_marks((field.annotation, *field.metadata)))
        blocks = [mark for mark in marks if isinstance(mark, type) and issubclass(mark, Block)]
        tables = any(isinstance(mark, Reads) and mark.table for mark in marks)
        if blocks:
            yield from _keys(blocks[0], name)
        elif name not in ("line", "remarks", "given") and not tables:
            yield Key(table, name, marks)


def _marks(parts):
    for part in parts:
        if typing.get_origin(part) is typing.Literal:
            yield from typing.get_args(part)
        elif typing.get_args(part):
            yield from _marks(typing.get_args(part))
        else:
            yield part
            yield from _marks(getattr(part, "__metadata__", ()))
