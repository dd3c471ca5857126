"""Units: how they are spelled, by what they measure, and how large they are.

A unit is one line here: its symbol, its size beside the others of its kind, its other spellings.
Kinds whose units are not sizes of each other (gravity, colour, ...) are in conversion.py.

Sizes of customary units: NIST Handbook 44, appendix C (exact); standard gravity, in
the pound per square inch, is 9.80665 m/s² (exact); the beer barrel is 31 US gallons
(27 CFR 25.11) or 36 imperial gallons; a month is 30.44 days (a twelfth of a year).
"""

from collections.abc import Mapping
from fractions import Fraction
from itertools import product

from brewsim.constants import DAYS_PER_MONTH

Size = Fraction | int
_LB_G = Fraction("453.59237")
_US_GAL_L = Fraction("3.785411784")
_IMP_GAL_L = Fraction("4.54609")
_FOOT_M = Fraction("0.3048")
_PSI_PA = _LB_G / 1000 * Fraction("9.80665") / (_FOOT_M / 12) ** 2
_DAY_MIN = 1440

_SIZED: dict[str, dict[str, tuple[Size, tuple[str, ...]]]] = {
    "mass": {
        "kg": (
            1000,
            ("kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"),
        ),
        "g": (1, ("gr", "gm", "gms", "gram", "grams", "gramme", "grammes")),
        "mg": (Fraction(1, 10**3), ("milligram", "milligrams")),
        "µg": (Fraction(1, 10**6), ("mcg", "microgram", "micrograms")),
        "ng": (Fraction(1, 10**9), ("nanogram", "nanograms")),
        "lb": (_LB_G, ("lbs", "pound", "pounds", "#")),
        "oz": (_LB_G / 16, ("ozs", "ounce", "ounces")),
    },
    "volume": {
        "L": (1, ("l", "lt", "ltr", "liter", "liters", "litre", "litres")),
        "hL": (100, ("hl", "hectoliter", "hectoliters", "hectolitre", "hectolitres")),
        "mL": (
            Fraction(1, 1000),
            ("ml", "milliliter", "milliliters", "millilitre", "millilitres", "cc"),
        ),
    },
    "time": {
        "s": (Fraction(1, 60), ("sec", "secs", "second", "seconds")),
        "min": (1, ("mins", "minute", "minutes", "'", "′", "m")),
        "h": (60, ("hr", "hrs", "hour", "hours")),
        "days": (_DAY_MIN, ("d", "day")),
        "weeks": (7 * _DAY_MIN, ("wk", "wks", "week")),
        "months": (Fraction(str(DAYS_PER_MONTH)) * _DAY_MIN, ("mo", "mos", "month")),
        "years": (Fraction("365.25") * _DAY_MIN, ("y", "yr", "yrs", "year")),
    },
    "temperature": {
        "°C": (1, ("c", "° c", "deg c", "degc", "degrees c", "celsius", "degrees celsius")),
        "°F": (
            Fraction(5, 9),
            ("f", "° f", "deg f", "degf", "degrees f", "fahrenheit", "degrees fahrenheit"),
        ),
        "K": (1, ("kelvin",)),
    },
    "pressure": {
        "bar": (100_000, ("bars",)),
        "psi": (_PSI_PA, ("psig", "lb/in2")),
        "kPa": (1000, ("kpa",)),
        "atm": (101_325, ()),
        "Pa": (1, ()),
    },
    "altitude": {
        "m": (1, ("metre", "metres", "meter", "meters")),
        "ft": (_FOOT_M, ("feet", "foot")),
        "km": (1000, ()),
    },
}
"""Kind -> symbol -> its size and its other spellings; of a temperature the size of one degree."""

_REGIONS = {
    "US": (_US_GAL_L, ("US", "us", "U S", "u s", "usa", "american")),
    "imp": (_IMP_GAL_L, ("imp", "imperial", "UK", "uk", "british")),
}
_PARTS_OF_GALLON = {
    "gal": (1, ("gal", "gals", "gallon", "gallons")),
    "qt": (4, ("qt", "qts", "quart", "quarts")),
    "pt": (8, ("pt", "pts", "pint", "pints")),
    "cup": (16, ("cup", "cups")),
    "tbsp": (256, ("tbsp", "tbs", "tablespoon", "tablespoons")),
    "tsp": (768, ("tsp", "teaspoon", "teaspoons")),
}
_OF_REGION: dict[str, tuple[Size, tuple[str, ...]]] = {
    **{
        f"{region} {measure}": (gallon / part, words)
        for region, (gallon, _) in _REGIONS.items()
        for measure, (part, words) in _PARTS_OF_GALLON.items()
    },
    "US fl oz": (_US_GAL_L / 128, ("fl oz", "floz", "fluid ounce", "fluid ounces")),
    "imp fl oz": (_IMP_GAL_L / 160, ("fl oz", "floz", "fluid ounce", "fluid ounces")),
    "US bbl": (31 * _US_GAL_L, ("bbl", "bbls", "barrel", "barrels", "beer barrel", "beer barrels")),
    "UK bbl": (
        36 * _IMP_GAL_L,
        ("bbl", "bbls", "barrel", "barrels", "beer barrel", "beer barrels"),
    ),
}
_US_WHEN_BARE = ("cup", "tbsp", "tsp")


