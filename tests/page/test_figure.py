"""The page's charts as figures for a notebook."""

import json
from dataclasses import replace

import plotly.graph_objects as go
import pytest

import brewsim
from brewsim.errors import StudyError
from brewsim.study.model.batch import Batch, Reading
from brewsim.wording.page_parts import MoveRow, SourceBar, SourceRow, TastedBeer
from brewsim.wording.parts import Table
from tests.small_beer import small_problem

PROBLEM = small_problem()


@pytest.fixture(scope="module")
def draws():
    return brewsim.simulate(PROBLEM, draws=1024)


@pytest.fixture(scope="module")
def ranked():
    return brewsim.rank(PROBLEM, base=256)


def test_fifty_batches_are_drawn_of_the_outcome_that_was_asked_for(draws):
    shown = brewsim.figure(draws, outcome="bitterness_ibu")

    marks = [trace for trace in shown.data if trace.text is not None]
    assert isinstance(shown, go.Figure)
    assert sum(len(trace.x) for trace in marks) == 50
    assert {trace.name for trace in marks} == {"in target", "misses"}


def test_drivers_are_those_of_the_ranking(ranked):
    shown = brewsim.figure(ranked, "drivers", outcome="bitterness_ibu")
    row = ranked.sel(outcome="bitterness_ibu")

    longest = max(x for trace in shown.data if trace.name == "alone" for x in trace.x)
    assert longest == pytest.approx(float(row["first_order"].max()), abs=1e-9)


def test_the_shares_by_kind_are_drawn_for_every_outcome():
    by_kind = brewsim.rank(PROBLEM, by="kind", base=256)

    shown = brewsim.figure(by_kind, "kinds")

    assert len(shown.data[0].x) == len(PROBLEM.outcomes)


def test_a_knob_s_curve_has_a_point_for_each_setting():
    turned = brewsim.turn(PROBLEM, "hop mass", draws=256)

    shown = brewsim.figure(turned, "knob", outcome="bitterness_ibu")

    (middle,) = [trace for trace in shown.data if trace.name == "median"]
    expected = turned.sel(outcome="bitterness_ibu")["middle"].to_numpy().tolist()
    assert list(middle.y) == pytest.approx(expected)


@pytest.fixture(scope="module")
def learned():
    """Two batches of the small beer, read for bitterness."""
    readings = [Reading("bitterness_ibu", value, 1.0) for value in (31.0, 36.0)]
    batches = [Batch(f"B{i + 1}", PROBLEM, (read,)) for i, read in enumerate(readings)]
    return brewsim.learn(PROBLEM, batches, time_limit_s=2)


def test_readings_are_drawn_beside_the_band_of_their_house(learned):
    shown = brewsim.figure(learned, "batches", outcome="bitterness_ibu")

    read = [trace for trace in shown.data if trace.mode == "markers"]
    band = [trace for trace in shown.data if trace.name == "this house"]
    assert [trace.x[0] for trace in read] == pytest.approx([31.0, 36.0])
    assert len(band) == 2
    assert all(one.x[0] < one.x[1] for one in band)


def test_the_sources_of_a_target_are_those_of_the_page(made):
    """A stack of parts that fill the bar, then each named input at its share."""
    bar = SourceBar(
        "bitterness_ibu", "Bitterness", (("turn", "you turn it", 0.25), ("lot", "lot", 0.75)),
        (SourceRow("Alpha acids", 0.7, "measure"),), (), "Bitterness: you turn it 25 %.",
    )  # fmt: skip
    shown = brewsim.figure(replace(made.content, sources_of=(bar,)), "sources")

    widths = [trace.x[0] for trace in shown.data]
    assert widths == pytest.approx([0.25, 0.75, 0.7])
    assert shown.data[2].text[0] == "Alpha acids: 70 %, you can measure it"


def test_every_move_from_a_tasted_batch_is_a_row(made):
    rows = (MoveRow("As it was", 0.5, 1.0, 2.0, "8 of 50"), MoveRow("Dose", 0.2, 0.5, 1.1, "9"))
    tasted = TastedBeer(
        "G1", "Thiol activity", "times G1", True, (-2.0, -0.5), rows, (), Table("", (), ()),
        rows=rows,
    )  # fmt: skip
    shown = brewsim.figure(replace(made.content, tasted=tasted), "moves")

    middles = [trace.x[0] for trace in shown.data if trace.mode == "markers"]
    assert middles == pytest.approx([0.0, -1.0])


def test_a_page_without_a_log_or_a_tasted_batch_has_no_such_charts(made, draws):
    with pytest.raises(StudyError, match="a page with a log"):
        brewsim.figure(replace(made.content, house=None), "batches")
    with pytest.raises(StudyError, match="a tasted log"):
        brewsim.figure(replace(made.content, tasted=None), "moves")
    with pytest.raises(StudyError, match="the page that report returns"):
        brewsim.figure(draws, "sources")
    with pytest.raises(StudyError, match="Dataset of a study"):
        brewsim.figure(made.content, "dots")


def test_a_notebook_knows_no_variables_of_the_page(draws, ranked):
    for shown in (brewsim.figure(draws), brewsim.figure(ranked, "drivers")):
        assert "var(" not in json.dumps(shown.to_plotly_json(), default=str)


def test_another_study_s_dataset_and_an_unknown_outcome_are_refused(draws, ranked):
    with pytest.raises(StudyError, match="what rank returns"):
        brewsim.figure(draws, "drivers")
    with pytest.raises(StudyError, match="what simulate returns"):
        brewsim.figure(ranked, "dots")
    with pytest.raises(StudyError, match="no outcome ibu here"):
        brewsim.figure(draws, outcome="ibu")
    with pytest.raises(StudyError, match="no figure 'pie'"):
        brewsim.figure(draws, "pie")
