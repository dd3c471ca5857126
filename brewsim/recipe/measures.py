"""Types of the recipe's keys: what each measures, and how far it may go."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator

from brewsim.quantities import fields as reading
from brewsim.quantities.statement import Reads, Stated, Written
from brewsim.recipe import named_tables as tables
from brewsim.recipe.sets import Measures
from brewsim.recipe.wishes import Wish


def measures(
    unit: str, example: str, low: float, high: float, *, above: bool = False, hint: str = ""
) -> Measures:
    """Return the mark of a key that is a value of a unit between low and high (model units).

    With `above`, low itself is refused too; `hint` says what to do about a value outside.
    """
    reader = reading.value_reader(unit, low, high, above=above, hint=hint)
    return Measures(reader, example, unit=unit, low=low, high=high)


def word(*allowed: str, **also: str) -> Any:  # noqa: ANN401 - pydantic metadata
    """Return the mark of a key that is one of a few words; `also` are other spellings."""
    return BeforeValidator(reading.word_reader(allowed, also))


Fraction = Annotated[Stated, measures("fraction", "72 ± 3 %", 0, 1)]
Loss = Annotated[Stated, measures("fraction", "5 %", 0, 0.9)]
Attenuation = Annotated[Stated, measures("fraction", "76 to 82 %", 0.3, 1)]
ALPHA = measures("fraction", "5.6 %", 0.01, 0.25)
Alpha = Annotated[Stated, ALPHA]
Litres = Annotated[Stated, measures("L", "20 L", 0, 1e7)]
Volume = Annotated[Stated, measures("L", "20 L", 0.5, 1e6)]
_LEAVE_OUT = "Leave the line out instead."
Kilograms = Annotated[Stated, measures("kg", "4.3 kg", 0, 1e6, above=True, hint=_LEAVE_OUT)]
Grams = Annotated[Stated, measures("g", "40 g", 0, 1e8)]
Rate = Annotated[Stated, measures("g/L", "2.5 g/L", 0, 40)]
Dose = Annotated[Stated, measures("g/L", "2.5 g/L", 0, 40)]
CanBitterness = Annotated[Stated, measures("IBU", "420 IBU", 0, 3000)]
Content = Annotated[Stated, measures("µg/kg", "1.2 mg/kg", 0, 1e9)]
BoilMinutes = Annotated[Stated, measures("min", "60 min", 0, 360)]
Minutes = Annotated[Stated, measures("min", "20 min", 0, 1440)]
FermentCelsius = Annotated[Stated, measures("°C", "18 °C", 0, 45)]
StoreCelsius = Annotated[Stated, measures("°C", "4 °C", -30, 50)]
BoilCelsius = Annotated[Stated, measures("°C", "100 °C", 80, 105)]
Metres = Annotated[Stated, measures("m", "500 m", -400, 5000)]
LitresPerHour = Annotated[Stated, measures("L/h", "4 L/h", 0, 1e5)]
PH = Annotated[Stated, measures("pH", "5.3", 4.0, 7.0)]
Lovibond = Annotated[Stated, measures("°L", "3 EBC", 0, 800)]
Months = Annotated[Stated, measures("months", "8 months", 0, 120)]
Carbonation = Annotated[Stated, measures("vol", "2.5 vol", 0, 8)]
PerMinute = Annotated[Stated, measures("1/min", "0.02 1/min", 0, 1)]
Ratio = Annotated[Stated, measures("", "0.95", 0, 1.2)]
Given = Annotated[dict[str, Stated], Reads(tables.read_given, "10.9 ± 0.2 °P", table=True)]
GivenByName = Annotated[
    dict[str, Stated], Reads(tables.read_given_by_name, "10.9 ± 0.2 °P", table=True)
]
Wishes = Annotated[dict[str, Wish], Reads(tables.read_wishes, "half of G1", table=True)]
Limits = Annotated[dict[str, Written], Reads(tables.read_limits, "at least 0.5 g/L", table=True)]
Targets = Annotated[dict[str, Stated], Reads(tables.read_targets, "4.8 to 5.4 %", table=True)]
Name = Annotated[str, BeforeValidator(reading.read_name)]
Notes = Annotated[str, BeforeValidator(reading.read_notes)]
Krausen = Annotated[
    Literal["left", "skimmed", "blown off"],
    word(
        "left",
        "skimmed",
        "blown off",
        undisturbed="left",
        skim="skimmed",
        **{"blow off": "blown off", "blow-off": "blown off", "blown-off": "blown off"},
    ),
]
Bag = Annotated[
    Literal["drained", "squeezed"], word("drained", "squeezed", hung="drained", pressed="squeezed")
]
YesNo = Annotated[Literal["yes", "no", "unknown"], word("yes", "no", "unknown", true="yes")]


def read_alpha(written: object) -> Stated:
    """Read a lot's alpha acids; raises ValueError with the fault in words.

    Example:
        >>> read_alpha("5.6 %").value
        0.056
    """
    stated: Stated = ALPHA.parse(written)
    return stated
