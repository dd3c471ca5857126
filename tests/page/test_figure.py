"""The page's charts as figures for a notebook."""

import json

import plotly.graph_objects as go
import pytest

import brewsim
from brewsim.errors import StudyError
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

    (middle,) = [trace for trace in shown.data if trace.name == "middle"]
    expected = turned.sel(outcome="bitterness_ibu")["middle"].to_numpy().tolist()
    assert list(middle.y) == pytest.approx(expected)


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
