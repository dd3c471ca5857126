"""The recipe a person writes, as frozen models; `recipe_schema` describes it to editors."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic.json_schema import SkipJsonSchema

from brewsim.quantities.statement import Reads, Stated
from brewsim.recipe import ingredient_lines as natural
from brewsim.recipe import measures as m
from brewsim.recipe.knob_ranges import KnobRange
from brewsim.recipe.mash_schedule import Mash, read_mash
from brewsim.recipe.measures import Name, word
from brewsim.recipe.packaging import Priming, Storage, read_priming, read_storage
from brewsim.recipe.sets import Picks, Sets
from brewsim.recipe.souring import SOURING
from brewsim.recipe.timing import (
    HopTime,
    PrecursorTime,
    SugarTime,
    read_hop_time,
    read_precursor_time,
    read_sugar_time,
)


class Block(BaseModel):
    """A table of the recipe; `line` is where it starts. Unknown keys are faults."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    line: SkipJsonSchema[int] = Field(default=0, alias="__line__", repr=False)
    given: m.Given = {}
    """Any quantity of this row, named without its list prefix (hops: linalool_mg_kg)."""


class Malt(Block):
    """One line of the grist."""

    name: Name
    mass: Annotated[
        m.Kilograms, Sets("malt_mass_kg", factor="malt_weighing_factor", knob="mass", amount=True)
    ]
    extract: Annotated[m.Fraction | None, Sets("malt_extract_dry_fraction", ingredient=True)] = None
    moisture: Annotated[m.Fraction | None, Sets("malt_moisture_fraction", ingredient=True)] = None
    color: Annotated[m.Lovibond | None, Sets("malt_color_lovibond", ingredient=True)] = None
    fermentability: Annotated[m.Ratio | None, Sets("malt_fermentability_factor")] = None
    lot: Name = ""

    _from_line = model_validator(mode="before")(natural.row(natural.malt_line))


class Sugar(Block):
    """Sugar, syrup or extract that skips the mash."""

    name: Name
    mass: Annotated[
        m.Kilograms, Sets("sugar_mass_kg", factor="sugar_weighing_factor", knob="mass", amount=True)
    ]
    when: Annotated[SugarTime, BeforeValidator(read_sugar_time)] = "boil"
    extract: Annotated[m.Fraction | None, Sets("sugar_extract_fraction")] = None
    moisture: Annotated[m.Fraction | None, Sets("sugar_water_fraction")] = None
    color: Annotated[m.Lovibond | None, Sets("sugar_color_lovibond")] = None
    fermentability: Annotated[m.Fraction | None, Sets("sugar_fermentable_fraction")] = None
    bitterness: Annotated[
        m.CanBitterness | None,
        Sets("sugar_bitterness_ibu", factor="sugar_bitterness_factor", ingredient=True),
    ] = None

    _from_line = model_validator(mode="before")(natural.row(natural.sugar_line))


class Hop(Block):
    """One hop addition, weighed (`mass`) or by rate per litre into the fermenter (`rate`)."""

    variety: Name
    when: Annotated[HopTime, Reads(read_hop_time, "boil 60 min", ".+")]
    mass: Annotated[
        m.Grams | None, Sets("hop_mass_g", factor="hop_weighing_factor", knob="mass", amount=True)
    ] = None
    rate: Annotated[
        m.Rate | None, Sets("hop_mass_g", factor="hop_weighing_factor", knob="rate", amount=True)
    ] = None
    alpha: Annotated[m.Alpha | None, Sets("hop_lot_stated_alpha_fraction", ingredient=True)] = None
    lot: Annotated[Name, Picks(ingredient=True)] = ""
    form: Annotated[
        Literal["pellet", "cone"], word("pellet", "cone", whole="cone"), Picks(knob="form")
    ] = "pellet"
    age: Annotated[m.Months | None, Sets("hop_lot_age_month", ingredient=True)] = None
    harvest: Annotated[Name, Picks(ingredient=True)] = ""
    storage: Annotated[m.StoreCelsius | None, Sets("hop_lot_storage_temperature_c")] = None
    wrap: (
        Annotated[Literal["loose", "sealed", "vacuum"], word("loose", "sealed", "vacuum")] | None
    ) = None

    _from_line = model_validator(mode="before")(natural.row(natural.hop_line))


class Precursor(Block):
    """One dose of thiol precursor: per litre into the fermenter (`dose`) or grams (`mass`)."""

    name: Name
    when: Annotated[
        PrecursorTime, Reads(read_precursor_time, "whirlpool", ".+"), Picks(knob="when")
    ]
    dose: Annotated[
        m.Dose | None,
        Sets("precursor_dose_g_l", factor="precursor_weighing_factor", knob="dose", amount=True),
    ] = None
    mass: Annotated[
        m.Grams | None,
        Sets("precursor_dose_g_l", factor="precursor_weighing_factor", knob="mass", amount=True),
    ] = None
    content: Annotated[m.Content | None, Sets("precursor_content_ug_kg")] = None
    basis: (
        Annotated[
            Literal["conjugate", "free-thiol equivalent"],
            word("conjugate", "free-thiol equivalent"),
        ]
        | None
    ) = None
    lot: Name = ""


class Yeast(Block):
    """The yeast; what is not stated comes from the priors."""

    name: Name = ""
    attenuation: Annotated[
        m.Attenuation | None, Sets("strain_attenuation_fraction", ingredient=True)
    ] = None
    thiol_release: Annotated[
        Annotated[
            Literal["ordinary", "active", "engineered"], word("ordinary", "active", "engineered")
        ]
        | None,
        Picks(knob="thiol release of the yeast", ingredient=True),
    ] = None
    diastatic: Annotated[m.YesNo | None, Picks(ingredient=True)] = None
    krausen: Annotated[
        m.Krausen | None, Picks(sets="krausen_kept_share", prior="krausen_{}_share")
    ] = None
    temperature: Annotated[
        m.FermentCelsius | None,
        Sets("fermentation_temperature_c", knob="fermentation temperature"),
    ] = None


