"""The second reading of a lead is told beside the first, and as strength."""

import numpy as np
import xarray as xr

from brewsim.wording.lead import STRONGEST, lead_reading


def test_the_strongest_reading_is_told_with_its_ends_and_the_exponent():
    draws = xr.Dataset({STRONGEST: ("sample", np.linspace(-2.0, 2.0, 4001))})
    (told,) = lead_reading(draws)

    assert "0.29× to 3.5×" in told
    assert "0.2 to 0.8" in told


def test_nothing_is_told_where_the_reading_was_not_kept():
    assert lead_reading(xr.Dataset()) == []
