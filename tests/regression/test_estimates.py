"""Regression only: the demos give what they gave when the table was written last."""

import json

import pytest

from tests.regression.estimates import NAMES, TABLE, estimates

BEFORE = json.loads(TABLE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_a_demo_gives_what_it_gave_or_the_table_is_written_anew(name):
    """After a change that was meant: python -m tests.regression --write."""
    found = estimates(name)
    wanted = {
        outcome: {figure: pytest.approx(value, rel=1e-6) for figure, value in figures.items()}
        for outcome, figures in BEFORE[name].items()
    }

    assert found == wanted
