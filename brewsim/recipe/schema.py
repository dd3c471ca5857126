"""The recipe a person writes, as frozen models; `recipe_schema` describes it to editors."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic.json_schema import SkipJsonSchema

from brewsim.quantities import fields as reading
from brewsim.quantities.statement import Reads, Stated
from brewsim.recipe import ingredient_lines as natural
from brewsim.recipe import named_tables as tables
from brewsim.recipe.knob_ranges import KnobRange
from brewsim.recipe.named_tables import read_given_by_name
from brewsim.recipe.packaging import Priming, Storage, read_priming, read_storage
from brewsim.recipe.timing import HopTime, PrecursorTime, read_hop_time, read_precursor_time


def _of(
    unit: str, example: str, low: float, high: float, *, above: bool = False, hint: str = ""
) -> Reads:
    return Reads(reading.value_reader(unit, low, high, above=above, hint=hint), example)


def _word(*allowed: str, **also: str) -> Any:  # noqa: ANN401 - pydantic metadata
    return BeforeValidator(reading.word_reader(allowed, also))


Fraction = Annotated[Stated, _of("fraction", "72 ± 3 %", 0, 1)]
Loss = Annotated[Stated, _of("fraction", "5 %", 0, 0.9)]
Attenuation = Annotated[Stated, _of("fraction", "76 to 82 %", 0.3, 1)]
_ALPHA = _of("fraction", "5.6 %", 0.01, 0.25)
Alpha = Annotated[Stated, _ALPHA]
Litres = Annotated[Stated, _of("L", "20 L", 0, 1e7)]
Volume = Annotated[Stated, _of("L", "20 L", 0.5, 1e6)]
_LEAVE_OUT = "Leave the line out instead."
Kilograms = Annotated[Stated, _of("kg", "4.3 kg", 0, 1e6, above=True, hint=_LEAVE_OUT)]
Grams = Annotated[Stated, _of("g", "40 g", 0, 1e8)]
Rate = Annotated[Stated, _of("g/L", "2.5 g/L", 0, 40)]
Dose = Annotated[Stated, _of("g/L", "2.5 g/L", 0, 40)]
BoilMinutes = Annotated[Stated, _of("min", "60 min", 0, 360)]
Minutes = Annotated[Stated, _of("min", "20 min", 0, 1440)]
MashCelsius = Annotated[Stated, _of("°C", "66 °C", 55, 80)]
FermentCelsius = Annotated[Stated, _of("°C", "18 °C", 0, 45)]
StoreCelsius = Annotated[Stated, _of("°C", "4 °C", -30, 50)]
BoilCelsius = Annotated[Stated, _of("°C", "100 °C", 80, 105)]
Metres = Annotated[Stated, _of("m", "500 m", -400, 5000)]
LitresPerHour = Annotated[Stated, _of("L/h", "4 L/h", 0, 1e5)]
PH = Annotated[Stated, _of("pH", "5.3", 4.0, 7.0)]
Lovibond = Annotated[Stated, _of("°L", "3 EBC", 0, 800)]
Months = Annotated[Stated, _of("months", "8 months", 0, 120)]
Carbonation = Annotated[Stated, _of("vol", "2.5 vol", 0, 8)]
PerMinute = Annotated[Stated, _of("1/min", "0.02 1/min", 0, 1)]
Given = Annotated[dict[str, Stated], Reads(tables.read_given, "10.9 ± 0.2 °P", table=True)]
GivenByName = Annotated[dict[str, Stated], Reads(read_given_by_name, "10.9 ± 0.2 °P", table=True)]
Targets = Annotated[dict[str, Stated], Reads(tables.read_targets, "4.8 to 5.4 %", table=True)]
Name = Annotated[str, BeforeValidator(reading.read_name)]
Notes = Annotated[str, BeforeValidator(reading.read_notes)]
YesNo = Annotated[Literal["yes", "no", "unknown"], _word("yes", "no", "unknown", true="yes")]


def read_alpha(written: object) -> Stated:
    """Read a lot's alpha acids; raises ValueError with the fault in words."""
    stated: Stated = _ALPHA.parse(written)
    return stated


