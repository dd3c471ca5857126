"""Readings and aims of a brew day: what each is taken for, doubted or refused."""

import pytest

from brewsim.answers.brew_day import midway
from brewsim.errors import InputError
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from tests.answers.pale_day import ABV, IBU, OG, PALE, VOLUME


@pytest.fixture(scope="module")
def priors():
    return load_priors()


def test_a_day_without_readings_is_refused(priors):
    with pytest.raises(InputError, match="no reading"):
        midway(parse_recipe(PALE), {}, priors)


def test_a_reading_that_cannot_be_read_names_itself(priors):
    with pytest.raises(InputError, match="preboil_gravity_sg"):
        midway(parse_recipe(PALE), {"preboil_gravity_sg": "rather low"}, priors)


@pytest.mark.parametrize(
    "plain", [{"preboil_gravity": "1.031 ± 0.001"}, {"preboil gravity": "1.031 ± 0.001"}]
)
def test_a_reading_may_be_called_by_its_plain_name(priors, plain):
    named = {"preboil_gravity_sg": "1.031 ± 0.001"}

    assert midway(parse_recipe(PALE), plain, priors) == midway(parse_recipe(PALE), named, priors)


def test_a_gravity_in_plato_is_of_its_extract_and_in_brix_of_its_refractometer(priors):
    said = [
        {"preboil_extract_plato": "12 ± 0.2 °P"},
        {"preboil_gravity": "12 ± 0.2 °P"},
        {"preboil_gravity": "12.48 ± 0.208 °Bx"},
    ]
    first, *others = (midway(parse_recipe(PALE), one, priors, draws=256) for one in said)

    for other in others:
        assert other.readings == first.readings
        assert other.now[OG].middle == pytest.approx(first.now[OG].middle, abs=1e-9)
        assert other.spread_left[OG] == pytest.approx(first.spread_left[OG], rel=1e-6)


@pytest.mark.parametrize(
    ("readings", "told"),
    [
        ({"FG": "6 °Bx"}, "alcohol bends light"),
        ({"preboil_gravty": "1.031"}, "there is no quantity preboil_gravty. Did you mean preboil"),
        ({"OG": "1.044", "original_gravity_sg": "1.045"}, "OG is there too, and is the same"),
        ({"OG": "12.3 °P", "original_gravity": "1.045"}, "original_gravity: OG is there too"),
        ({"foo": "3"}, "there is no quantity foo. `brewsim glossary` lists all"),
        ({"mash_ph": "5.2"}, "there is no quantity mash_ph. `brewsim glossary` lists all"),
        ({"hop_mass_g": "15 g"}, "it is one number for each hop"),
        ({"1.031": ""}, "write name = value"),
        ({"bitterness": "900 IBU"}, "is impossible"),
        ({"preboil_gravity": "at most 1.03"}, "for targets"),
    ],
)
def test_a_reading_that_says_something_else_is_refused(priors, readings, told):
    with pytest.raises(InputError, match=told):
        midway(parse_recipe(PALE), readings, priors)


@pytest.mark.parametrize(
    ("aim", "told"),
    [
        ("nonsense", "no outcome “nonsense” of this recipe. There is: original_gravity"),
        ("origina_gravity", "Did you mean original_gravity"),
        ("hop_mass_g", "no outcome “hop_mass_g”"),
    ],
)
def test_an_aim_that_is_none_is_refused_with_near_misses(priors, aim, told):
    with pytest.raises(InputError, match=told):
        midway(parse_recipe(PALE), {"preboil_gravity": "1.031"}, priors, aim=aim)


def test_every_reading_that_cannot_be_read_is_told_at_once(priors):
    readings = {"foo": "3", "mash_ph": "5.2", "OG": "rather low"}

    with pytest.raises(InputError) as caught:
        midway(parse_recipe(PALE), readings, priors)

    assert [fault.partition(":")[0] for fault in caught.value.faults] == [
        "reading foo",
        "reading mash_ph",
        "reading OG",
    ]


@pytest.mark.parametrize(
    ("gravity", "doubted"), [("1.018", True), ("1.0395 ± 0.001", False), ("1.0405", False)]
)
def test_a_reading_that_the_plan_hardly_allows_is_doubted(priors, gravity, doubted):
    found = midway(parse_recipe(PALE), {"preboil_gravity": gravity}, priors, draws=1024)

    assert bool(found.doubts) == doubted
    assert all("hardly possible by the plan" in doubt for doubt in found.doubts)
    assert all("check the reading" in doubt for doubt in found.doubts)


def test_a_volume_near_its_plan_is_not_doubted_though_both_are_read_with_one_vessel(priors):
    """What plan and reading share would put every draw of the one above the other."""
    found = midway(parse_recipe(PALE), {"preboil_volume": "25.3 L"}, priors, draws=1024)

    assert found.doubts == ()


def test_readings_that_leave_no_beer_are_refused_with_the_one_that_is_doubted(priors):
    with pytest.raises(InputError) as caught:
        midway(parse_recipe(PALE), {"preboil_volume": "2.7 L"}, priors)

    doubt, impossible = caught.value.faults
    assert doubt.startswith("wort before the boil 2.7 L is hardly possible by the plan")
    assert impossible.startswith("these readings leave no beer:")


@pytest.mark.parametrize(
    ("targets", "reading", "wort"),
    [
        ("", {"preboil_gravity": "1.038"}, OG),
        ("", {"preboil_gravity": "9.5 °P"}, "original_extract_plato"),
        (
            'original_gravity = "11 to 12 °P"',
            {"preboil_gravity": "1.038"},
            "original_extract_plato",
        ),
        ('original_gravity = "1.044 to 1.048"', {"preboil_gravity": "9.5 °P"}, OG),
    ],
)
def test_the_wort_is_shown_and_aimed_at_as_the_recipe_or_else_the_reading_speaks_of_it(
    priors, targets, reading, wort
):
    text = f"{PALE}\n[targets]\n{targets}\n" if targets else PALE
    found = midway(parse_recipe(text), reading, priors, draws=256)

    assert found.aim == wort
    assert found.shown == (wort, VOLUME, ABV, IBU)
    assert {OG, "original_extract_plato"} <= set(found.plan)
