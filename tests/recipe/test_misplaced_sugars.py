"""Sugar among the malts is read as sugar, and said."""

import pytest

from brewsim.priors.library import load_priors
from brewsim.recipe.misplaced_sugars import SUGARS
from brewsim.recipe.read import parse_recipe
from tests.texts import MALT, TOP, beer, problem_of, values_at

TABLE = '[[malt]]\nname = "table sugar"\nmass = "0.5 kg"\n'
SUGAR = '[[sugar]]\nname = "table sugar"\nmass = "0.5 kg"\n'


@pytest.mark.parametrize("name", sorted(SUGARS))
def test_each_of_these_names_is_a_sugar_and_no_malt(name):
    assert load_priors().find("sugar", name) is not None
    assert load_priors().find("malt", name) is None


def test_table_sugar_among_the_malts_is_the_sugar_it_would_be():
    wrong, right = (values_at(problem_of(beer(block))) for block in (TABLE, SUGAR))

    for quantity in ("original_gravity_sg", "final_gravity_sg", "beer_color_ebc"):
        assert wrong[quantity][0] == right[quantity][0]


def test_it_is_said_with_the_line_it_stood_in():
    recipe = parse_recipe(beer(TABLE))

    assert [row.name for row in recipe.malt] == ["Pilsner malt"]
    assert recipe.remarks[0].startswith("malt 2: “table sugar” is no malt")


def test_lines_of_text_are_moved_too():
    grist = 'malt = ["4 kg Pilsner malt", "0.5 kg table sugar"]\n'

    recipe = parse_recipe(beer(malt="", top=TOP + grist))

    assert recipe.sugar[0].mass.value == 0.5


def test_a_grist_without_sugar_gives_no_remark():
    assert parse_recipe(beer(malt=MALT)).remarks == ()
