"""Amounts with units, as brewers write them."""

import math
import re
from dataclasses import dataclass

from brewsim.errors import did_you_mean
from brewsim.quantities.conversion import PARTS_PER, Unit, convert, resized
from brewsim.quantities.dimensions import COMPOSED, kind_of
from brewsim.quantities.format import shown
from brewsim.quantities.numerals import plain, significant, split_number
from brewsim.quantities.spellings import AMBIGUOUS, BARE, BY_KIND, KIND_WORDS, REFUSED


@dataclass(frozen=True, slots=True)
class Amount:
    """A number and the unit it was written with (None where none was)."""

    number: float
    unit: Unit | None


def read_unit(text: str, model_unit: str) -> Unit:
    """Return the unit that a text names, where a value in `model_unit` is wanted.

    Raises ValueError saying what is wrong: ambiguous, of another kind, or unknown.
    """
    kind = kind_of(model_unit)
    word = _tidy(text)
    if word and word.lower() == model_unit.lower() and kind in ("other", "number"):
        return Unit(model_unit, kind)
    if kind == "other":
        if not word:
            return Unit(model_unit, kind)
        raise ValueError(f"“{text}” is not the unit asked for; write {model_unit}")
    unit = _find(word, kind)
    if unit is not None and unit.symbol == "g/L CO2" and kind != "carbonation":
        unit = Unit("g/L", "concentration")
    if unit is not None and unit.kind == kind:
        return unit
    if word.lower() in REFUSED:
        raise ValueError(f"“{text}”: {REFUSED[word.lower()]}")
    wanted = f"write {_either(BARE.get(kind, (model_unit or 'no unit',)))}"
    if unit is not None:
        raise ValueError(
            f"“{text}” measures {KIND_WORDS[unit.kind]}, {KIND_WORDS[kind]} belongs here; {wanted}"
        )
    near = did_you_mean(word, BY_KIND.get(kind, {}))
    raise ValueError(f"“{text}” is not a unit of {kind} that brewsim knows; {wanted}.{near}")


def _find(word: str, kind: str) -> Unit | None:
    """Look a tidy spelling up, in the wanted kind first; refuse bare US-or-imperial words."""
    if word in PARTS_PER:
        return Unit(word, kind if kind in ("concentration", "content") else "content")
    if kind == "number" and word == "%":
        return Unit("%", "number")
    if kind == "molar concentration" and word.lower() in ("nmol/l", "nm"):
        return Unit("nmol/L", kind)
    if kind in COMPOSED.values() and (unit := _composed(word, kind)) is not None:
        return unit
    shape = "temperature" if kind == "temperature difference" else kind
    for known in (shape, *BY_KIND):
        table = BY_KIND.get(known, {})
        symbol = table.get(word) or table.get(word.lower())
        if symbol and not (known != shape and _bare(word)):
            return Unit(symbol, kind if known == shape else known)
    if (two := _bare(word)) and kind != "gravity":
        raise ValueError(_which(word, *two))
    return _composed(word, kind) if "/" in word else None


def _composed(word: str, kind: str) -> Unit | None:
    above, _, below = word.partition("/")
    wanted = {v: k for k, v in COMPOSED.items()}.get(kind, ("mass", "volume"))
    if above in ("1", ""):
        upper: Unit | None = Unit("1", "number")
    else:
        upper = _find(above.strip(), wanted[0])
    lower = _find(below.strip(), wanted[1])
    if upper is None or lower is None or (upper.kind, lower.kind) not in COMPOSED:
        return None
    below_symbol = {"days": "day", "weeks": "week", "months": "month"}.get(
        lower.symbol, lower.symbol
    )
    return Unit(f"{upper.symbol}/{below_symbol}", COMPOSED[upper.kind, lower.kind])


def _bare(word: str) -> tuple[str, str, str] | None:
    return AMBIGUOUS.get(word.lower())


def _which(word: str, name: str, first: str, second: str) -> str:
    metric = "L" if name in ("gallon", "barrel") else "mL"
    sizes = [
        f"{unit} ({significant(resized(1, unit, metric), 4)} {metric})" for unit in (first, second)
    ]
    return f"“{word}”: which {name}? write {sizes[0]} or {sizes[1]}"


