"""Knobs as a recipe states them: which line of it may be turned, and how far."""

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from brewsim.errors import did_you_mean
from brewsim.quantities.conversion import Unit, scale_of
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.fields import check_limits
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Stated, Written, line_of

ROWS = {"malt": "name", "sugar": "name", "hop": "variety", "precursor": "name"}
"""Kinds of rows, and the field that names a row."""
_NUMBERS = {
    ("malt", "mass"): ("kg", 0, 1e6),
    ("sugar", "mass"): ("kg", 0, 1e6),
    ("hop", "mass"): ("g", 0, 1e8),
    ("hop", "rate"): ("g/L", 0, 40),
    ("hop", "time"): ("min", 0, 360),
    ("hop", "contact"): ("days", 0, 60),
    ("hop", "temperature"): ("°C", -2, 105),
    ("precursor", "dose"): ("g/L", 0, 40),
    ("precursor", "mass"): ("g", 0, 1e8),
    ("", "volume"): ("L", 0.5, 1e6),
    ("", "boil"): ("min", 0, 360),
    ("", "mash"): ("°C", 55, 80),
    ("yeast", "temperature"): ("°C", 0, 45),
    ("package", "carbonation"): ("vol", 0, 8),
    ("package", "priming"): ("g/L", 0, 30),
    ("package", "storage"): ("weeks", 0, 520),
    ("water", "mash"): ("L", 0, 1e7),
    ("water", "sparge"): ("L", 0, 1e7),
    ("water", "topup"): ("L", 0, 1e7),
}
_CHOICES = {
    ("yeast", "thiol_release"): ("ordinary", "active", "engineered"),
    ("hop", "form"): ("pellet", "cone"),
    ("package", "container"): ("keg", "bottle"),
    ("precursor", "when"): ("mash", "boil", "whirlpool", "fermentation"),
}
_ID = re.compile(r"(?:([a-z_]+)\s+)?(?:(.+?)\s+)?([a-z_]+)", re.IGNORECASE)
_STEPS = re.compile(r"\s*,?\s*\bin\s+steps?\s+of\s+(.+)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class KnobRange:
    """A knob: `kind`, `row` (from 0, None outside a list) and `field` of the recipe.

    low, high and step (0: free) are in `model_unit`; `unit` is the one the person used and
    `per_shown` is model units per shown unit, `zero` what is shown as 0. `choices` is set instead
    for a knob that picks words.
    """

    id: str
    kind: str
    row: int | None
    field: str
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""
    model_unit: str = ""
    per_shown: float = 1.0
    zero: float = 0.0
    choices: tuple[str, ...] = ()
    text: str = dataclasses.field(default="", compare=False)
    line: int = dataclasses.field(default=0, compare=False)


def read_knob(identity: str, written: object, rows: Mapping[str, Sequence[str]]) -> KnobRange:
    """Read one knob; `rows` is the names of the recipe's rows by kind.

    Raises ValueError with the fault in words.
    """
    kind, row, name = _place(identity, rows)
    if (kind, name) in _CHOICES:
        return _choice(identity, kind, row, name, written)
    unit, low, high = _NUMBERS[kind, name]
    text = str(written)
    if isinstance(written, list):
        raise ValueError("a number is turned in a range; write 0 to 4 g/L")  # noqa: TRY004 - a fault
    steps = _STEPS.search(text)
    span = Written(text[: steps.start()] if steps else text, line_of(written))
    stated = read_phrase(span, unit)
    phrase = stated.phrase
    if phrase.kind not in ("range90", "uniform") or phrase.low is None or phrase.high is None:
        raise ValueError("a knob has two ends; write 0 to 4 g/L, or 0 to 40 g in steps of 5 g")
    check_limits(stated, low, high)
    step = _step(steps[1], stated, phrase.high - phrase.low) if steps else 0.0
    per_shown, zero = scale_of(Unit(stated.unit, kind_of(unit)), unit)
    return KnobRange(
        id=identity,
        kind=kind,
        row=row,
        field=name,
        low=phrase.low,
        high=phrase.high,
        step=step,
        unit=stated.unit,
        model_unit=unit,
        per_shown=per_shown,
        zero=zero,
        text=text,
        line=line_of(written),
    )


def _step(text: str, stated: Stated, width: float) -> float:
    difference = "Δ°C" if stated.model_unit == "°C" else stated.model_unit
    step = read_phrase(text, difference).value
    if not 0 < step <= width:
        raise ValueError(f"a step is above 0 and at most the range, not {text}")
    return step


def _choice(identity: str, kind: str, row: int | None, name: str, written: object) -> KnobRange:
    allowed = _CHOICES[kind, name]
    if not isinstance(written, list) or len(written) < 2:
        told = ", ".join(f'"{word}"' for word in allowed[:2])
        raise ValueError(f"is a choice; write two or more of its words: [{told}]")
    words = [str(word).strip().lower() for word in written]
    for word in words:
        if word not in allowed:
            hint = did_you_mean(word, allowed)
            raise ValueError(f"“{word}” is not a choice; there is {', '.join(allowed)}.{hint}")
    if len(set(words)) < len(words):
        raise ValueError("names one choice twice")
    line = line_of(written[0])
    text = ", ".join(words)
    return KnobRange(identity, kind, row, name, choices=tuple(words), text=text, line=line)


def _place(identity: str, rows: Mapping[str, Sequence[str]]) -> tuple[str, int | None, str]:
    """Return (kind, row, field) of a knob's id: "hop 1 mass", "yeast thiol_release", "boil"."""
    words = identity.split()
    known = {*_NUMBERS, *_CHOICES}
    kinds = sorted({kind for kind, _ in known if kind})
    if len(words) == 1 and ("", words[0]) in known:
        return "", None, words[0]
    if len(words) < 2 or words[0] not in kinds:
        near = did_you_mean(words[0] if words else "", [*kinds, *(f for k, f in known if not k)])
        raise ValueError(f"is no knob; write hop 1 mass, yeast thiol_release or boil.{near}")
    kind, name = words[0], words[-1]
    fields = sorted(f for k, f in known if k == kind)
    if (kind, name) not in known:
        near = did_you_mean(name, fields)
        raise ValueError(
            f"“{name}” of a {kind} cannot be turned; there is {', '.join(fields)}.{near}"
        )
    if kind not in ROWS:
        if len(words) > 2:
            raise ValueError(f"there is one {kind} only; write {kind} {name}")
        return kind, None, name
    return kind, place_of(kind, " ".join(words[1:-1]), rows.get(kind, ())), name


def place_of(kind: str, which: str, names: Sequence[str]) -> int:
    """Return the place of the row with that number or name; raises ValueError in words."""
    if which.isdecimal() and 1 <= int(which) <= len(names):
        return int(which) - 1
    same = [n for n, name in enumerate(names) if name.lower() == which.lower()]
    if len(same) == 1:
        return same[0]
    if len(same) > 1:
        raise ValueError(f"there are {len(same)} {kind} lines called {which}; write its number")
    count = f"the recipe has {len(names)} {kind} line{'' if len(names) == 1 else 's'}"
    raise ValueError(f"there is no {kind} {which or 'without a number'}; {count}")
