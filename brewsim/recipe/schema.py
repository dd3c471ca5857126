"""The recipe a person writes, as frozen models; `recipe_schema` describes it to editors."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from brewsim.recipe import reading
from brewsim.recipe.stated import Reads, Stated
from brewsim.recipe.when import HopTime, PrecursorTime, read_hop_time, read_precursor_time


def _of(unit: str, example: str, low: float, high: float, *, hint: str = "") -> Reads:
    return Reads(reading.value_reader(unit, low, high, hint=hint), example)


def _word(*allowed: str, **also: str) -> Any:  # noqa: ANN401 - pydantic metadata
    return BeforeValidator(reading.word_reader(allowed, also))


Fraction = Annotated[Stated, _of("fraction", "72 ± 3 %", 0, 1)]
Attenuation = Annotated[Stated, _of("fraction", "76 to 82 %", 0.3, 1)]
Alpha = Annotated[Stated, _of("fraction", "5.6 %", 0.01, 0.25, hint="alpha")]
Litres = Annotated[Stated, _of("L", "20 L", 0, 1e7)]
Volume = Annotated[Stated, _of("L", "20 L", 0.5, 1e6)]
Kilograms = Annotated[Stated, _of("kg", "4.3 kg", 0, 1e6)]
Grams = Annotated[Stated, _of("g", "40 g", 0, 1e8)]
GramsPerLitre = Annotated[Stated, _of("g/L", "2.5 g/L", 0, 40)]
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
Weeks = Annotated[Stated, _of("weeks", "6 weeks", 0, 520)]
Carbonation = Annotated[Stated, _of("vol", "2.5 vol", 0, 8)]
PerMinute = Annotated[Stated, _of("1/min", "0.02 1/min", 0, 1)]
Quantities = Annotated[dict[str, Stated], Reads(reading.read_quantities, "", None)]
Name = Annotated[str, BeforeValidator(reading.read_name)]
Notes = Annotated[str, BeforeValidator(reading.read_notes)]
YesNo = Annotated[Literal["yes", "no", "unknown"], _word("yes", "no", "unknown", true="yes")]


class Block(BaseModel):
    """A table of the recipe; `line` is where it starts. Unknown keys are faults."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    line: Annotated[int, Field(repr=False)] = 0
    given: Quantities = {}
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


class Sugar(Block):
    """Sugar, syrup or extract that skips the mash."""

    name: Name
    mass: Kilograms
    when: Annotated[Literal["boil", "late"], _word("boil", "late")] = "boil"
    extract: Fraction | None = None
    moisture: Fraction | None = None
    color: Lovibond | None = None
    fermentability: Fraction | None = None


class Hop(Block):
    """One hop addition, weighed (`mass`) or by rate per litre into the fermenter (`rate`)."""

    variety: Name
    when: Annotated[HopTime, Reads(read_hop_time, "boil 60 min", ".+")]
    mass: Grams | None = None
    rate: GramsPerLitre | None = None
    alpha: Alpha | None = None
    lot: Name = ""
    form: Annotated[Literal["pellet", "cone"], _word("pellet", "cone", whole="cone")] = "pellet"
    age: Months | None = None
    harvest: Name = ""
    storage: StoreCelsius | None = None
    wrap: Annotated[Literal["loose", "vacuum"], _word("loose", "vacuum")] | None = None


class Precursor(Block):
    """One dose of thiol precursor: a rate (`dose`) or, with `mass`, grams in the batch."""

    name: Name
    when: Annotated[PrecursorTime, Reads(read_precursor_time, "whirlpool", ".+")]
    dose: GramsPerLitre | None = None
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
    trub_loss: Fraction | None = None
    fermenter_loss: Fraction | None = None
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


class Priming(BaseModel):
    """Priming sugar: grams per litre of packaged beer, or grams in all."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    sugar: Literal["glucose", "glucose monohydrate", "sucrose"]
    dose: Stated
    text: str = ""


class Storage(BaseModel):
    """How long and how cold the packaged beer is kept."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    time: Stated
    temperature: Stated | None = None
    text: str = ""


class Package(Block):
    """Keg or bottle."""

    container: Annotated[Literal["keg", "bottle"], _word("keg", "bottle")] = "keg"
    rating: Carbonation | None = None
    carbonation: Carbonation | None = None
    priming: Annotated[Priming, Reads(reading.read_priming, "6 g/L glucose", ".+")] | None = None
    storage: Annotated[Storage, Reads(reading.read_storage, "6 weeks at 4 °C", ".+")] | None = None
    warmest: StoreCelsius | None = None
    headspace: Fraction | None = None


class ModelChoice(Block):
    """Which variant of a formula is used."""

    bitterness: Annotated[Literal["kinetic", "empirical"], _word("kinetic", "empirical")] = (
        "kinetic"
    )
    alcohol: Annotated[Literal["line", "balling"], _word("line", "balling")] = "line"
    stall: Annotated[Literal["off", "possible"], _word("off", "possible", no="off")] = "off"


class KnobRange(BaseModel):
    """A knob: `kind` row (from 0) and `field` of the recipe, and how far it may be turned.

    Numbers are in `model_unit`; `unit` is the one the person used; `per_shown` is model units per
    shown unit. `choices` is set instead for a knob that picks words.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")
    id: str
    kind: str
    row: int | None = None
    field: str
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""
    model_unit: str = ""
    per_shown: float = 1.0
    choices: tuple[str, ...] = ()
    text: str = ""
    line: int = 0


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
    targets: Quantities = {}
    priors: Quantities = {}
    knobs: Annotated[dict[str, KnobRange], Reads(dict, "")] = {}
    remarks: tuple[str, ...] = ()
    """What the reader wants said beside the recipe (a dual unit that nearly agrees, ...)."""


def recipe_schema() -> dict[str, Any]:
    """Return the JSON Schema of a recipe, for editors."""
    return Recipe.model_json_schema()
