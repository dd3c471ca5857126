"""Readings that cannot be held against the model, and those that cannot both be."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from tests.texts import beer, hop

BATCH = '[[batch]]\nid = "A"\ndate = 2024-09-14\n[batch.readings]\n'
EXTRACT = '[[sugar]]\nname = "Liquid malt extract"\nmass = "3.2 kg"\n'


def faults_of(*readings, recipe=None):
    with pytest.raises(InputError) as caught:
        parse_batches(BATCH + "\n".join(readings) + "\n", recipe or beer(hop()), "log.toml")
    return caught.value.faults


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        ('malt_added = "4 kg"', '"malt 1 mass" = "4.1 kg"'),
        ('hop_added = "21 g"', '"hop 1 mass" = "31 g"'),
        ('dry_hop_added = "50 g"', '"hop 1 mass" = "31 g"'),
        ('hop_lot_stated_alpha = "7 %"', '"hop 1 alpha" = "7.2 %"'),
        ('malt_added_kg = "4 ± 0.1 kg"', "one number for each malt"),
    ],
)
def test_one_number_for_a_list_goes_into_what_was_changed(reading, told):
    (fault,) = faults_of(reading)

    assert fault.startswith("line 5, batch A")
    assert "[batch.changed]" in fault
    assert told in fault


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("OG = '1.040'", "FG = '11.5 °P by bench density meter'"),
        ("OG = '10 °P by bench density meter'", "FG = '1.045'"),
        ("OG = '10 °P by pocket density meter'", "FG = '11 °P by bench density meter'"),
        ("OG = ['1.040', '1.041 ± 0.001']", "FG = '1.0415'"),
    ],
)
def test_beer_denser_than_its_wort_is_refused_in_any_unit_by_any_instrument(first, last):
    (fault,) = faults_of(first, last)

    assert "cannot be denser than its wort" in fault


def test_two_readings_of_a_wort_need_not_agree_to_the_last_digit():
    text = f"{BATCH}OG = ['1.040', '10.6 °P by bench density meter']\nFG = '1.0405'\n"

    assert len(parse_batches(text, beer(), "log.toml").batches[0].readings) == 3


@pytest.mark.parametrize("reading", ['preboil_gravity = "1.030"', 'preboil_extract = "8 °P"'])
def test_wort_before_its_extracts_is_no_reading_without_malt(reading):
    (fault,) = faults_of(reading, recipe=beer(EXTRACT, malt=""))

    assert "this recipe has no malt" in fault
    assert "original gravity" in fault
