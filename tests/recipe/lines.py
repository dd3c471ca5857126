"""A good recipe of which one line is another."""

import pytest

from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe

BASE = {
    "top": ['name = "Test"', 'volume = "20 L"', 'boil = "60 min"', 'efficiency = "72 %"'],
    "malt": ["[[malt]]", 'name = "Pilsner malt"', 'mass = "4 kg"'],
    "hop": [
        "[[hop]]",
        'variety = "Fuggle"',
        'alpha = "5 %"',
        'mass = "30 g"',
        'when = "boil 60 min"',
    ],
    "precursor": ["[[precursor]]", 'name = "powder"', 'dose = "2 g/L"', 'when = "whirlpool"'],
    "yeast": ["[yeast]", 'name = "ale yeast"'],
    "package": ["[package]", 'container = "keg"'],
    "targets": ["[targets]"],
    "knobs": ["[knobs]"],
    "given": ["[given]"],
    "brewhouse": ["[brewhouse]"],
}


def recipe_with(place, line):
    """A good recipe with one line put in, in place of the line of the same key."""
    blocks = {name: list(lines) for name, lines in BASE.items()}
    key = line.split("=")[0].strip()
    old = [n for n, text in enumerate(blocks[place]) if text.split("=")[0].strip() == key]
    if old:
        blocks[place][old[0]] = line
    else:
        blocks[place].append(line)
    return "\n".join(text for lines in blocks.values() for text in lines) + "\n"


def faults_in(text):
    with pytest.raises(InputError) as caught:
        parse_recipe(text)
    return caught.value.faults
