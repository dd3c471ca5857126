"""Draws without a value on the page: told, never printed as a number."""

import numpy as np
import xarray as xr

from brewsim.wording.page_content import formula_spread


def test_a_formula_without_a_value_in_some_draws_says_so():
    """Draw after draw 10 to 19, of which every fifth has no value."""
    values = np.where(np.arange(1000) % 5 == 0, np.nan, 14.0)
    drawn = xr.Dataset(
        {"garetz_ibu": ("draw", values), "bitterness_ibu": ("draw", 20 + 0 * values)}
    )
    none = drawn.assign(garetz_ibu=("draw", np.full(1000, np.nan)))
    drawn["bitterness_ibu"] = ("draw", np.full(1000, 20.0))

    (told,) = formula_spread(drawn)
    (nothing,) = formula_spread(none.assign(bitterness_ibu=drawn["bitterness_ibu"]))

    assert "14 (no value in 20 % of the draws) IBU, against 20 here" in told
    assert "Garetz's no IBU" in nothing
