"""What studies return shows itself in a notebook as a table, with every text escaped."""

import re

import pytest

import brewsim
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.html_table import html_table
from tests.small_beer import small_problem

PROBLEM = small_problem()


@pytest.fixture(scope="module")
def learned():
    batch = Batch("B1", PROBLEM, (Reading("bitterness_ibu", 36.0, 1.0),))
    return brewsim.learn(PROBLEM, [batch], time_limit_s=2)


def cells(found):
    """Return the rows of a shown table as texts."""
    rows = re.findall(r"<tr>(.*?)</tr>", found._repr_html_())
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in rows]


def test_steering_shows_the_chance_today_alone_and_together():
    found = brewsim.steer(PROBLEM)
    header, *rows = cells(found)

    assert header == ["knobs", "settings, model units", "chance"]
    assert rows[0] == ["as it stands", "", f"{found.now.chance:.3f}"]
    assert [row[0] for row in rows[1:-1]] == [one.label for one in found.singles]
    assert rows[-1][2] == f"{found.best.chance:.3f}"


def test_an_attribution_shows_its_largest_shares_first(learned):
    (found,) = brewsim.explain(learned, "B1")
    _, *rows = cells(found)
    sizes = [abs(float(row[2])) for row in rows]

    assert rows
    assert sizes == sorted(sizes, reverse=True)


def test_what_measuring_is_worth_has_a_column_for_each_outcome():
    found = brewsim.worth_of_measuring(PROBLEM, draws=1024)
    header, *rows = cells(found)

    assert len(header) == len(found.width) + 2
    assert len(rows) == min(12, len(found.found))


@pytest.mark.slow
def test_a_budget_shows_every_input_the_largest_contribution_first():
    found = brewsim.gum_budget(PROBLEM)[0]
    _, *rows = cells(found)
    sizes = [float(row[2]) for row in rows]

    assert len(rows) == len(found.rows)
    assert sizes == sorted(sizes, reverse=True)


def test_markup_in_a_label_is_shown_as_it_is():
    assert "<td>&lt;b&gt;</td>" in html_table("x", ("a", "b"), [("c", "<b>")])
