"""Spellings of units, by what they measure; sizes are in conversion.py."""

from itertools import product


def _spell(table: dict[str, tuple[str, ...]]) -> dict[str, str]:
    return {word: symbol for symbol, words in table.items() for word in (symbol, *words)}


def _regional(regions: dict[str, tuple[str, ...]]) -> dict[str, str]:
    measures = {
        "gal": ("gal", "gals", "gallon", "gallons"),
        "qt": ("qt", "qts", "quart", "quarts"),
        "pt": ("pt", "pts", "pint", "pints"),
        "fl oz": ("fl oz", "floz", "fluid ounce", "fluid ounces"),
        "bbl": ("bbl", "bbls", "barrel", "barrels", "beer barrel", "beer barrels"),
        "cup": ("cup", "cups"),
        "tbsp": ("tbsp", "tbs", "tablespoon", "tablespoons"),
        "tsp": ("tsp", "teaspoon", "teaspoons"),
    }
    table: dict[str, str] = {}
    for (region, names), (measure, words) in product(regions.items(), measures.items()):
        symbol = f"{region} {measure}" if measure != "bbl" or region == "US" else "UK bbl"
        for name, word in product(names, words):
            table |= dict.fromkeys((f"{name} {word}", f"{word} {name}"), symbol)
    for measure in ("cup", "tbsp", "tsp"):
        table |= dict.fromkeys(measures[measure], f"US {measure}")
    return table


BY_KIND: dict[str, dict[str, str]] = {
    "mass": _spell(
        {
            "kg": ("kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"),
            "g": ("gr", "gm", "gms", "gram", "grams", "gramme", "grammes"),
            "mg": ("milligram", "milligrams"),
            "µg": ("mcg", "microgram", "micrograms"),
            "ng": ("nanogram", "nanograms"),
            "lb": ("lbs", "pound", "pounds", "#"),
            "oz": ("ozs", "ounce", "ounces"),
        }
    ),
    "volume": _spell(
        {
            "L": ("l", "lt", "ltr", "liter", "liters", "litre", "litres"),
            "hL": ("hl", "hectoliter", "hectoliters", "hectolitre", "hectolitres"),
            "mL": ("ml", "milliliter", "milliliters", "millilitre", "millilitres", "cc"),
        }
    )
    | _regional(
        {
            "US": ("US", "us", "U S", "u s", "usa", "american"),
            "imp": ("imp", "imperial", "UK", "uk", "british"),
        }
    ),
    "time": _spell(
        {
            "s": ("sec", "secs", "second", "seconds"),
            "min": ("mins", "minute", "minutes", "'", "′", "m"),
            "h": ("hr", "hrs", "hour", "hours"),
            "days": ("d", "day"),
            "weeks": ("wk", "wks", "week"),
            "months": ("mo", "mos", "month"),
            "years": ("y", "yr", "yrs", "year"),
        }
    ),
    "temperature": _spell(
        {
            "°C": ("c", "° c", "deg c", "degc", "degrees c", "celsius", "degrees celsius"),
            "°F": ("f", "° f", "deg f", "degf", "degrees f", "fahrenheit", "degrees fahrenheit"),
            "K": ("kelvin",),
        }
    ),
    "pressure": _spell(
        {"bar": ("bars",), "psi": ("psig", "lb/in2"), "kPa": ("kpa",), "atm": (), "Pa": ()}
    ),
    "altitude": _spell(
        {"m": ("metre", "metres", "meter", "meters"), "ft": ("feet", "foot"), "km": ()}
    ),
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
