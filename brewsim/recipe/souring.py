"""Souring in the kettle as brewers write it: the pH at which it is stopped."""

import re

from brewsim.quantities.statement import Stated, Written, line_of
from brewsim.recipe.measures import measures
from brewsim.recipe.sets import Measures

_PH = measures(
    "pH", "3.4", 2.8, 4.8, hint="Beer yeast stops below pH 2.8; wort is never sour above."
)
_HEAD = re.compile(
    r"^(?:kettle\s+|in\s+the\s+kettle\s+)?(?:sour(?:ed)?\s+)?(?:down\s+)?(?:to\s+)?(?:a\s+)?pH\s*",
    re.IGNORECASE,
)
_BESIDE = re.compile(
    r"(?:\bfor\b|\bin\b|\bwith\b|\bat\b|@|,)|\d\s*(?:h|hours?|days?|°|g/l)\b", re.IGNORECASE
)


def read_souring(written: object) -> Stated:
    """Read the pH that souring stops at; raises ValueError with the fault in words.

    Example:
        >>> read_souring("to pH 3.4").value
        3.4
    """
    text = " ".join(str(written).split()) if not isinstance(written, list | dict) else ""
    if not text:
        raise ValueError('write the pH at which it is stopped: "to pH 3.4"')
    head = _HEAD.match(text)
    value = text[head.end() :] if head is not None else re.sub(r"^to\s+", "", text)
    if _BESIDE.search(value):
        raise ValueError(
            "only the pH at which it is stopped is read: culture, time and warmth change nothing"
            ' that brewsim reckons; write "to pH 3.4"'
        )
    if not re.search(r"[0-9]", value):
        raise ValueError('to which pH? write "to pH 3.4"')
    stated: Stated = _PH.parse(Written(value, line_of(written)))
    return stated


SOURING = Measures(read_souring, "to pH 3.4", unit=_PH.unit, low=_PH.low, high=_PH.high)
"""Marks the key of the pH that souring stops at."""
