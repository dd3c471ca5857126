"""What [given] states is read, by whichever name and in whichever table."""

import pytest

from brewsim.logbook.pose import pose


def test_outcomes_are_stated_by_the_names_people_use(written, median_of):
    given = '\n[given]\nOG = "1.080"\nfg = "1.015"\nbitterness = "30 IBU"\n'
    recipe = written(more=given)

    assert median_of(recipe, "original_gravity_sg") == pytest.approx(1.080, abs=1e-4)
    assert median_of(recipe, "final_gravity_sg") == pytest.approx(1.015, abs=1e-4)
    assert pose(recipe).graph.inputs["bitterness_ibu"]


@pytest.mark.parametrize("table", ["brewhouse", "water", "yeast", "package", "model"])
def test_what_is_given_in_any_table_is_read(written, table):
    change = {
        "yeast": (
            '"clean ale yeast"',
            '"clean ale yeast"\ngiven = { trub_fraction = "exactly 9 %" }',
        ),
        "package": ('"2.5 vol"', '"2.5 vol"\ngiven = { trub_fraction = "exactly 9 %" }'),
    }
    more = f'\n[{table}]\ngiven = {{ trub_fraction = "exactly 9 %" }}\n'
    recipe = written(change[table]) if table in change else written(more=more)

    assert pose(recipe).fixed["trub_fraction"][0] == pytest.approx(0.09)