class Block(BaseModel):
    """A table of the recipe; `line` is where it starts. Unknown keys are faults."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    line: SkipJsonSchema[int] = Field(default=0, alias="__line__", repr=False)
    given: Given = {}
    """Any quantity of this row, named without its list prefix (hops: linalool_mg_kg)."""


class Malt(Block):
    """One line of the grist."""

    name: Name
    mass: Kilograms
    extract: Fraction | None = None
    moisture: Fraction | None = None
    color: Lovibond | None = None
    fermentability: Annotated[Stated, _of("", "0.95", 0, 1.2)] | None = None
    lot: Name = ""

    _from_line = model_validator(mode="before")(natural.row(natural.malt_line))


class Sugar(Block):
    """Sugar, syrup or extract that skips the mash."""

    name: Name
    mass: Kilograms
    when: Annotated[Literal["boil", "late"], _word("boil", "late")] = "boil"
    extract: Fraction | None = None
    moisture: Fraction | None = None
    color: Lovibond | None = None
    fermentability: Fraction | None = None

    _from_line = model_validator(mode="before")(natural.row(natural.sugar_line))


class Hop(Block):
    """One hop addition, weighed (`mass`) or by rate per litre into the fermenter (`rate`)."""

    variety: Name
    when: Annotated[HopTime, Reads(read_hop_time, "boil 60 min", ".+")]
    mass: Grams | None = None
    rate: Rate | None = None
    alpha: Alpha | None = None
    lot: Name = ""
    form: Annotated[Literal["pellet", "cone"], _word("pellet", "cone", whole="cone")] = "pellet"
    age: Months | None = None
    harvest: Name = ""
    storage: StoreCelsius | None = None
    wrap: (
        Annotated[Literal["loose", "sealed", "vacuum"], _word("loose", "sealed", "vacuum")] | None
    ) = None

    _from_line = model_validator(mode="before")(natural.row(natural.hop_line))


class Precursor(Block):
    """One dose of thiol precursor: per litre into the fermenter (`dose`) or grams (`mass`)."""

    name: Name
    when: Annotated[PrecursorTime, Reads(read_precursor_time, "whirlpool", ".+")]
    dose: Dose | None = None
    mass: Grams | None = None
    content: Annotated[Stated, _of("µg/kg", "1.2 mg/kg", 0, 1e9)] | None = None
    basis: (
        Annotated[
            Literal["conjugate", "free-thiol equivalent"],
            _word("conjugate", "free-thiol equivalent"),
        ]
        | None
    ) = None
    lot: Name = ""


class Yeast(Block):
    """The yeast; what is not stated comes from the priors."""

    name: Name = ""
    attenuation: Attenuation | None = None
    thiol_release: (
        Annotated[
            Literal["ordinary", "active", "engineered"], _word("ordinary", "active", "engineered")
        ]
        | None
    ) = None
    diastatic: YesNo | None = None
    temperature: FermentCelsius | None = None


class Brewhouse(Block):
    """The kettle and mash tun; every part optional."""

    lauter: Annotated[
        Literal["stated", "no sparge", "batch sparge", "continuous sparge"],
        _word("stated", "no sparge", "batch sparge", "continuous sparge"),
    ] = "stated"
    evaporation: LitresPerHour | None = None
    dead_space: Litres | None = None
    trub_loss: Loss | None = None
    fermenter_loss: Loss | None = None
    altitude: Metres | None = None
    boil_temperature: BoilCelsius | None = None
    heat_off: Minutes | None = None
    chill: Minutes | None = None
    stand_cooling: PerMinute | None = None
    """Rate at which the stand cools, 1/min; "held" is 0."""


class Water(Block):
    """Water volumes; what is not stated is planned backwards from the volume."""

    mash: Litres | None = None
    sparge: Litres | None = None
    topup: Litres | None = None


class Package(Block):
    """Keg or bottle."""

    container: Annotated[Literal["keg", "bottle"], _word("keg", "bottle")] = "keg"
    rating: Carbonation | None = None
    carbonation: Carbonation | None = None
    priming: Annotated[Priming, Reads(read_priming, "6 g/L glucose", ".+")] | None = None
    storage: Annotated[Storage, Reads(read_storage, "6 weeks at 4 °C", ".+")] | None = None
    warmest: StoreCelsius | None = None
    headspace: Fraction | None = None


class ModelChoice(Block):
    """Which variant of a formula is used."""

    bitterness: Annotated[Literal["kinetic", "empirical"], _word("kinetic", "empirical")] = (
        "kinetic"
    )
    alcohol: Annotated[Literal["line", "balling"], _word("line", "balling")] = "line"
    stall: Annotated[Literal["off", "possible"], _word("off", "possible", no="off")] = "off"


class Recipe(Block):
    """A whole recipe. `given`, `priors`, `targets` are by name; rows keep the file's order."""

    name: Name
    volume: Volume
    boil: BoilMinutes
    efficiency: Fraction | None = None
    efficiency_of: Annotated[
        Literal["kettle", "fermenter"], _word("kettle", "fermenter", mash="kettle")
    ] = "kettle"
    mash: MashCelsius | None = None
    wort_ph: PH | None = None
    brewed: Name = ""
    notes: Notes = ""
    brewhouse: Brewhouse = Brewhouse()
    water: Water = Water()
    malt: tuple[Malt, ...] = ()
    sugar: tuple[Sugar, ...] = ()
    hop: tuple[Hop, ...] = ()
    precursor: tuple[Precursor, ...] = ()
    yeast: Yeast = Yeast()
    package: Package = Package()
    model: ModelChoice = ModelChoice()
    given: GivenByName = {}
    targets: Targets = {}
    priors: Given = {}
    knobs: Annotated[dict[str, KnobRange], Reads(dict, "0 to 4 g/L", table=True)] = {}
    remarks: SkipJsonSchema[tuple[str, ...]] = Field(default=(), alias="__remarks__")
    """What the reader wants said beside the recipe (a dual unit that nearly agrees, ...)."""


def recipe_schema() -> dict[str, Any]:
    """Return the JSON Schema of a recipe, for editors."""
    schema: dict[str, Any] = _without_null(Recipe.model_json_schema())
    for kind in ("malt", "sugar", "hop"):  # a row may be one line of text
        rows = schema["properties"][kind]
        rows["items"] = {"anyOf": [rows["items"], {"type": "string"}]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | schema


def _without_null(schema: Any) -> Any:  # noqa: ANN401 - any JSON
    """Return a JSON Schema without null and defaults that are tables: TOML cannot write null."""
    if isinstance(schema, list):
        return [_without_null(part) for part in schema if part != {"type": "null"}]
    if not isinstance(schema, dict):
        return schema
    return {
        key: _without_null(part)
        for key, part in schema.items()
        if not (key == "default" and not isinstance(part, str))
    }
