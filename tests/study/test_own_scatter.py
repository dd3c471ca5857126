"""The nested run behind what one brewery's own batches scatter by."""

from dataclasses import replace

import numpy as np

from brewsim.study.own_scatter import own_scatter
from tests.report.small_beer import small_problem

Z90 = 1.6448536269514722


def test_linear_scatter_agrees_with_the_closed_form():
    """Y = X with shares .6 knowledge, .4 batch: own sd sigma sqrt(.4), middle sigma sqrt(.6)."""
    problem = replace(small_problem(), outcomes=("mash_efficiency_fraction",))

    found = own_scatter(problem, outer=512, inner=512)["mash_efficiency_fraction"]

    assert np.isclose(found.own, Z90 * 0.018 * np.sqrt(0.4), rtol=0.02)
    assert np.isclose(found.middle, Z90 * 0.018 * np.sqrt(0.6), rtol=0.02)


def test_outcomes_felt_in_folds_scatter_in_doublings():
    """Y = exp(.5 z), shares .3 knowledge, .7 lot, judged as log2 Y."""
    problem = replace(
        small_problem(),
        outcomes=("powder_content_nmol_g",),
        scales={"powder_content_nmol_g": "log2"},
    )

    found = own_scatter(problem, outer=512, inner=512)["powder_content_nmol_g"]

    assert np.isclose(found.own, Z90 * 0.5 * np.sqrt(0.7) / np.log(2), rtol=0.02)
    assert np.isclose(found.own_low, found.own_high)


def test_scatter_that_depends_on_what_is_not_known_is_given_with_its_range():
    found = own_scatter(small_problem(), ("bitterness_ibu",))["bitterness_ibu"]

    assert found.own_low < 0.85 * found.own < 0.85 * 0.85 * found.own_high
