"""Instruments of a log: one name whatever the case, what is taken if nobody says, calibrations."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from brewsim.quantities.gravity import gravity_of_beer, plato_of_wort
from tests.texts import beer

RECIPE = beer()
BATCH = '[[batch]]\nid = "A"\ndate = 2024-09-14\n[batch.readings]\n'
FLOATY = '[instrument."Old Floaty"]\nkind = "consumer hydrometer"\n'


def calibration(instrument, read, known, *more):
    lines = (f'instrument = "{instrument}"', f'read = "{read}"', f'known = "{known}"', *more)
    return "[[calibration]]\n" + "\n".join(lines) + "\n"


def log_of(*readings, head=""):
    return parse_batches(head + BATCH + "\n".join(readings) + "\n", RECIPE, "log.toml")


def readings_of(*readings, head=""):
    return log_of(*readings, head=head).batches[0].readings


def fault_of(*readings, head=""):
    with pytest.raises(InputError) as caught:
        log_of(*readings, head=head)
    (fault,) = caught.value.faults
    return fault


def test_brix_is_what_a_refractometer_shows_named_or_not():
    named = readings_of('OG = "11.2 °Bx by refractometer"', 'FG = "5.6 °Bx by refractometer"')
    plain = readings_of('FG = "5.6 °Bx"', 'OG = "11.2 °Bx"')

    assert plain == named
    assert plain[0].value == pytest.approx(11.2 / 1.04)
    assert plain[1].value == pytest.approx(gravity_of_beer(11.2, 5.6))
    assert plain[1].instrument == "refractometer after fermentation"


@pytest.mark.parametrize("by", ["", " by refractometer"])
def test_brix_keeps_the_spread_it_was_written_with(by):
    """Of wort as a share of it, of beer through the slope of the cubic."""
    wort, beer_ = readings_of(f'OG = "11.2 ± 0.3 °Bx{by}"', f'FG = "5.6 ± 0.2 °Bx{by}"')
    ends = [gravity_of_beer(11.2, bx) for bx in (5.4, 5.8)]

    assert wort.noise == pytest.approx(0.3 / 11.2 / 1.6449, rel=1e-3)
    assert beer_.noise == pytest.approx((ends[1] - ends[0]) / 2 / 1.6449, rel=1e-3)
    assert min(wort.bias, beer_.bias) > 0


def test_brix_of_what_no_refractometer_reads_is_refused():
    assert "°Bx is what a refractometer shows" in fault_of('real_extract = "4 °Bx"')


def test_an_own_refractometer_reads_wort_and_beer():
    head = '[instrument."My glass"]\nkind = "refractometer"\n'
    head += calibration("my glass", "10.4 °Bx", "10 °P")

    wort, beer_, check = readings_of('OG = "11.2 °Bx"', 'FG = "5.6 °Bx by my glass"', head=head)

    assert (wort.instrument, beer_.instrument) == ("My glass", "My glass, final_gravity_sg")
    assert (check.instrument, check.quantity) == ("My glass", "original_extract_plato")


def test_a_name_is_one_instrument_whatever_its_case():
    head = FLOATY + calibration("OLD FLOATY", "1.002", "1.000")

    found = readings_of('OG = "1.044 by old floaty"', 'FG = "1.010 by Old floaty"', head=head)

    assert {r.instrument for r in found} == {"Old Floaty"}
    (lab,) = readings_of('bitterness = "30 IBU by Lab Bitterness"')
    assert lab.instrument == "lab bitterness"


def test_a_name_in_another_case_cannot_be_of_another_kind():
    head = FLOATY + '[instrument."old floaty"]\nkind = "checked hydrometer"\n'

    assert "is the same as Old Floaty" in fault_of('OG = "1.044"', head=head)


def test_what_was_taken_is_told_with_its_own_name():
    log = log_of('OG = "1.044"', 'bitterness = "30 IBU"', 'color = "20 EBC"', head=FLOATY)

    assert log.remarks == (
        "OG: taken as read by Old Floaty (consumer hydrometer)",
        "bitterness: taken as read by a lab bitterness",
        "color: taken as read by a lab colour",
    )
    assert log.taken["A", "OG", "1.044"] == "Old Floaty"


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("hydrometer", "Did you mean consumer hydrometer or checked hydrometer"),
        ("hydrometr", "Did you mean consumer hydrometer or checked hydrometer"),
        ("consumer hydrometr", "Did you mean consumer hydrometer?"),
    ],
)
def test_an_unknown_kind_is_refused_with_its_line_and_near_misses(kind, told):
    fault = fault_of('OG = "1.044"', head=f'[instrument.x]\nkind = "{kind}"\n')

    assert fault.startswith(f"line 2, instrument x: “{kind}” is no kind of instrument.")
    assert told in fault


def test_an_unknown_instrument_is_refused_with_those_that_have_its_name_in_them():
    assert "Did you mean consumer hydrometer or" in fault_of('OG = "1.044 by hydrometer"')


def test_a_calibration_in_brix_gets_the_wort_factor_as_readings_do():
    head = calibration("refractometer", "12.48 °Bx", "12.0 °P")
    head += calibration("refractometer", "12.1 °Bx", "12 °Bx")

    _, exact, high = readings_of('OG = "11.2 °Bx"', head=head)

    assert (exact.value, exact.known) == (pytest.approx(12.0), pytest.approx(12.0))
    assert high.value / high.known == pytest.approx(12.1 / 12)
    assert high.value == pytest.approx(plato_of_wort(12.1))


@pytest.mark.parametrize("pair", [("0.2 °Bx", "0 °Bx"), ("0 °Bx", "0.2 °Bx")])
def test_an_instrument_that_errs_by_a_share_is_not_calibrated_at_nothing(pair):
    fault = fault_of('OG = "1.044"', head=calibration("refractometer", *pair))

    assert fault.startswith("line 3, calibration of refractometer")
    assert "is not above 0" in fault


def test_a_calibration_that_cannot_be_is_refused():
    fault = fault_of('OG = "1.044"', head=calibration("thermometer", "-500 °C", "0 °C"))

    assert "“-500 °C” is impossible" in fault


def test_a_calibration_says_of_what_where_each_has_an_error_of_its_own():
    head = '[instrument."my bucket"]\nkind = "volume mark"\n'
    plain = head + calibration("my bucket", "23 L", "21 L")
    told = head + calibration("my bucket", "23 L", "21 L", 'quantity = "fermenter_volume"')

    *_, check = readings_of('OG = "1.044"', head=told)
    log = log_of('OG = "1.044"', head=plain)

    assert check.instrument == "my bucket, fermenter_volume_l"
    assert log.batches[0].readings[-1].instrument == "my bucket, preboil_volume_l"
    assert 'so write quantity = "preboil_volume_l"' in log.remarks[-1]


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (calibration("thermometer", "66 °C", "65 °C", 'by = "me"'), "calibration: by is no key"),
        (FLOATY + 'knd = "x"\n', "instrument Old Floaty: knd is no key of it. Did you mean kind?"),
        ('[[recipe]]\nkey = "x"\ntext = ""\ntxt = ""\n', "recipe: txt is no key of it."),
        (
            '[[recipe]]\nkey = "x"\ntext = "a"\n[[recipe]]\nkey = "x"\ntext = "b"\n',
            "key “x” is there twice",
        ),
    ],
)
def test_other_keys_of_a_table_are_refused(head, told):
    assert told in fault_of('OG = "1.044"', head=head)
