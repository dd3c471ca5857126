"""The batch log: what is read, what is refused, what a batch did otherwise."""

import datetime as dt
import time

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from brewsim.logbook.log import read_log
from brewsim.quantities.gravity import gravity_of_beer
from tests.answers.pale_day import PALE
from tests.logbook.logs import LAGER, TODAY, faults_of, log_of, only


def test_a_reading_takes_bias_and_noise_from_its_instrument():
    reading = only(log_of(['bitterness = "22 IBU by lab bitterness"']))

    assert (reading.quantity, reading.value, reading.noise) == ("bitterness_ibu", 22, 0.86)
    assert (reading.bias, reading.instrument) == (1.8, "lab bitterness")


def test_a_reading_without_instrument_says_which_was_assumed():
    log = log_of(['original_gravity = "1.047"'])

    assert only(log).instrument == "consumer hydrometer"
    assert log.remarks == ("original_gravity: taken as read by a consumer hydrometer",)


def test_a_spread_of_ones_own_is_nine_in_ten():
    reading = only(log_of(['energy_kcal_l = "450 ± 10 kcal/L"']))

    assert reading.noise == pytest.approx(10 / 1.6449, rel=1e-4)


def test_gravity_by_a_density_meter_is_its_extract():
    reading = only(log_of(['original_gravity = "1.048 by bench density meter"']))

    assert reading.quantity == "original_extract_plato"
    assert reading.value == pytest.approx(11.9, abs=0.05)


def test_a_calibration_tells_about_the_instrument_only():
    head = '[instrument.mine]\nkind = "consumer hydrometer"\n[[calibration]]\n'
    head += 'instrument = "mine"\nread = "1.002"\nknown = "1.000"\n'

    found = log_of(['final_gravity = "1.010 by mine"'], head=head).batches[0].readings

    assert [(r.value, r.known, r.instrument) for r in found] == [
        (1.01, None, "mine"),
        (1.002, 1.0, "mine"),
    ]


def test_tasters_are_counted():
    reading = only(log_of(['tasters = "7 of 10"']))

    assert (reading.quantity, reading.value, reading.trials) == ("detecting_taster_share", 7, 10)


@pytest.mark.parametrize(("before", "after"), [(13.0, 6.6), (11.4, 5.2), (15.5, 8.0), (10.0, 5.0)])
def test_the_refractometer_cubic_stands_near_its_straight_form(before, after):
    """S. Terrill (2011) gives a cubic and a straight line, 1 - .00085683 a + .0034941 b."""
    a, b = before / 1.04, after / 1.04
    straight = 1.0 - 0.00085683 * a + 0.0034941 * b

    assert gravity_of_beer(before, after) == pytest.approx(straight, abs=0.0025)


def test_the_refractometer_cubic_rises_with_what_is_left_to_ferment():
    assert gravity_of_beer(12, 5) < gravity_of_beer(12, 6) < gravity_of_beer(12, 9)


def test_a_refractometer_reading_of_beer_needs_the_one_before():
    pair = [
        'original_extract = "12.6 °Bx by refractometer"',
        'final_gravity = "6.2 °Bx by refractometer"',
    ]

    found = {r.quantity: r.value for r in log_of(pair).batches[0].readings}

    assert found["original_extract_plato"] == pytest.approx(12.6 / 1.04)
    assert found["final_gravity_sg"] == pytest.approx(gravity_of_beer(12.6, 6.2), abs=1e-6)
    assert "before fermentation" in faults_of(pair[1:])[0]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('alcohol = "4.2"', "no unit"),
        ('original_gravity = "1.9 by consumer hydrometer"', "1.9"),
        ('bitterness = "-3 IBU"', "impossible"),
        ('bitternes = "22 IBU"', "bitterness"),
        ('bitterness = "22 IBU by lab biterness"', "Did you mean lab bitterness"),
        ('bitterness = "22 IBU by volume mark"', "does not read"),
        ('bitterness = ["22 IBU", "22 IBU"]', "twice"),
        ('tasters = "9 of 7"', "cannot be"),
        ('tasters = "60 %"', "7 of 10"),
        ('thiol_lead = "7 of 9"', "go under tasters"),
        ('energy_kcal_l = "450 kcal/L"', "±"),
        ('bitterness = "20 to 30 IBU or so"', "bitterness"),
    ],
)
def test_a_wrong_reading_is_refused_with_its_line(line, told):
    (fault,) = faults_of([line])

    assert fault.startswith("line 7")
    assert told in fault


def test_all_faults_come_at_once_in_the_order_of_lines():
    text = """
[[batch]]
id = "A"
date = 2027-01-01
[batch.readings]
alcohol = "4.2"
[[batch]]
id = "A"
date = 2026-01-01
[[batch]]
id = "B"
date = "last week"
changed = { "hop 9 mass" = "3 g" }
"""
    with pytest.raises(InputError) as caught:
        parse_batches(text, LAGER, "log.toml", today=TODAY)

    told = "\n".join(caught.value.faults)
    assert len(caught.value.faults) == 5
    for word in ("future", "no unit", "twice", "year-month-day", "no hop 9"):
        assert word in told


def test_beer_denser_than_its_wort_is_refused():
    (fault,) = faults_of(
        [
            'original_gravity = "1.040 by consumer hydrometer"',
            'final_gravity = "1.045 by consumer hydrometer"',
        ]
    )

    assert "denser" in fault


def test_what_was_changed_is_put_into_the_recipe_of_that_batch_only():
    more = 'changed = { "hop 1 mass" = "38 g", "mash" = "68 °C", "hop 1 lot" = "H25" }'
    text = f"""
[[batch]]
id = "A"
date = 2026-03-01
{more}
[[batch]]
id = "B"
date = 2026-03-02
[batch.readings]
bitterness = "22 IBU"
"""
    one, other = (b.problem for b in parse_batches(text, LAGER, "x.toml", today=TODAY).batches)

    assert max(one.fixed["hop_mass_g"].ravel()) == 38
    assert max(other.fixed["hop_mass_g"].ravel()) == 40
    assert float(one.fixed["mash_set_temperature_c"][0]) == 68
    assert {f.lot for f in one.factors if f.lot} >= {"Hersbrucker Spät H25"}


@pytest.mark.parametrize("zone", ["UTC-14", "UTC+12"])
def test_today_is_the_day_on_the_brewers_wall(zone, monkeypatch):
    """East of Greenwich it is tomorrow already by Greenwich, west of it still yesterday."""
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        wall = dt.datetime.now().astimezone().date()
        day, later = wall.isoformat(), (wall + dt.timedelta(days=1)).isoformat()
        text = '[[batch]]\nid = "B1"\ndate = {}\n[batch.readings]\nOG = "1.045"\n'

        assert read_log(text.format(day), PALE).faults == ()
        (told,) = read_log(text.format(later), PALE).faults
        assert "lies in the future" in told[1]
    finally:
        monkeypatch.undo()
        time.tzset()
