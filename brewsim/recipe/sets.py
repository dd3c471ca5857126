"""What the keys of a recipe state: each names its quantity beside its type, and nowhere else."""

from dataclasses import dataclass

from brewsim.quantities.statement import Reads


@dataclass(frozen=True, slots=True)
class Sets:
    """Marks a key with the quantity that it states.

    `quantity` is the whole name, list prefix included. A setting is turned and stays fixed; where
    the model has an input for how well it is hit, a statement's spread goes there: to `error`,
    which is added to the setting, or to `factor`, which multiplies it. `knob` is what a knob on
    the key is called, empty where it cannot be turned; `refused` says why a knob that one would
    expect is none. `amount` marks how much of a line is taken; `ingredient` a figure of one
    ingredient, which goes when another takes its place.

    Example:
        >>> Sets("mash_set_temperature_c", error="mash_temperature_error_c", knob="mash").quantity
        'mash_set_temperature_c'
    """

    quantity: str
    error: str = ""
    factor: str = ""
    knob: str = ""
    refused: str = ""
    amount: bool = False
    ingredient: bool = False


@dataclass(frozen=True, slots=True)
class Picks:
    """Marks a key that is one of a few words.

    `variant` is the quantity whose formula the word picks; `sets` the quantity whose prior it
    picks: the one whose name `prior` becomes with the word in its place, else the usual one.
    `knob`, `refused` and `ingredient` are those of Sets.

    Example:
        >>> Picks(variant="bitterness_ibu").variant
        'bitterness_ibu'
    """

    variant: str = ""
    sets: str = ""
    prior: str = ""
    knob: str = ""
    refused: str = ""
    ingredient: bool = False


@dataclass(frozen=True, slots=True)
class Measures(Reads):
    """Marks a key that is read as a value of `unit` between `low` and `high` (model units).

    Example:
        >>> Measures(float, "66 °C", unit="°C", low=55, high=80).unit
        '°C'
    """

    unit: str = ""
    low: float = 0.0
    high: float = float("inf")
