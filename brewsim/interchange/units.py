"""Units of the standard's lists, as a recipe spells them."""

VOLUME = {
    "ml": "mL",
    "l": "L",
    "tsp": "tsp",
    "tbsp": "tbsp",
    "floz": "US fl oz",
    "cup": "cup",
    "pt": "US pt",
    "qt": "US qt",
    "gal": "US gal",
    "bbl": "US bbl",
    "ifloz": "imp fl oz",
    "ipt": "imp pt",
    "iqt": "imp qt",
    "igal": "imp gal",
    "ibbl": "imp bbl",
}
MASS = {"mg": "mg", "g": "g", "kg": "kg", "lb": "lb", "oz": "oz"}
TEMPERATURE = {"C": "°C", "F": "°F"}
TIME = {"sec": "sec", "min": "min", "hr": "h", "day": "days", "week": "weeks"}
MINUTES = {"sec": 1 / 60, "min": 1.0, "hr": 60.0, "day": 1440.0, "week": 10080.0}
"""Minutes in one unit of time."""
COLOR = {"EBC": "EBC", "Lovi": "°L", "SRM": "SRM"}
GRAVITY = {"sg": "", "plato": "°P", "brix": "°P"}
PERCENT = {"%": "%"}
PER_MASS = {
    "l/kg": "L/kg",
    "qt/lb": "US qt/lb",
    "gal/lb": "US gal/lb",
}
