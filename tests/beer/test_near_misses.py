"""A name that nearly is a known one is said, also where stated numbers carry the line."""

import pytest

from brewsim.beer.statements import Basis, resolve
from brewsim.beer.unknown_names import near_misses
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from tests.texts import MALT, beer, hop


def told(*blocks, **parts):
    basis = Basis(resolve(parse_recipe(beer(*blocks, **parts))), load_priors())
    return list(near_misses(basis))


def test_a_misspelt_hop_with_a_stated_alpha_is_said_with_its_near_miss():
    (remark,) = told(hop(variety="Centenial", alpha="9 %"))

    assert "hop 1: “Centenial” is not known" in remark
    assert "Did you mean Centennial" in remark


def test_a_misspelt_malt_and_yeast_are_said_too():
    malt = '[[malt]]\nname = "Pilsnr malt"\nmass = "4 kg"\nextract = "81 %"\ncolor = "3 EBC"\n'
    yeast = '[yeast]\nname = "clean ail yeast"\nattenuation = "77 %"\n'

    first, second = told(malt=malt, yeast=yeast)

    assert "malt 1: “Pilsnr malt”" in first
    assert "clean ale yeast" in second


@pytest.mark.parametrize("variety", ["Northern Brewer", "Quillhaven seedling 7"])
def test_a_known_name_and_one_of_nobody_are_taken_without_a_word(variety):
    assert told(hop(variety=variety, alpha="9 %"), malt=MALT) == []
