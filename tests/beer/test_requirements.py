"""Wants, measured values, instruments and logs as a brewer writes them."""

from dataclasses import replace

import numpy as np
import pytest

import brewsim
from brewsim.beer.requirements import measured_as_judged, read_measured, read_want
from brewsim.errors import InputError
from brewsim.logbook.columns import read_columns
from brewsim.logbook.pose import pose
from brewsim.priors.instruments import instruments_for
from brewsim.priors.library import load_priors
from brewsim.quantities.gravity import plato_of_wort
from tests.door import DEMOS


@pytest.fixture(scope="module")
def problem():
    return pose(brewsim.read_recipe(DEMOS / "quillhaven-bitter.toml"))


@pytest.mark.parametrize(
    ("text", "middle", "low", "high"),
    [
        ("alcohol ± 0.2 %", 0.042, 0.040, 0.044),
        ("alcohol +/- 0.2", 0.042, 0.040, 0.044),
        ("alcohol 4.2 ± 0.3 %", 0.05, 0.039, 0.045),
        ("bitterness ± 10 %", 30.0, 27.0, 33.0),
        ("bitterness ± 3 IBU", 30.0, 27.0, 33.0),
        ("original gravity ± 2 points", 1.043, 1.041, 1.045),
        ("original_gravity ± 0.002", 1.043, 1.041, 1.045),
        ("original gravity ± 2 %", 1.05, 1.029, 1.071),
        ("thiol activity within a factor 2", 3.0, 1.5, 6.0),
        ("color at most 20 EBC", 15.0, None, 20.0),
        ("mash_temperature ± 2 °F", 66.0, 66 - 10 / 9, 66 + 10 / 9),
        ("mash temperature ± 1 °C", 66.0, 65.0, 67.0),
        ("mash temperature ± 1", 66.0, 65.0, 67.0),
    ],
)
def test_wants_become_limits(text, middle, low, high, problem):
    found = read_want(text, problem).limits(middle)

    assert (found.lower, found.upper) == (
        None if low is None else pytest.approx(low),
        pytest.approx(high),
    )


@pytest.mark.parametrize("text", ["haze ± 1", "bitterness ± lots", "bitterness 30 IBU", ""])
def test_a_want_that_says_nothing_is_refused(text, problem):
    with pytest.raises(InputError, match="--want"):
        read_want(text, problem)


def test_the_most_certain_instrument_comes_first_with_bias_and_noise_together(problem):
    """Bench meter: 0.05 and 0.015 % by volume in squares."""
    priors = load_priors()
    found = instruments_for(priors, "alcohol_by_volume_fraction")
    measured = read_measured("alcohol 4.4 %", problem, priors)

    assert [i.name for i in found] == ["bench alcohol meter", "near-infrared alcohol meter"]
    assert found[0].uncertainty == pytest.approx(np.hypot(0.0005, 0.00015))
    assert (measured.value, measured.instrument) == (pytest.approx(0.044), found[0])
    colour = instruments_for(priors, "beer_color_ebc")[0]
    assert colour.at(10.0) == pytest.approx(10 * np.hypot(0.1, 0.025))


def test_a_log_takes_units_from_headings_cells_or_what_is_shown(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "alcohol;original gravity;bitterness (IBU);smell\n4,2;1.042;28;good\n4.4 %;;30;\n",
        encoding="utf-8",
    )

    found = read_columns(path)

    assert found.values["alcohol_by_volume_fraction"] == pytest.approx([0.042, 0.044])
    assert found.values["original_gravity_sg"] == pytest.approx([1.042, np.nan], nan_ok=True)
    assert found.values["bitterness_ibu"] == pytest.approx([28, 30])
    assert found.remarks == ("Columns that are no quantity, left out of the log: smell.",)


