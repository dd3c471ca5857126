"""A mash as brewers write it: one temperature, one for so long, or several rests."""

import pytest

from brewsim.recipe.mash_schedule import Rest, read_mash

STEPS = ["63 °C for 40 min", "72 °C for 20 min"]


@pytest.mark.parametrize(
    ("written", "celsius", "minutes"),
    [
        ("66 °C", 66.0, None),
        ("66 ± 1 °C", 66.0, None),
        (["65 °C", "66 °C", "65.5 °C"], 65.5, None),
        ("66 °C for 45 min", 66.0, 45.0),
        ("66 °C, 1 h", 66.0, 60.0),
        ("66C 60'", 66.0, 60.0),
        ("150.8 °F for 75 minutes", 66.0, 75.0),
        ("75 °C for 60 min", 75.0, 60.0),
    ],
)
def test_one_temperature_is_read_with_its_time(written, celsius, minutes):
    mash = read_mash(written)

    assert mash.temperature.value == pytest.approx(celsius)
    assert (mash.time.value if mash.time else None) == minutes
    assert mash.rests == ()


@pytest.mark.parametrize(
    "written", [STEPS, ", ".join(STEPS), "; ".join(STEPS), " then ".join(STEPS)]
)
def test_rests_are_read_as_a_list_or_in_one_text(written):
    mash = read_mash(written)

    assert mash.temperature.value == 63.0
    assert mash.time.value == 60.0
    assert mash.rests == (Rest(63.0, 40.0), Rest(72.0, 20.0))


def test_only_rests_that_make_sugar_count_for_the_time():
    mash = read_mash(["52 °C for 15 min", *STEPS, "76 °C for 10 min"])

    assert mash.temperature.value == 63.0
    assert mash.time.value == 60.0
    assert len(mash.rests) == 4


@pytest.mark.parametrize(
    ("rest", "boiled"),
    [
        ("72 °C for 20 min by decoction", 15.0),
        ("decoction to 72 °C for 20 min", 15.0),
        ("decoction boiled 25 min to 72 °C for 20 min", 25.0),
        ("72 °C for 20 min", None),
    ],
)
def test_a_decoction_is_read_with_its_minutes_of_boil(rest, boiled):
    mash = read_mash(["63 °C for 40 min", rest])

    assert (mash.decoction.value if mash.decoction else None) == boiled
    assert mash.rests[1] == Rest(72.0, 20.0)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        (["63 °C for 40 min", "72 °C"], "“72 °C”: a rest has a temperature and a time"),
        (["40 °C for 10 min", "80 °C for 20 min"], "none of these rests makes sugar"),
        ("40 °C for 20 min", "40 °C is outside 55 °C to 80 °C"),
        ("66 °C for 2 min", "2 min is outside 5 min"),
        ("90 °C", "outside 55 °C to 80 °C"),
    ],
)
def test_a_mash_that_is_none_is_refused(written, told):
    with pytest.raises(ValueError, match=told):
        read_mash(written)
