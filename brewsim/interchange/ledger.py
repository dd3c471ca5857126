"""What became of the parts of a document: taken, left out and why, assumed, at fault."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import unescape
from typing import Any

from brewsim.interchange.units import PERCENT

_LONGEST = 200


@dataclass
class Ledger:
    """What is to be told of a document that becomes a recipe."""

    faults: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)


def plain(text: str, longest: int = _LONGEST) -> str:
    """Return a text in one line without control characters, as it can stand in a comment.

    What a converter left of markup (`&#246;` for ö) becomes the letter it stands for.
    """
    shown = "".join(letter if letter.isprintable() else " " for letter in unescape(text))
    return " ".join(shown.split())[:longest]


def number_text(number: float, digits: int = 10) -> str:
    """Return a number with up to that many significant digits and no exponent."""
    return f"{float(f'{number:.{digits}g}'):.10f}".rstrip("0").rstrip(".")


class Place:
    """An object of a document, where it stands, and which of its keys were read."""

    def __init__(self, content: Mapping[str, Any], path: str, ledger: Ledger) -> None:
        self.content, self.path, self.ledger = content, path, ledger
        self._read: set[str] = set()

    def __contains__(self, key: str) -> bool:
        """Tell whether a key is there and says something."""
        return self.content.get(key) is not None

    def fault(self, key: str, why: str) -> None:
        """Note a fault at a key."""
        self.ledger.faults.append(f"{self.path}.{key}: {why}" if key else f"{self.path}: {why}")

    def raw(self, key: str) -> Any:  # noqa: ANN401 - any JSON
        """Return what stands at a key, None where nothing does."""
        self._read.add(key)
        return self.content.get(key)

    def text(self, key: str, *, needed: bool = False) -> str:
        """Return a text in one line; a fault where there is none and one is needed."""
        value = self.raw(key)
        if isinstance(value, str) and (value.strip() or not needed):
            return plain(value)
        if value is not None or needed:
            self.fault(key, f"is {'missing' if value is None else 'no text'}")
        return ""

    def number(self, key: str) -> float | None:
        """Return a number, None where there is none."""
        value = self.raw(key)
        if value is None or (isinstance(value, float) and not isinstance(value, bool)):
            return value
        self.fault(key, "is no number")
        return None

    def place(self, key: str) -> "Place | None":
        """Return an object, None where there is none."""
        value = self.raw(key)
        if isinstance(value, Mapping):
            return Place(value, f"{self.path}.{key}", self.ledger)
        if value is not None:
            self.fault(key, "is no object; it is written { ... }")
        return None

    def places(self, key: str) -> Iterator["Place"]:
        """Yield the objects of a list; what is none is a fault."""
        value = self.raw(key)
        if value is not None and not isinstance(value, list):
            self.fault(key, "is no list; it is written [ ... ]")
            return
        for number, item in enumerate(value or []):
            if isinstance(item, Mapping):
                yield Place(item, f"{self.path}.{key}[{number}]", self.ledger)
            else:
                self.fault(f"{key}[{number}]", "is no object; it is written { ... }")

    def amount(self, key: str, units: Mapping[str, str]) -> str:
        """Return a value or a range with its unit as a phrase of a recipe, "" where there is none.

        A range from `minimum` to `maximum` is read as nine in ten.
        """
        held = self.place(key)
        if held is None:
            return ""
        if "minimum" in held or "maximum" in held:
            ends = [held.one(end, units) for end in ("minimum", "maximum")]
            if not all(ends):
                return ""
            (low, unit), (high, other) = (end for end in ends if end)
            if unit != other or low > high:
                held.fault("", "a range needs one unit and its minimum first")
                return ""
            if low < high:
                return f"{number_text(low)} to {number_text(high)} {unit}".strip()
            return f"{number_text(low)} {unit}".strip()
        found = self.one(key, units)
        return f"{number_text(found[0])} {found[1]}".strip() if found else ""

    def one(self, key: str, units: Mapping[str, str]) -> tuple[float, str] | None:
        """Return a number and the spelling of its unit; a fault and None where there is none."""
        held = self.place(key)
        if held is None:
            self.fault(key, "is missing")
            return None
        value, unit = held.number("value"), held.text("unit", needed=True)
        if value is None and "value" not in held:
            held.fault("value", "is missing")
        if unit and unit not in units:
            held.fault("unit", f"is “{unit}”; here it is one of {', '.join(units)}")
            return None
        return None if value is None or not unit else (value, units[unit])

    def percent(self, key: str, share_to: float) -> str:
        """Return a percentage as `amount` does; one up to `share_to` is read as a share of 1.

        Some write 0.72 "%" for 72 %; that it is read so is noted.
        """
        told = self.amount(key, PERCENT)
        numbers = [float(part) for part in told.removesuffix(" %").split(" to ") if part]
        if not numbers or not 0 < max(numbers) <= share_to:
            return told
        read = " to ".join(number_text(100 * number) for number in numbers)
        self.ledger.assumed.append(f"{self.path}.{key}: {told} is read as {read} %")
        return f"{read} %"

    def unread(self) -> list[str]:
        """Return the keys that say something and were not read."""
        return [plain(k) for k, v in self.content.items() if k not in self._read and v is not None]
