"""Ingredient lines as brewers write them: "1 oz. (28 g) Fuggle 5.6 % mash hop"."""

import re
from collections.abc import Callable

from brewsim.quantities.numerals import NUMBER
from brewsim.quantities.spellings import BY_KIND
from brewsim.quantities.statement import Written, line_of

MAX_LINE = 200
_WORDS = "|".join(
    re.escape(word) for word in sorted(BY_KIND["mass"], key=len, reverse=True) if word.isalpha()
)
_PER = r"(?:\s*/\s*(?:(?:US|imp|UK)\.?\s+)?(?:l|hl|gal|bbl)\b\.?)?"
_MASS = rf"{NUMBER}\s*(?:{_WORDS})\b\.?{_PER}"
_AMOUNT = re.compile(
    rf"(?<![\w.,]){_MASS}(?:\s+{NUMBER}\s*(?:oz|ounces?)\b\.?)?(?:\s*\(\s*{_MASS}\s*\))?",
    re.IGNORECASE,
)
_ALPHA = re.compile(
    rf"[\[(]?\s*(?<![\w.,])({NUMBER}\s*%?(?:\s*\(?\s*±\s*[0-9.,]+\s*%?\s*\)?)?)\s*"
    r"(?:AA|alpha(?:\s+acids?)?)?\s*[\])]?(?![\w])",
    re.IGNORECASE,
)
_HOP_WHEN = re.compile(
    r"(?:\s*[-–,:@]\s*|\s+)(?=(?:(?:in|as|at|for)\s+(?:the\s+)?)?(?:mash|first[\s-]wort|fwh|boil"
    r"|flame\s?out|heat[\s-]off|whirlpool|hop\s?stand|dry[\s-]?hop|dh)\b|(?:at|for)\s+[0-9.]+\s*"
    r"(?:min|'|$)|[0-9]+\s*(?:min|')|@)|(?=@)",
    re.IGNORECASE,
)
_COLOR = re.compile(
    rf"\s*[-–,]?\s*\(?\s*({NUMBER}\s*(?:°?\s?L|SRM|EBC|°\s?Lovibond))\s*\)?\s*$", re.IGNORECASE
)
_SUGAR_WHEN = re.compile(
    r"[\s,]+(?:(?:in|into|at|for)\s+)?(?:the\s+)?"
    r"(boil|late|flameout|fermenter(?:\s+(?:on\s+)?day\s+[0-9]+)?|primary|pitching)\s*$",
    re.IGNORECASE,
)


def _take(pattern: re.Pattern[str], text: str) -> tuple[str, str]:
    match = pattern.search(text)
    if match is None:
        return "", text
    return match[0].strip(), f"{text[: match.start()]} {text[match.end() :]}".strip()


def _written(fields: dict[str, str], line: object) -> dict[str, object]:
    return {key: Written(text, line_of(line)) for key, text in fields.items() if text}


def hop_line(line: str) -> dict[str, object]:
    """Return the fields of a hop line: amount, alpha acids and time in any usual order."""
    head, when = line, ""
    if (match := _HOP_WHEN.search(line)) is not None:
        head, when = line[: match.start()], line[match.end() :]
    when = re.sub(
        r"^(?:in|as|at|for)\s+(?:the\s+)?(?![0-9])", "", when.strip(), flags=re.IGNORECASE
    )
    amount, head = _take(_AMOUNT, head.strip())
    if not amount:
        amount, when = _take(_AMOUNT, when)
    alpha = ""
    if (found := _ALPHA.search(head)) is not None:
        alpha = found[1].strip()
        head = f"{head[: found.start()]} {head[found.end() :]}"
    variety = re.sub(
        r"\bhops?\b|[,;:\-–\s]+$|^[,;:\-–\s]+", "", head.strip(), flags=re.IGNORECASE
    ).strip()
    kind = "rate" if "/" in re.sub(r"[0-9]\s*/\s*[0-9]", "", amount) else "mass"
    fields = {"variety": variety, kind: amount, "alpha": alpha, "when": when.strip(" ,")}
    return _written(fields, line)


def malt_line(line: str) -> dict[str, object]:
    """Return the fields of a malt line: amount, name, colour."""
    amount, rest = _take(_AMOUNT, line)
    color = ""
    if (match := _COLOR.search(rest)) is not None:
        color, rest = match[1], rest[: match.start()]
        color = re.sub(r"(?<=[0-9])\s*l$", " °L", color, flags=re.IGNORECASE)
    return _written({"name": rest.strip(" ,-–"), "mass": amount, "color": color}, line)


def sugar_line(line: str) -> dict[str, object]:
    """Return the fields of a sugar line: amount, name, time."""
    when = ""
    if (match := _SUGAR_WHEN.search(line)) is not None:
        when, line = match[1], Written(line[: match.start()], line_of(line))
    amount, rest = _take(_AMOUNT, line)
    return _written({"name": rest.strip(" ,-–"), "mass": amount, "when": when}, line)


def row(reader: Callable[[str], dict[str, object]]) -> Callable[[object], object]:
    """Return a validator that turns a written line into a table and leaves tables alone."""

    def read(written: object) -> object:
        if isinstance(written, str):
            text = Written(" ".join(written.split()), line_of(written))
            if len(text) > MAX_LINE:
                raise ValueError(f"is longer than {MAX_LINE} characters; write it as a table")
            return reader(text) | {"__line__": line_of(written)}
        return written

    return read