def test_a_gravity_logged_in_plato_is_held_against_the_extract(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("batch;OG (°P);FG\n1;11,2;1,9 °P\n2;11,4;1.008\n", encoding="utf-8")

    found = read_columns(path).values

    assert found["original_extract_plato"] == pytest.approx([11.2, 11.4])
    assert found["final_extract_plato"] == pytest.approx([1.9, np.nan], nan_ok=True)
    assert found["final_gravity_sg"] == pytest.approx([np.nan, 1.008], nan_ok=True)


@pytest.mark.parametrize(
    ("head", "cell", "told"),
    [
        ("OG", "11.2", "“11.2” is impossible: original gravity lies between 0.980"),
        ("OG", "11.2", "another unit goes into the heading"),
        ("bitterness (IBU)", "3000", "is impossible"),
        ("FG (°Bx)", "6", "alcohol bends light"),
    ],
)
def test_a_logged_number_that_cannot_be_is_refused(tmp_path, head, cell, told):
    path = tmp_path / "log.csv"
    path.write_text(f"{head}\n{cell}\n", encoding="utf-8")

    with pytest.raises(InputError, match=told):
        read_columns(path)


def test_a_refractometer_s_reading_of_wort_is_corrected(tmp_path):
    """12 °Bx shown is 12 / 1.04 °P of wort, as the batch log reads it."""
    path = tmp_path / "log.csv"
    path.write_text("original extract (°Bx)\n12\n", encoding="utf-8")

    (value,) = read_columns(path).values["original_extract_plato"]

    assert value == pytest.approx(plato_of_wort(12.0))
    assert value < 11.8


def test_a_batch_log_is_read_and_says_which_batches_were_brewed_otherwise():
    recipe = DEMOS / "quillhaven-lager.toml"

    found = read_columns(DEMOS / "quillhaven-lager-six-batches.toml", recipe, load_priors())

    assert found.batches == 6
    assert np.isfinite(found.values["bitterness_ibu"]).sum() == 6
    assert any(remark.startswith("Brewed otherwise than the recipe") for remark in found.remarks)


def test_an_empty_log_is_refused(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("alcohol (%)\n", encoding="utf-8")

    with pytest.raises(InputError, match="no line of values"):
        read_columns(path)


def test_a_measured_extract_in_brix_is_a_refractometers_of_wort(problem):
    priors = load_priors()
    found = read_measured("original_extract 12 °Bx", problem, priors)

    assert found.value == pytest.approx(plato_of_wort(12.0))
    assert found.instrument.name == "refractometer before fermentation"
    for text in ("original_extract 12 °Bx by refractometer", "OG 12 °Bx"):
        assert read_measured(text, problem, priors) == replace(found, text=text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("FG 5.6 °Bx", "alcohol bends light; write the gravity or °P instead"),
        ("final_extract 5.6 °Bx by refractometer", "alcohol bends light"),
        ("OG 10.5 °P by nose", "no instrument 'nose' reads original_extract_plato"),
        ("alcohol 440 %", "is impossible"),
    ],
)
def test_a_measured_value_that_says_something_else_is_refused(text, told, problem):
    with pytest.raises(InputError, match=told):
        read_measured(text, problem, load_priors())


def test_counted_tasters_are_left_out_of_a_log_with_a_remark(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("alcohol (%);tasters;smell\n4.4 ± 0.3;7 of 10;good\n", encoding="utf-8")

    found = read_columns(path)

    assert list(found.values) == ["alcohol_by_volume_fraction"]
    assert found.values["alcohol_by_volume_fraction"] == pytest.approx([0.044])
    assert found.remarks == (
        "Columns that are no quantity, left out of the log: smell.",
        "Counted and not measured, so left out of the log: tasters.",
    )


def test_a_gravity_wanted_in_plato_is_wanted_of_the_extract(problem):
    """As a target of a recipe is: [targets] final_gravity = "at most 2.6 °P"."""
    outright = read_want("final gravity at most 2.6 °P", problem)
    around = read_want("OG ± 0.3 °P", problem)

    assert outright.quantity == "final_extract_plato"
    assert outright.limits(2.0).ends == (-np.inf, 2.6)
    assert around.quantity == "original_extract_plato"
    assert around.limits(11.0).ends == pytest.approx((10.7, 11.3))
    assert read_want("final extract at most 1.010", problem).quantity == "final_gravity_sg"
    assert read_want("real extract at most 4 °P", problem).quantity == "real_extract_plato"


def test_a_measured_gravity_in_plato_is_one_of_the_extract(problem):
    found = read_measured("OG 12.1 °P by bench density meter", problem, load_priors())

    assert (found.quantity, found.value) == ("original_extract_plato", 12.1)
    assert found.instrument.name == "bench density meter"


def test_an_instrument_that_reads_only_the_twin_is_taken_for_that(problem):
    """12.1 °P is 1.0488; a hydrometer reads gravity, a density meter extract."""
    priors = load_priors()
    floated = read_measured("OG 12.1 °P by checked hydrometer", problem, priors)
    metered = read_measured("OG 1.0488 by bench density meter", problem, priors)

    assert floated.quantity == "original_gravity_sg"
    assert floated.value == pytest.approx(1.0488, abs=1e-4)
    assert metered.quantity == "original_extract_plato"
    assert metered.value == pytest.approx(12.1, abs=0.02)


def test_without_an_instrument_the_one_most_certain_at_that_value_is_taken(problem):
    """A refractometer errs by a share of what it shows: of 12 °P that is more than 0.06 °P."""
    found = read_measured("OG 12.1 °P", problem, load_priors())

    assert found.instrument.name == "bench density meter"


def test_a_reading_is_judged_as_its_twin_where_only_that_has_a_target(problem):
    """One point of gravity is 0.24 °P near 12 °P (slope of the sucrose table)."""
    found = read_measured("OG 1.0488 by checked hydrometer", problem, load_priors())

    judged = measured_as_judged(found, {"original_extract_plato"})

    assert judged.quantity == judged.instrument.quantity == "original_extract_plato"
    assert judged.value == pytest.approx(12.1, abs=0.02)
    ratio = judged.instrument.at(judged.value) / found.instrument.at(found.value)
    assert ratio == pytest.approx(240, rel=0.02)
    assert measured_as_judged(found, {"original_extract_plato", "original_gravity_sg"}) == found
    assert measured_as_judged(found, set()) == found
