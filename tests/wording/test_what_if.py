"""The panel that moves a knob on the page: today's figures stay, moved ones follow the study."""

import json
from dataclasses import replace

import numpy as np
import pytest

from brewsim.study.model.knob import Knob
from brewsim.study.propagation.sweep import turn, turn_all
from brewsim.wording.what_if import _places, as_json, what_if
from tests.small_beer import small_problem


@pytest.fixture(scope="module")
def turned():
    problem = small_problem()
    return {knob.id: turn(problem, knob.id, draws=2048) for knob in problem.knobs}


def test_at_today_s_setting_every_figure_is_the_page_s_own(made):
    content = made.content
    today = {outcome.name: outcome for outcome in content.outcomes}

    assert content.what_if.knobs
    for knob in content.what_if.knobs:
        assert knob.joint[knob.now] == pytest.approx(content.joint_chance, abs=1e-6)
        for name, tried in knob.moved.items():
            outcome = today[name]
            found = (tried.low[knob.now], tried.middle[knob.now], *tried.dots[knob.now])
            assert found == pytest.approx(
                (outcome.low, outcome.middle, *outcome.dots), rel=5e-3, abs=5e-3
            )


def test_elsewhere_a_figure_moves_by_what_the_study_found_on_common_draws(made, turned):
    found = what_if(made.problem, turned.values(), made.content.outcomes, made.content.joint_chance)
    knob = next(k for k in found.knobs if "bitterness_ibu" in k.moved and not k.choices)
    data = next(d for d in turned.values() if d.attrs["label"] == knob.label)
    middle = data["middle"].sel(outcome="bitterness_ibu").to_numpy()
    at = data["setting"].to_numpy() / (float(data.attrs["per_shown"]) or 1.0)
    computed = np.interp(knob.settings, at, middle)
    tried = np.array(knob.moved["bitterness_ibu"].middle)

    assert tried - tried[knob.now] == pytest.approx(computed - computed[knob.now], abs=0.1)
    assert np.ptp(tried) > 5


def test_today_outside_a_knob_s_range_has_figures_of_its_own(made):
    """30 g today, 5 to 15 g on the dial: the far settings are not taken for today's."""
    knob = next(k for k in made.problem.knobs if k.label == "hop mass")
    now = float(made.problem.fixed[knob.quantity].ravel()[0])
    knob = replace(knob, low=now / 6, high=now / 2, step=now / 12)
    problem = replace(made.problem, knobs=(knob,))
    (data,) = turn_all(problem, draws=2048)
    (found,) = what_if(problem, [data], made.content.outcomes).knobs
    bitter = found.moved["bitterness_ibu"]

    assert found.settings[found.now] == pytest.approx(now)
    assert found.places == pytest.approx([now * k / 12 for k in (2, 3, 4, 5, 6, 12)], rel=1e-4)
    assert found.places[found.start] == pytest.approx(now)
    assert bitter.middle[found.settings.index(pytest.approx(now / 2))] < 0.75 * bitter.middle[-1]


def test_a_dial_stops_at_its_knob_s_steps_and_at_today_s_setting():
    knob = Knob("k", "k", "k", None, 33.0, 58.0, 5.0, "g")

    assert _places(knob, 40.0) == (33.0, 38.0, 40.0, 43.0, 48.0, 53.0, 58.0)
    assert _places(knob, 38.0) == (33.0, 38.0, 43.0, 48.0, 53.0, 58.0)
    free = _places(replace(knob, step=0.0), 40.0)
    assert (free[0], free[-1], len(free)) == (33.0, 58.0, 26)
    assert 40.0 in free


def test_an_outcome_the_knob_does_not_reach_has_no_figures(made):
    by_label = {knob.label: knob for knob in made.content.what_if.knobs}
    moved = [set(knob.moved) for knob in by_label.values()]

    assert all("beer_color_ebc" not in names for names in moved)


def test_chances_of_nothing_and_of_everything_stay_what_they_are(made, turned):
    data = next(iter(turned.values()))
    sure = np.linspace(0.0, 1.0, data.sizes["setting"])
    data = data.assign(joint=(("setting",), sure))
    (knob,) = what_if(made.problem, [data], made.content.outcomes, 0.4).knobs

    assert knob.joint[0] == 0
    assert knob.joint[-1] == 1
    assert all(0 <= share <= 1 for share in knob.joint)


def test_without_a_joint_chance_none_is_told(made, turned):
    found = what_if(made.problem, turned.values(), made.content.outcomes)

    assert all(knob.joint == () for knob in found.knobs)


def test_a_choice_keeps_its_names_and_today_s_place(made, turned):
    data = next(iter(turned.values()))
    names = ["ordinary", "active"]
    chosen = data.isel(setting=slice(0, 2)).assign_coords(setting=names)
    chosen.attrs["current"] = "active"
    (knob,) = what_if(made.problem, [chosen], made.content.outcomes, 0.4).knobs

    assert knob.choices == ("ordinary", "active")
    assert knob.now == 1


def test_the_script_s_data_name_outcomes_by_their_place(made):
    content = made.content
    data = json.loads(as_json(content.what_if, content.outcomes, 3))
    named = [{content.outcomes[int(i)].name for i in knob["moved"]} for knob in data["knobs"]]

    assert named == [set(knob.moved) for knob in content.what_if.knobs]
    assert data["outcomes"][0]["said"].count("{") == 3


def test_an_outcome_without_a_number_is_left_out_not_drawn_wrong(made, turned):
    data = next(iter(turned.values()))
    name = next(iter(what_if(made.problem, [data], made.content.outcomes).knobs[0].moved))
    broken = data.copy(deep=True)
    broken["dots"].loc[{"outcome": name}] = np.nan
    outcomes = [replace(o) for o in made.content.outcomes]
    knobs = what_if(made.problem, [broken], outcomes).knobs

    assert all(name not in knob.moved for knob in knobs)