def _tidy(text: str) -> str:
    word = text.strip().replace("μ", "µ").replace("º", "°").replace("˚", "°")
    word = re.sub(r"\s*(/|\bper\b)\s*", "/", re.sub(r"\.", " ", word))
    word = re.sub(r"\s+", " ", word).strip()
    word = re.sub(r"^[Uu] [Ss] ", "US ", word)
    return re.sub(r"\bu(g)\b", r"µ\1", word)


def read_amounts(text: str, model_unit: str) -> list[Amount]:
    """Return the amounts of a text like "1 lb 8 oz", "1 oz. (28 g)" is one with its check.

    A single number without unit comes back with unit None (another part of the phrase may carry
    it). Raises ValueError with the fault in words.
    """
    text = re.sub(r"\((US|U\.S\.|imp|imperial|UK|British)\)", r"\1", text, flags=re.IGNORECASE)
    main, _, twin = text.partition("(")
    amounts = _run_of_amounts(_number_first(main), model_unit)
    if twin:
        _check_twin(amounts, twin.rstrip().rstrip(")").strip(), model_unit)
    return amounts


def _number_first(text: str) -> str:
    """Turn "pH 5.3" and "SG 1.048" round."""
    match = re.match(r"\s*(pH|SG|OG|FG)\b\s*(.+)", text, re.IGNORECASE)
    return f"{match[2]} {match[1]}" if match else text


_WORD = re.compile(r"\s*(1\s*/\s*[a-zµ]+|[^0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]*)", re.IGNORECASE)
_CO2 = re.compile(r"(?<=[a-z%])\s+(of\s+)?CO[2₂]\b", re.IGNORECASE)


def _run_of_amounts(text: str, model_unit: str) -> list[Amount]:
    amounts: list[Amount] = []
    rest = _CO2.sub("", text.strip())
    while rest:
        number, rest = split_number(rest)
        if number is None:
            raise ValueError(f"“{text.strip()}” is not a number with a unit")
        word = match[1] if (match := _WORD.match(rest)) else ""
        if word.endswith(" .") or word == ".":
            word = word[:-1]
        rest = rest[rest.index(word) + len(word) :]
        word = re.sub(r"(,|\band)\s*$", "", word.strip()).strip()
        amounts.append(Amount(number, read_unit(word, model_unit) if word else None))
    if not amounts:
        raise ValueError("there is no number here")
    if len(amounts) > 1 and any(a.unit is None or a.number < 0 for a in amounts):
        raise ValueError(f"“{text.strip()}” holds several numbers; write one with its unit")
    return amounts


def _check_twin(amounts: list[Amount], twin: str, model_unit: str) -> None:
    first = total(amounts, model_unit)
    others = _run_of_amounts(_number_first(twin), model_unit)
    second = total(others, model_unit)
    allowed = {"°C": 1.1, "SG": 0.0012}.get(model_unit, 0.03 * max(abs(first), abs(second)))
    if abs(first - second) > allowed:
        seen = shown(first, model_unit, others[0].unit.symbol if others[0].unit else "")
        raise ValueError(f"the two amounts disagree: the first is {seen}, not {twin}; keep one")


def total(amounts: list[Amount], model_unit: str, borrowed: Unit | None = None) -> float:
    """Return the sum in model units; raises ValueError where a needed unit is missing."""
    return math.fsum(
        convert(a.number, a.unit or borrowed or bare_unit(a.number, model_unit), model_unit)
        for a in amounts
    )


def bare_unit(number: float, model_unit: str) -> Unit:
    """Return the unit a number may go without; raises ValueError asking for it elsewhere."""
    kind = kind_of(model_unit)
    if kind in ("number", "other", "pH", "bitterness"):  # kinds of one unit
        return Unit(model_unit, kind)
    if kind == "gravity" and (0.98 <= number <= 1.2 or 980 <= number <= 1200):
        return Unit("SG", kind)
    told = plain(number)
    if kind == "fraction":
        if 0 < number < 1:
            raise ValueError(f"{told} has no unit; did you mean {plain(number * 100)} %?")
        raise ValueError(f"{told} has no unit; write {told} %")
    if kind == "gravity":
        raise ValueError(f"{told} has no unit; write {told} °P, {told} points or 1.0xx")
    units = sorted(BARE.get(kind, (model_unit,)), key=lambda unit: unit != model_unit)
    raise ValueError(f"{told} has no unit; write {_either([f'{told} {unit}' for unit in units])}")


def _either(words: tuple[str, ...] | list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
