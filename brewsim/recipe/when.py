"""When an ingredient goes in, as brewers write it."""

from dataclasses import dataclass, field
from typing import Literal

from brewsim.recipe.stated import Stated

HopStep = Literal["mash", "first wort", "boil", "flameout", "whirlpool", "dry hop"]
PrecursorStep = Literal["mash", "boil", "whirlpool", "fermentation"]


@dataclass(frozen=True, slots=True)
class HopTime:
    """When a hop goes in.

    `time` is minutes before the end of the boil (boil), minutes in the stand (whirlpool) or days
    of contact (dry hop), else None. `temperature` is °C of the stand or of the dry hop's contact.
    `day` is the day a dry hop goes in, counted from pitching; `fermenting` says that the yeast is
    still at work then.
    """

    step: HopStep
    time: Stated | None = None
    temperature: Stated | None = None
    day: float | None = None
    fermenting: bool = False
    text: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class PrecursorTime:
    """When a precursor goes in; `day` of fermentation where that is the step."""

    step: PrecursorStep
    day: float | None = None
    text: str = field(default="", compare=False)
