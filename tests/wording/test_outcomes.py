"""From the studies' datasets to the page: the same numbers, in shown units."""

import json
from dataclasses import replace

import numpy as np
import pytest

from brewsim.study.model.targets import Target
from brewsim.study.steering.steering import steer
from brewsim.wording.knobs import chances_wanted, steered_panel
from brewsim.wording.notes import events_of, outside_of
from brewsim.wording.outcomes import content_of, kinds_of, looks_of, quantiles
from brewsim.wording.sentences import count_inside


def outcome(made, name):
    return next(o for o in made.content.outcomes if o.name == name)


@pytest.mark.slow
def test_alcohol_is_shown_in_percent_with_the_summary_s_own_figures(made):
    row = made.summary.sel(outcome="alcohol_by_volume_fraction")
    found = outcome(made, "alcohol_by_volume_fraction")

    assert np.isclose(found.low, 100 * row["low"].item())
    assert np.isclose(found.middle, 100 * row["median"].item())
    assert np.isclose(found.high, 100 * row["high"].item())
    assert (found.target.lower, found.target.upper) == pytest.approx((4.8, 5.4))


def test_dots_count_the_chance_to_within_one_dot(made):
    for name in ("alcohol_by_volume_fraction", "bitterness_ibu", "thiol_lead"):
        found = outcome(made, name)

        assert abs(count_inside(found) / 50 - found.chance) <= 1.01 / 50


def test_dots_leave_rare_events_out(made):
    draws = made.draws.assign(event=("draw", np.arange(made.draws.sizes["draw"]) % 2 == 0))
    draws["bitterness_ibu"] = draws["bitterness_ibu"].where(~draws["event"], 1e9)

    assert quantiles(draws, "bitterness_ibu").max() < 200


def test_an_event_is_said_apart_with_its_chance(made):
    labels = ["A stuck fermentation", "1 when the lid lifts, else 0"]
    draws = made.draws.assign_attrs(events=json.dumps(labels))
    summary = made.summary.assign_attrs(
        event_chance=0.03,
        event_chance_error=0.001,
        joint_in_target=0.5,
        joint_in_target_with_events=0.48,
    )

    (said,) = events_of(draws, summary)

    assert "a stuck fermentation or the lid lifts, about 2 of 50 brews" in said
    assert "from 25 to 24 of 50" in said


def test_draws_outside_a_formula_s_range_are_reported(made):
    note = {
        "formula": "beer_color_srm",
        "quantity": "malt_color_units",
        "low": 0,
        "high": 50,
        "count": 500,
        "draws": 10_000,
    }
    draws = made.draws.assign_attrs(outside=json.dumps([note]))

    (said,) = outside_of(draws, lambda name: {"beer_color_srm": "Beer colour"}.get(name, name))

    assert said == (
        "In about 2 of 50 draws, malt_color_units lay outside 0 to 50.0, where the formula of "
        "“beer colour” is valid."
    )


def test_drivers_are_ranked_and_marked_as_the_factors_are(made):
    bitter = next(d for d in made.content.drivers if d.outcome == "bitterness_ibu")

    assert [bar.label for bar in bitter.factors] == [
        "hop utilization",
        "alpha acid of the lot",
        "wort volume",
    ]
    assert [bar.mark for bar in bitter.factors] == ["nobody", "measure", "turn"]


def test_inputs_that_cannot_reach_an_outcome_are_not_among_its_drivers(made):
    color = next(d for d in made.content.drivers if d.outcome == "beer_color_ebc")

    assert {bar.label for bar in color.factors} == {"malt colour", "colour rise in the boil"}


def test_kinds_of_a_sum_of_normals_are_its_variance_shares(made):
    """Original gravity is near linear: .6/.4 of efficiency and .5/.5 of volume."""
    gravity = next(k for k in made.content.kinds if k.outcome == "original_gravity_sg")
    efficiency, volume = (0.018 / 0.72) ** 2, (0.3 / 20) ** 2
    knowledge = (0.6 * efficiency + 0.5 * volume) / (efficiency + volume)

    assert gravity.knowledge == pytest.approx(knowledge, abs=0.01)
    assert gravity.lot == pytest.approx(0.0, abs=0.01)
    assert gravity.knowledge + gravity.lot + gravity.batch == pytest.approx(1.0)


def test_own_scatter_comes_from_the_nested_run(made):
    gravity = next(k for k in made.content.kinds if k.outcome == "original_gravity_sg")
    spread = 1.33 * 0.72 / 20 * np.hypot(0.018 / 0.72 * 0.4**0.5, 0.3 / 20 * 0.5**0.5)

    assert gravity.own_half == pytest.approx(1.645 * spread, rel=0.05)
    assert not gravity.folds
    assert next(k for k in made.content.kinds if k.outcome == "free_3sh_ng_l").folds


def test_kinds_need_no_lot(made):
    by_kind = made.ranks["kind"].sel(factor=["batch", "knowledge"])

    found = kinds_of(by_kind, looks_of(made.summary))

    assert all(k.lot == pytest.approx(0.0, abs=1e-9) for k in found)


