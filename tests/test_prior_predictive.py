"""No demo leaves what beer can be, and the table that shows it can be read."""

import numpy as np
import pytest

from brewsim.beer.pose import posed
from brewsim.quantities.catalogue import outcome_of
from brewsim.recipe.read import read_recipe
from tests.prior_predictive import DEMOS, LEVELS, counts, levels_of, soft_share, table_of, text_of

POSSIBLE = {
    "original_gravity_sg": (1.02, 1.12),
    "final_gravity_sg": (0.995, 1.04),
    "alcohol_by_volume_fraction": (0.02, 0.12),
    "bitterness_ibu": (1.0, 150.0),
    "beer_color_ebc": (2.0, 150.0),
    "carbonation_vol": (0.8, 4.0),
    "free_3sh_ng_l": (0.1, 20_000.0),
    "free_3sha_ng_l": (0.0, 5_000.0),
    "free_4msp_ng_l": (0.0, 1_000.0),
    "thiol_lead": (-10.0, 10.0),
    "thiol_to_bitterness": (-6.0, 10.0),
    "bitterness_to_gravity": (0.0, 4.0),
    "packaged_volume_l": (10.0, 60.0),
}
"""Ends no beer of these recipes can pass, set wide and by hand: common practice, no source."""


@pytest.fixture(scope="module", params=DEMOS, ids=lambda path: path.stem)
def demo(request):
    problem, rows = posed(read_recipe(request.param))
    return problem, rows, levels_of(problem, 4096)


def test_no_outcomes_99_percent_interval_leaves_what_beer_can_be(demo):
    _, _, levels = demo
    for quantity, (low, high) in POSSIBLE.items():
        values = levels[quantity]

        assert low <= values[0] <= values[-1] <= high, (quantity, values)


def test_levels_go_up_and_every_cell_is_a_number(demo):
    problem, _, levels = demo
    for quantity in problem.outcomes:
        assert (np.diff(levels[quantity]) >= 0).all()
        assert all(float(cell) is not None for cell in text_of(quantity, levels[quantity]))
        assert "nan" not in text_of(quantity, levels[quantity])


def test_the_page_can_say_how_much_rests_on_assumption(demo):
    problem, rows, _ = demo
    soft, spread = soft_share(rows)

    assert spread >= len(problem.factors) - 5
    assert 0 < soft < 0.7 * spread


def test_the_table_has_a_line_for_every_outcome_and_the_counts_add_up():
    lines = list(table_of(DEMOS[0]))
    problem, _ = posed(read_recipe(DEMOS[0]))
    told = list(counts())
    number = int(told[0].split("priors ")[1].rstrip(":"))
    grades = [int(line.split()[-2]) for line in told[1:-1]]

    assert len(lines[1].split("%")) == len(LEVELS) + 1
    for quantity in problem.outcomes:
        assert any(line.startswith(outcome_of(quantity).label[:33]) for line in lines)
    assert sum(grades) == number
