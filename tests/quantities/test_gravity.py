"""Readings in the unit that nobody judges are held against the one that somebody does."""

import numpy as np
import pytest

from brewsim.quantities.gravity import log_as_judged, twin_value

PLATO, SG = "original_extract_plato", "original_gravity_sg"
LOG = {
    PLATO: np.array([12.1, np.nan, 11.8, np.nan]),
    "bitterness_ibu": np.array([29.0, 27.0, np.nan, 30.0]),
    SG: np.array([np.nan, 1.0484, np.nan, np.nan]),
}


def test_there_and_back_is_the_same_reading():
    assert twin_value(SG, 1.0484) == pytest.approx(12.0, abs=0.02)
    assert twin_value(SG, twin_value(PLATO, 12.0)) == pytest.approx(12.0, abs=1e-9)


@pytest.mark.parametrize("aims", [{PLATO}, {SG}])
def test_every_reading_is_one_of_what_is_aimed_at(aims):
    found = log_as_judged(LOG, aims)

    (judged,) = aims
    assert set(found) == {judged, "bitterness_ibu"}
    assert np.isfinite(found[judged]).tolist() == [True, True, True, False]
    wanted = [12.1, 12.0, 11.8] if judged == PLATO else [1.0488, 1.0484, 1.0476]
    assert found[judged][:3] == pytest.approx(wanted, rel=2e-3)
    np.testing.assert_array_equal(found["bitterness_ibu"], LOG["bitterness_ibu"])


def test_without_an_aim_the_one_read_more_often_holds_both():
    assert set(log_as_judged(LOG, ())) == {PLATO, "bitterness_ibu"}


def test_where_both_are_aimed_at_both_have_every_reading():
    found = log_as_judged(LOG, {PLATO, SG})

    assert [int(np.isfinite(found[name]).sum()) for name in (PLATO, SG)] == [3, 3]


def test_a_batch_read_in_both_units_has_the_mean_of_them():
    log = {PLATO: np.array([12.2]), SG: np.array([twin_value(PLATO, 12.0)])}

    assert log_as_judged(log, {PLATO})[PLATO] == pytest.approx([12.1])
