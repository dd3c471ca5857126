"""A value as a person stated it: the text, what it means, in which unit, on which line."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, Literal, Self

from pydantic_core import PydanticCustomError, ValidationError, core_schema

Z90 = 1.6448536269514722
"""Normal score of the 95 % point: nine in ten lie within this many standard deviations."""


PhraseKind = Literal[
    "plain",
    "exactly",
    "range90",
    "factor",
    "uniform",
    "triangular",
    "sd",
    "measured",
    "at_most",
    "at_least",
]


@dataclass(frozen=True, slots=True)
class Phrase:
    """What a phrase says, in model units (fractions 0..1).

    `middle` is the stated or implied best value of every kind (mean of measurements, the limit of
    a one-sided phrase). `low` and `high` are set for range90 (nine in ten lie between them),
    factor, uniform, triangular and, on their side, at_most and at_least; `sd` for sd; `factor` for
    factor; `values` for measured, with `lots` above 0 when they come from that many lots.
    """

    kind: PhraseKind
    middle: float
    low: float | None = None
    high: float | None = None
    sd: float | None = None
    factor: float | None = None
    values: tuple[float, ...] = ()
    lots: int = 0


@dataclass(frozen=True, slots=True)
class Stated:
    """One stated value: `text` as typed, `phrase` in `model_unit`, the `unit` the person used.

    `model_unit` is a unit of brewsim.units, or "fraction" for a share written in %.
    `line` is the line of the file, 0 when it did not come from a file. Two stated values are
    equal when they mean the same, wherever they were written.
    """

    text: str = field(compare=False)
    phrase: Phrase
    model_unit: str
    unit: str = field(default="", compare=False)
    line: int = field(default=0, compare=False)

    @property
    def value(self) -> float:
        """Return the middle of what was stated, in model units."""
        return self.phrase.middle


class Written(str):
    """Text of a recipe that knows which line it was written on."""

    __slots__ = ("line", "native")
    line: int
    native: object

    def __new__(cls, text: str, line: int = 0, native: object = None) -> Self:
        """Remember the line, and the value TOML saw if it was not text."""
        self = super().__new__(cls, text)
        self.line = line
        self.native = native
        return self


def line_of(value: object) -> int:
    """Return the line a value was written on, 0 if unknown."""
    return value.line if isinstance(value, Written) else 0


@dataclass(frozen=True, slots=True)
class Reads:
    """Marks a pydantic field that is read from text by a function, and how an editor sees it."""

    parse: Callable[[Any], Any]
    example: str
    pattern: str | None = None
    table: bool = False

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:  # noqa: ANN401
        """Return a validator that runs the reader; its ValueError becomes one fault."""

        def read(value: object) -> object:
            try:
                return self.parse(value)
            except ValidationError:
                raise  # a table's faults, each with its own key
            except ValueError as error:
                raise PydanticCustomError("written", "{why}", {"why": str(error)}) from error

        return core_schema.no_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        """Return the JSON Schema of the field for editors."""
        text: dict[str, Any] = {"type": "string", "examples": [self.example]}
        if self.pattern:
            text["pattern"] = self.pattern
            return text
        if self.table:
            lists = {"type": "array", "items": {"type": "string"}}
            return {
                "type": "object",
                "additionalProperties": {"anyOf": [text, {"type": "number"}, lists]},
            }
        numbers = {"type": "array", "items": {"type": "string"}, "minItems": 2}
        return {"anyOf": [text, {"type": "number"}, numbers]}


def scaled(stated: Stated, factor: float) -> Stated:
    """Return the same statement with every number times a factor."""
    return replace(stated, phrase=rescaled(stated.phrase, lambda value: value * factor))


def rescaled(phrase: Phrase, scale: Callable[[float], float]) -> Phrase:
    """Return the phrase with every number put through a function that only rises, or only falls."""
    step = 1e-4 * max(abs(phrase.middle), 1e-3)
    middle = scale(phrase.middle)
    slope = (scale(phrase.middle + step) - scale(phrase.middle - step)) / (2 * step)
    low, high = phrase.low, phrase.high
    if slope < 0:
        low, high = high, low
    moved_to = replace(
        phrase,
        middle=middle,
        low=None if low is None else scale(low),
        high=None if high is None else scale(high),
        sd=None if phrase.sd is None else phrase.sd * abs(slope),
        values=tuple(scale(value) for value in phrase.values),
    )
    if phrase.kind == "factor" and (middle <= 0 or slope < 0):
        return replace(moved_to, kind="range90", factor=None)
    return moved_to
