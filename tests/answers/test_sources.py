"""Where the spread of an outcome comes from: its parts by hand, and what a table can show."""

import pytest
import xarray as xr

from brewsim.answers.sources import SOURCES, spread_sources
from brewsim.study.sensitivity.variance_budget import Budget

NAMES = ("mass", "alpha", "kettle", "yeast", "dead")


def ranked(first, total=None, names=NAMES):
    total = first if total is None else total
    return xr.Dataset(
        {
            "first_order": (("outcome", "factor"), [first]),
            "total_order": (("outcome", "factor"), [total]),
            "label": ("factor", [f"the {name}" for name in names]),
            "turnable": ("factor", [name == "mass" for name in names]),
            "measurable": ("factor", [name in ("alpha", "kettle") for name in names]),
        },
        {"outcome": ["y"], "factor": list(names)},
    )


BUDGET = (
    Budget("alpha", "", 0.1, 0.2, 0.1),
    Budget("kettle", "", 0.3, 0.0, 0.1),
    Budget("yeast", "", 0.02, 0.03, 0.05),
)


def sources(first, measurable=None, budget=BUDGET, total=None, names=NAMES):
    return spread_sources(ranked(first, total, names), {"y": budget, "z": budget}, measurable)["y"]


def test_the_parts_are_shares_by_what_can_be_done_about_each_input():
    found = sources([0.1, 0.4, 0.2, 0.2, 0.0])

    assert [(r.factor, r.label, r.mark) for r in found.rows] == [
        ("alpha", "the alpha", "measure"),
        ("kettle", "the kettle", "measure"),
        ("yeast", "the yeast", "nobody"),
        ("mass", "the mass", "turn"),
    ]
    assert [row.share for row in found.rows] == pytest.approx([0.4, 0.2, 0.2, 0.1])
    parts = {"turn": 0.1, "measure": 0.3 + 0.15, "lot": 0.06, "brew": 0.1 + 0.05 + 0.1}
    assert found.parts == pytest.approx(parts | {"always": 0.04})
    assert tuple(found.parts) == SOURCES
    assert (found.others, found.others_share) == (0, pytest.approx(0))
    assert found.acting_together == pytest.approx(0.1)


def test_what_cannot_be_measured_here_is_nobodys():
    found = sources([0.1, 0.4, 0.2, 0.2, 0.0], measurable={"kettle": {}})

    assert {row.factor: row.mark for row in found.rows}["alpha"] == "nobody"
    assert found.parts["lot"] == pytest.approx(0.2 + 0.06)
    assert found.parts["always"] == pytest.approx(0.1 + 0.04)


@pytest.mark.parametrize("budget", [(), (Budget("alpha", "", 0.0, 0.0, 0.0),)])
def test_an_input_without_a_budget_is_whole(budget):
    found = sources([0.0, 0.5, 0.0, 0.3, 0.0], budget=budget)

    assert found.parts == pytest.approx(dict.fromkeys(SOURCES, 0) | {"measure": 0.5, "always": 0.3})


def test_a_negative_part_of_a_budget_counts_as_none_and_the_share_stays():
    found = sources([0, 0, 0, 0.4, 0], budget=(Budget("yeast", "", -0.1, 0.1, 0.2),))

    assert found.parts == pytest.approx(
        {"turn": 0, "measure": 0, "always": 0, "lot": 0.4 / 3, "brew": 0.8 / 3}
    )


def test_shares_beyond_the_whole_are_scaled_and_those_of_nothing_left_out():
    """Estimates scatter: below 0 they are none, and together they are at most all."""
    found = sources([0.9, 0.6, -0.1, float("nan"), 0.5], total=[0.9, 0.6, 0.1, 0.1, 0.0])

    assert [(r.factor, r.share) for r in found.rows] == [
        ("mass", pytest.approx(0.6)),
        ("alpha", pytest.approx(0.4)),
    ]
    assert found.others == 2
    assert found.acting_together == pytest.approx(0, abs=1e-12)


def test_six_inputs_of_a_hundredth_each_at_least_are_shown():
    names = tuple("abcdefgh")
    seven = [0.10, 0.09, 0.08, 0.07, 0.06, 0.05, 0.04, 0.03]
    few = [0.5, 0.010, 0.0099, 0, 0, 0, 0, 0]
    most, least = (sources(first, budget=(), names=names) for first in (seven, few))

    assert [row.factor for row in most.rows] == list("abcdef")
    assert (most.others, most.others_share) == (2, pytest.approx(0.07))
    assert [row.factor for row in least.rows] == ["a", "b"]
    assert (least.others, least.others_share) == (1, pytest.approx(0.0099))