class Brewhouse(Block):
    """The kettle and mash tun; every part optional."""

    lauter: Annotated[
        Literal["stated", "no sparge", "batch sparge", "continuous sparge"],
        word("stated", "no sparge", "batch sparge", "continuous sparge"),
        Picks(variant="mash_efficiency_fraction"),
    ] = "stated"
    evaporation: Annotated[
        m.LitresPerHour | None, Sets("evaporation_l_h", factor="evaporation_factor")
    ] = None
    bag: Annotated[
        m.Bag | None, Picks(sets="grain_absorption_l_kg", prior="grain_absorption_{}_l_kg")
    ] = None
    dead_space: Annotated[m.Litres | None, Sets("mash_dead_space_l")] = None
    trub_loss: Annotated[m.Loss | None, Sets("trub_fraction")] = None
    fermenter_loss: Annotated[m.Loss | None, Sets("fermenter_loss_fraction")] = None
    altitude: Annotated[m.Metres | None, Sets("altitude_m")] = None
    boil_temperature: Annotated[m.BoilCelsius | None, Sets("boil_temperature_c")] = None
    heat_off: Annotated[m.Minutes | None, Sets("heat_off_time_min")] = None
    chill: Annotated[m.Minutes | None, Sets("chill_time_min", factor="chill_time_factor")] = None
    stand_cooling: Annotated[
        m.PerMinute | None, Sets("stand_cooling_per_min", factor="stand_cooling_factor")
    ] = None
    """Rate at which the stand cools, 1/min; "held" is 0."""


class Water(Block):
    """Water volumes; what is not stated is planned backwards from the volume."""

    mash: Annotated[m.Litres | None, Sets("mash_water_l", knob="mash water")] = None
    sparge: Annotated[m.Litres | None, Sets("sparge_water_l", knob="sparge water")] = None
    topup: Annotated[m.Litres | None, Sets("topup_l", knob="top-up water")] = None


class Package(Block):
    """Keg or bottle."""

    container: Annotated[
        Literal["keg", "bottle"],
        word("keg", "bottle"),
        Picks(
            variant="carbonation_vol",
            knob="container",
            refused="keg and bottle are two recipes; write both and compare them",
        ),
    ] = "keg"
    rating: Annotated[m.Carbonation | None, Sets("bottle_rating_vol")] = None
    carbonation: Annotated[
        m.Carbonation | None,
        Sets("keg_carbonation_vol", factor="keg_carbonation_factor", knob="carbonation"),
    ] = None
    priming: Annotated[Priming, Reads(read_priming, "6 g/L glucose", ".+")] | None = None
    storage: Annotated[Storage, Reads(read_storage, "6 weeks at 4 °C", ".+")] | None = None
    warmest: Annotated[m.StoreCelsius | None, Sets("warmest_temperature_c")] = None
    headspace: Annotated[m.Fraction | None, Sets("headspace_fraction")] = None


class ModelChoice(Block):
    """Which variant of a formula is used."""

    bitterness: Annotated[
        Literal["kinetic", "empirical"],
        word("kinetic", "empirical"),
        Picks(variant="bitterness_ibu"),
    ] = "kinetic"
    alcohol: Annotated[
        Literal["line", "balling"],
        word("line", "balling"),
        Picks(variant="alcohol_by_weight_fraction"),
    ] = "line"
    stall: Annotated[
        Literal["off", "possible"],
        word("off", "possible", no="off"),
        Picks(sets="stall_share", prior="stall_{}_share"),
    ] = "off"


class Recipe(Block):
    """A whole recipe. `given`, `priors`, `targets` are by name; rows keep the file's order."""

    name: Name
    volume: Annotated[
        m.Volume,
        Sets(
            "wanted_volume_l",
            knob="volume",
            refused="a volume cannot be turned; write two recipes and compare them",
        ),
    ]
    boil: Annotated[m.BoilMinutes, Sets("boil_time_min", knob="length of the boil")]
    efficiency: Annotated[m.Fraction | None, Sets("stated_mash_efficiency_fraction")] = None
    efficiency_of: Annotated[
        Literal["kettle", "fermenter"], word("kettle", "fermenter", mash="kettle")
    ] = "kettle"
    mash: Annotated[Mash, Reads(read_mash, "66 °C")] | None = None
    mash_time: Annotated[m.Minutes | None, Sets("mash_time_min", knob="length of the mash")] = None
    wort_ph: Annotated[m.PH | None, Sets("wort_ph")] = None
    souring: Annotated[Stated | None, SOURING, Sets("souring_ph", knob="pH of the souring")] = None
    brewed: Name = ""
    notes: m.Notes = ""
    brewhouse: Brewhouse = Brewhouse()
    water: Water = Water()
    malt: tuple[Malt, ...] = ()
    sugar: tuple[Sugar, ...] = ()
    hop: tuple[Hop, ...] = ()
    precursor: tuple[Precursor, ...] = ()
    yeast: Yeast = Yeast()
    package: Package = Package()
    model: ModelChoice = ModelChoice()
    given: m.GivenByName = {}
    targets: m.Targets = {}
    wish: m.Wishes = {}
    hold: m.Wishes = {}
    limits: m.Limits = {}
    priors: m.Given = {}
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
