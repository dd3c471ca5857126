"""Lines of a recipe held against each other: names alike, ages, how far a knob may be turned."""

import pytest

from brewsim.beer.pose import posed
from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe
from brewsim.recipe.starter import starter_recipe
from tests.texts import TOP, beer, hop


def faults_of(text):
    with pytest.raises(InputError) as caught:
        posed(parse_recipe(text))
    return caught.value.faults


ALIKE = [("A1", "a1"), ("L\u00e9", "Le\u0301")]


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_lots_alike_with_two_alphas_are_refused(one, other):
    hops = hop(lot=one, alpha="12 %"), hop(lot=other, alpha="10 %")

    (fault,) = faults_of(beer(*hops))

    assert "hop 2 lot: " in fault
    assert "differ only in case or in how a letter is stored, with alpha 10 % and 12 %" in fault


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_lots_alike_are_told_and_taken_for_two(one, other):
    recipe = parse_recipe(beer(hop(lot=one), hop(lot=other, alpha="10 %")))

    assert recipe.remarks == (
        (
            f"hop 2 lot “{other}” and hop 1 lot “{one}” differ only in case or in how a letter is "
            "stored; they are taken for two lots"
        ),
    )


def test_a_harvest_of_another_age_of_the_world_is_refused():
    top = f'{TOP}brewed = "2026-03-01"\n'

    (fault,) = faults_of(beer(hop(harvest="0001"), top=top))

    assert "harvest: “0001” is 24294 months before brew day; 120 months are the most" in fault


@pytest.mark.parametrize(
    ("knob", "told"),
    [
        ('"hop 1 mass" = "0 to 99999999 g"', "40 g/L is the most"),
        ('"malt 1 mass" = "1 to 500 kg"', "1.5 kg/L is the most"),
    ],
)
def test_a_knob_reaches_no_further_than_a_recipe_may(knob, told):
    (fault,) = faults_of(beer(hop(), package=f"[knobs]\n{knob}\n"))

    assert fault.startswith("line ")
    assert told in fault
    assert parse_recipe(beer(hop(), package='[knobs]\n"hop 1 mass" = "0 to 200 g"\n')).knobs


@pytest.mark.parametrize("name", ["a\x07b", "a\u202eb", "x" * 201])
def test_a_starter_is_not_written_under_a_name_that_check_refuses(name):
    with pytest.raises(ValueError, match="characters"):
        starter_recipe(name)


@pytest.mark.parametrize("name", ['My "own" \\ ale', "日本", ""])
def test_a_starter_passes_check_whatever_it_is_called(name):
    assert parse_recipe(starter_recipe(name)).name