def test_a_page_needs_only_draws_and_their_summary(made):
    content = content_of(made.draws, made.summary)

    assert len(content.outcomes) == 7
    assert content.drivers == content.kinds == ()


def test_the_knob_panel_says_what_a_knob_cannot_reach_alone(made):
    said = made.content.knob_panel
    rows = {row[0]: row for row in said.tables[0].rows}

    assert "No knob alone can bring that to 40 of 50." in said.sentences
    assert rows["Powder dose"][1] == "2.50 g/L"
    assert "cannot reach" in rows["Powder dose"][2]
    assert any(s.startswith("All knobs together do not reach") for s in said.sentences)


def test_a_knob_that_reaches_the_chance_alone_gives_its_bracket(made):
    """30 g too little for a wide target: more hops alone mend it."""
    problem = replace(made.problem, targets={"bitterness_ibu": Target(25, 60)})

    panel = steered_panel(problem, steer(problem), looks_of(made.summary))

    rows = {row[0]: row for row in panel.tables[0].rows}
    assert "Hop mass alone can bring that to 40 of 50." in panel.sentences
    assert " g to " in rows["Hop mass"][2]
    assert "cannot reach" in rows["Powder dose"][2]


def test_a_side_of_a_lead_that_nobody_notices_is_said(made):
    looks, found = looks_of(made.summary), steer(made.problem)
    faint = {"hop_aroma_activity": 0.5}

    said = steered_panel(made.problem, found, looks, faint=faint).sentences

    (one,) = [s for s in said if s.startswith("Too faint")]
    assert "hop aroma activity (0.50) is below 1 odour unit" in one or "(0.50) is below" in one
    assert "aim for at least 2 of " in one
    assert not [s for s in steered_panel(made.problem, found, looks).sentences if "faint" in s]


@pytest.mark.parametrize(
    ("chance", "told"),
    [
        (0.8, "40 of 50"),
        (0.1, "5 of 50"),
        (0.58, "29 of 50"),
        (0.95, "47.5 of 50"),
        (0.545, "27.25 of 50"),
        (0.03, "1.5 of 50"),
    ],
)
def test_a_wanted_chance_is_told_as_it_was_asked_for(made, chance, told):
    problem = replace(made.problem, targets={"bitterness_ibu": Target(0, 60)})

    first, second = steered_panel(
        problem, steer(problem, chance=min(chance, 0.9)), looks_of(made.summary)
    ).sentences[:2]

    assert first.startswith("As the recipe stands")
    assert chances_wanted(chance) == told
    assert "or more: no knob has to move." in second


def test_a_target_that_no_knob_moves_is_named(made):
    problem = replace(
        made.problem,
        targets={"alcohol_by_volume_fraction": Target(0.2, None)},
        knobs=tuple(k for k in made.problem.knobs if k.label == "hop mass"),
    )

    panel = steered_panel(problem, steer(problem), looks_of(made.summary))

    assert any("no knob here moves" in sentence for sentence in panel.sentences)


@pytest.mark.parametrize(("share", "told"), [(0.797, "just under 40 of"), (0.76, "at most 38 of")])
def test_a_share_that_misses_the_wanted_chance_is_never_told_as_that_chance(made, share, told):
    (name,) = targets = {"alcohol_by_volume_fraction": Target(0.2, None)}
    steered = steer(replace(made.problem, targets=targets), knobs=["hop mass"])
    steered = replace(steered, obstacles=replace(steered.obstacles, spread={name: share}))

    panel = steered_panel(made.problem, steered, looks_of(made.summary))

    assert any(told in sentence for sentence in panel.sentences)


def test_the_label_sentence_counts_dots(made):
    alcohol = outcome(made, "alcohol_by_volume_fraction")
    label = round(alcohol.middle, 1)
    off = sum(abs(dot - label) > 0.3 for dot in alcohol.dots)

    assert f"by more than 0.3 points (US) in {off} of the 50 dots" in " ".join(
        made.content.spec.sentences
    )


def test_a_batch_log_has_a_point_for_each_reading_and_its_causes(made):
    panel = next(p for p in made.content.house.panels if p.label == "Bitterness")

    assert [(p.batch, p.value) for p in panel.points] == [("B0", 19), ("B1", 21), ("B2", 34)]
    assert panel.points[2].odd
    assert any(
        "Alpha acid of the lot" in row
        for table in made.content.batches.panel.tables
        for row in table.rows
    )


def test_settings_that_gain_next_to_nothing_are_not_told(made):
    found = steer(made.problem)
    least = replace(found, smallest=None, best=replace(found.best, chance=found.now.chance + 0.03))
    more = replace(least, best=replace(found.best, chance=found.now.chance + 0.05))
    looks = looks_of(made.summary)

    said = steered_panel(made.problem, least, looks).sentences
    told = steered_panel(made.problem, more, looks).sentences

    assert any("none is worth turning" in sentence for sentence in said)
    assert any("The best is " in sentence for sentence in told)
