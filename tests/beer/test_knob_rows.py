"""Which line a knob turns: its own, one knob a number, and only what the line has."""

import pytest

from brewsim.errors import InputError
from brewsim.quantities.phrases import read_phrase
from tests.texts import TOP, beer, hop, powder, problem_of

HOPS = (
    hop(),
    hop("mash", "30 g", "Fuggle"),
    hop("whirlpool 20 min at 80 °C", "25 g", "Challenger"),
    hop("dry hop day 3 for 4 days at 16 °C", "40 g", "Glacier"),
)


def knobs(*lines):
    return problem_of(beer(*HOPS, powder(), "[knobs]\n" + "\n".join(lines) + "\n")).knobs


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ('"hop 1 mass" = "0 to 60 g"', '"hop 1 rate" = "1 to 3 g/L"'),
        ('"hop 1 mass" = "0 to 60 g"', '"hop Northern Brewer mass" = "0 to 60 g"'),
        ('"precursor 1 dose" = "0 to 4 g/L"', '"precursor 1 mass" = "0 to 80 g"'),
    ],
)
def test_two_knobs_of_one_number_are_refused(one, other):
    with pytest.raises(InputError, match="only one of them can be a knob"):
        knobs(one, other)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('"hop 2 time" = "5 to 60 min"', "an addition at mash has no time of its own"),
        ('"hop 3 time" = "5 to 60 min"', "an addition at whirlpool has no time of its own"),
        ('"hop 1 temperature" = "70 to 90 °C"', "an addition at boil has no temperature"),
        ('"hop 3 contact" = "2 to 5 days"', "an addition at whirlpool has no contact"),
    ],
)
def test_a_hop_s_knob_is_one_that_its_addition_has(line, told):
    with pytest.raises(InputError, match=told):
        knobs(line)


def test_knobs_of_what_the_additions_have_are_taken():
    found = knobs(
        '"hop 1 time" = "30 to 60 min"',
        '"hop 3 temperature" = "70 to 90 °C"',
        '"hop 4 temperature" = "10 to 20 °C"',
        '"hop 4 contact" = "2 to 5 days"',
    )

    assert len(found) == 4


def test_doublings_may_be_written_behind_a_number_of_them():
    assert read_phrase("-1 to 1 doublings", "doublings").phrase.low == -1.0
    assert read_phrase("2 odour units", "odour units").value == 2.0


def test_a_recipe_that_names_no_knobs_gets_them_in_the_units_it_is_written_in():
    lines = (hop("boil 60 min", "0.75 oz"), hop("dry hop day 3 for 4 days at 16 °C", "40 g"))
    text = beer(*lines, powder(), top=TOP + 'mash = "152 °F"\n')
    found = {knob.id: knob for knob in problem_of(text).knobs}

    mash, ounces, grams = found["mash"], found["hop 1 mass"], found["hop 2 mass"]
    assert {k: knob.unit for k, knob in found.items()} == {
        "precursor 1 dose": "g/L",
        "hop 1 mass": "oz",
        "hop 2 mass": "g",
        "malt 1 mass": "kg",
        "mash": "°F",
    }
    ends = [mash.as_shown(end) for end in (mash.low, mash.today, mash.high)]
    assert ends == pytest.approx([147.0, 152.0, 157.0])
    assert ounces.as_shown(ounces.high) == pytest.approx(1.5)
    assert ounces.step / ounces.per_shown == pytest.approx(0.02)
    assert ounces.decimals == 2
    assert (grams.high, grams.step) == (80.0, 1.0)


def test_unasked_a_hop_by_rate_and_a_powder_by_mass_are_turned_as_they_are_written():
    rate = hop("dry hop day 3 for 4 days at 16 °C", "1 g").replace("mass = ", "rate = ")
    dose = powder().replace("dose = ", "mass = ").replace("2.5 g/L", "2 oz")
    found = {k.id: k for k in problem_of(beer(rate.replace("1 g", "2 g/L"), dose)).knobs}

    shown = {
        name: (k.unit, round(k.as_shown(k.high), 9))
        for name, k in found.items()
        if "1" in name and "malt" not in name
    }
    assert shown == {"hop 1 rate": ("g/L", 4.0), "precursor 1 mass": ("oz", 4.0)}


def test_a_knob_knows_where_the_recipe_has_it():
    (found,) = knobs('"hop 3 mass" = "0 to 1 oz"')

    assert found.today == 25.0