def _spell(table: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    return {word: symbol for symbol, words in table.items() for word in (symbol, *words)}


def _spell_sized(table: Mapping[str, tuple[Size, tuple[str, ...]]]) -> dict[str, str]:
    return _spell({symbol: words for symbol, (_, words) in table.items()})


def _regional() -> dict[str, str]:
    table: dict[str, str] = {}
    for symbol, (_, words) in _OF_REGION.items():
        _, names = _REGIONS["US" if symbol.startswith("US") else "imp"]
        for name, word in product(names, words):
            table |= dict.fromkeys((f"{name} {word}", f"{word} {name}"), symbol)
    for measure in _US_WHEN_BARE:
        table |= dict.fromkeys(_PARTS_OF_GALLON[measure][1], f"US {measure}")
    return table


def _sizes() -> dict[str, dict[str, Size]]:
    sizes: dict[str, dict[str, Size]] = {
        kind: {symbol: size for symbol, (size, _) in table.items()}
        for kind, table in (*_SIZED.items(), ("volume", {**_SIZED["volume"], **_OF_REGION}))
    }
    times = sizes["time"]
    times |= {symbol[:-1]: size for symbol, size in times.items() if len(symbol) > 3}  # 1/week
    return sizes | {"number": {"1": 1}}


SIZES = _sizes()
"""How large the units of a kind are beside each other, exactly; of a temperature, one degree."""

BY_KIND: dict[str, dict[str, str]] = {
    **{kind: _spell_sized(table) for kind, table in _SIZED.items()},
    "volume": _spell_sized(_SIZED["volume"]) | _regional(),
    "fraction": _spell(
        {
            "%": (
                *("percent", "per cent", "pct", "% abv", "% vol", "%vol", "%abv", "vol %", "vol%"),
                *("% v/v", "% alc", "% aa", "%aa", "% alpha", "% alpha acid", "% alpha acids"),
                *("% w/w", "%w/w", "% ww", "% apparent", "% aa"),
            ),
        }
    ),
    "gravity": _spell(
        {
            "°P": ("p", "plato", "° p", "deg p", "degrees plato", "°plato"),
            "°Bx": ("bx", "brix", "° bx", "degrees brix", "°brix"),
            "SG": ("sg", "og", "fg", "specific gravity"),
            "points": ("point", "pts", "pt", "gravity points", "gu"),
        }
    ),
    "colour": _spell(
        {
            "°L": ("l", "° l", "lovibond", "degrees lovibond", "deg l", "°lovibond"),
            "SRM": ("srm",),
            "EBC": ("ebc",),
        }
    ),
    "carbonation": _spell(
        {
            "vol": ("vols", "volume", "volumes", "v/v"),
            "g/L CO2": ("g/l",),
        }
    ),
    "bitterness": _spell({"IBU": ("ibu", "ibus", "bu", "ebu", "bus")}),
    "pH": _spell({"pH": ("ph",)}),
}

BARE = {
    "mass": ("kg", "g", "lb", "oz"),
    "volume": ("L", "hL", "US gal", "imp gal"),
    "time": ("min", "h", "days", "weeks"),
    "temperature": ("°C", "°F"),
    "temperature difference": ("°C", "°F"),
    "pressure": ("bar", "psi", "kPa"),
    "altitude": ("m", "ft"),
    "fraction": ("%",),
    "gravity": ("°P", "SG", "points"),
    "colour": ("EBC", "SRM", "°L"),
    "carbonation": ("vol", "g/L CO2"),
    "bitterness": ("IBU",),
    "concentration": ("g/L", "mg/L", "µg/L", "oz/US gal"),
    "content": ("g/kg", "mg/kg", "µg/kg"),
    "molar concentration": ("nmol/L",),
    "volume per mass": ("L/kg", "US qt/lb"),
    "flow": ("L/h", "US gal/h"),
    "rate": ("1/min", "1/day", "1/week"),
}
"""What to suggest for each kind, most usual first."""

KIND_WORDS = {
    "mass": "a mass",
    "volume": "a volume",
    "time": "a time",
    "temperature": "a temperature",
    "temperature difference": "a temperature difference",
    "pressure": "a pressure",
    "altitude": "an altitude",
    "fraction": "a percentage",
    "gravity": "a gravity or extract",
    "colour": "a colour",
    "carbonation": "a carbonation",
    "bitterness": "a bitterness",
    "pH": "a pH",
    "concentration": "an amount per volume",
    "content": "an amount per mass",
    "molar concentration": "an amount per volume",
    "volume per mass": "a volume per mass",
    "flow": "a volume per time",
    "rate": "a share per time",
    "number": "a plain number",
}

AMBIGUOUS: dict[str, tuple[str, str, str]] = {
    word: (name, f"US {symbol}", f"{other} {symbol}")
    for name, symbol, other, words in (
        ("gallon", "gal", "imp", ("gal", "gals", "gallon", "gallons")),
        ("quart", "qt", "imp", ("qt", "qts", "quart", "quarts")),
        ("pint", "pt", "imp", ("pt", "pts", "pint", "pints")),
        ("barrel", "bbl", "UK", ("bbl", "bbls", "barrel", "barrels")),
        ("fluid ounce", "fl oz", "imp", ("fl oz", "floz", "fluid ounce", "fluid ounces")),
    )
    for word in words
}
"""Bare words that mean two sizes: what they name, the US unit, the other one."""

REFUSED = {
    "aau": "AAU is mass times alpha; state the mass and the alpha acids apart",
    "hbu": "HBU is mass times alpha; state the mass and the alpha acids apart",
    "% abw": "alcohol is asked by volume; 4.0 % by weight is about 5.0 % ABV",
    "%abw": "alcohol is asked by volume; 4.0 % by weight is about 5.0 % ABV",
    "ppg": "points per pound per gallon; state the extract in % instead (46.2 ppg is 100 %)",
    "lintner": "diastatic power is not part of the model",
}
