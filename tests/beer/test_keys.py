"""Every key of a recipe sets the quantity that the schema says it sets, and nothing else does."""

import pytest

from brewsim.beer.process_settings import planned_of
from brewsim.beer.statements import Basis, resolve
from brewsim.beer.volume_plan import plan
from brewsim.beer_graph import all_inputs
from brewsim.priors.library import load_priors
from brewsim.recipe.keys import all_keys
from brewsim.recipe.read import parse_recipe
from tests.texts import TOP, beer

KEYS = [
    ("boil", "75 min", "boil_time_min", 75.0),
    ("efficiency", "70 %", "stated_mash_efficiency_fraction", 0.7),
    ("mash", "67 °C", "mash_set_temperature_c", 67.0),
    ("mash", "67 °C for 75 min", "mash_time_min", 75.0),
    ("mash_time", "45 min", "mash_time_min", 45.0),
    ("wort_ph", "5.3", "wort_ph", 5.3),
    ("souring", "to pH 3.4", "souring_ph", 3.4),
    ("brewhouse evaporation", "3 L/h", "evaporation_l_h", 3.0),
    ("brewhouse dead_space", "1 L", "mash_dead_space_l", 1.0),
    ("brewhouse trub_loss", "6 %", "trub_fraction", 0.06),
    ("brewhouse fermenter_loss", "3 %", "fermenter_loss_fraction", 0.03),
    ("brewhouse altitude", "586 m", "boil_temperature_c", 98.0),
    ("brewhouse boil_temperature", "99 °C", "boil_temperature_c", 99.0),
    ("brewhouse heat_off", "5 min", "heat_off_time_min", 5.0),
    ("brewhouse chill", "25 min", "chill_time_min", 25.0),
    ("brewhouse stand_cooling", "0.01 1/min", "stand_cooling_per_min", 0.01),
    ("water mash", "25 L", "mash_water_l", 25.0),
    ("water sparge", "9 L", "sparge_water_l", 9.0),
    ("water topup", "1 L", "topup_l", 1.0),
    ("yeast attenuation", "77 %", "strain_attenuation_fraction", 0.77),
    ("yeast temperature", "20 °C", "fermentation_temperature_c", 20.0),
    ("package rating", "3.5 vol", "bottle_rating_vol", 3.5),
    ("package carbonation", "2.4 vol", "keg_carbonation_vol", 2.4),
    ("package priming", "5 g/L glucose", "priming_sugar_g_l", 5.0),
    ("package storage", "6 weeks at 5 °C", "storage_week", 6.0),
    ("package warmest", "21 °C", "warmest_temperature_c", 21.0),
    ("package headspace", "4 %", "headspace_fraction", 0.04),
]
"""Key, what is written, the quantity, and what it then is."""
_DERIVED = ("wanted_volume_l", "altitude_m", "priming_mass_g")
"""What a key sets that is no input of the beer: inputs are planned from it."""


def _written(key, value):
    block, _, name = key.rpartition(" ")
    line = f'{name} = "{value}"\n'
    if not block:
        lines = (one for one in TOP.splitlines() if one.split()[0] != name)
        top = "\n".join(lines) + "\n"
        return beer(top=top + line)
    package = '[package]\ncontainer = "bottle"\n' if block == "package" else "[package]\n"
    yeast = f'[yeast]\nname = "clean ale yeast"\n{line if block == "yeast" else ""}'
    more = [f"[{block}]\n{line}"] if block not in ("yeast", "package") else []
    return beer(*more, yeast=yeast, package=package + (line if block == "package" else ""))


@pytest.mark.parametrize(("key", "value", "quantity", "expected"), KEYS)
def test_a_key_sets_its_quantity(key, value, quantity, expected):
    basis = Basis(resolve(parse_recipe(_written(key, value))), load_priors())
    settled = basis.statements.planned(planned_of(basis, plan(basis)))

    assert settled.stated(quantity).value == pytest.approx(expected)


def test_every_key_outside_the_lists_is_tried():
    tried = {key for key, *_ in KEYS}
    scalar = {
        f"{key.block} {key.name}".strip()
        for key in all_keys()
        if key.sets is not None and key.block not in ("malt", "sugar", "hop", "precursor")
    }

    assert scalar - tried == {"volume"}


@pytest.mark.parametrize(
    "key",
    [key for key in all_keys() if key.sets is not None],
    ids=lambda key: f"{key.block} {key.name} {key.step}",
)
def test_a_key_sets_an_input_of_the_beer(key):
    sets = key.sets
    named = [sets.quantity] if sets.quantity not in _DERIVED else []
    named += [name for name in (sets.error, sets.factor) if name]

    assert set(named) <= set(all_inputs())
