"""Run charts of a log: what is charted, where a changed batch stands, what is named."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.answers.run_charts import RunChart, run_charts
from brewsim.logbook.brew import parse_batches
from brewsim.study.tolerance.capability import measured_capability
from brewsim.study.tolerance.control_chart import control_chart, within_subgroups
from brewsim.study.tolerance.run_rules import LIMIT
from tests.synthetic_brewery import RECIPE, year
from tests.texts import problem_of


def charts_of(text, **asked):
    found = run_charts(problem_of(RECIPE), parse_batches(text, RECIPE), draws=1024, **asked)
    return {one.quantity: one for one in found}


@pytest.fixture(scope="module")
def stalled():
    text, planted, _ = year("stall", 1)
    return text, charts_of(text), planted


def test_every_read_quantity_is_charted_over_all_batches_by_date(stalled):
    _, charts, _ = stalled

    assert set(charts) == {
        "original_gravity_sg", "final_gravity_sg", "bitterness_ibu", "fermenter_volume_l",
    }  # fmt: skip
    for one in charts.values():
        assert len(one.batches) == 24
        assert list(one.dates) == sorted(one.dates)
        assert not one.moved


def test_a_stall_lies_beyond_the_limit_of_the_final_gravity_alone(stalled):
    _, charts, planted = stalled
    beyond = {
        (name, one.batches[s.last])
        for name, one in charts.items()
        for s in one.signals
        if s.rule is LIMIT
    }

    assert ("final_gravity_sg", planted.batches[0]) in beyond
    assert ("original_gravity_sg", planted.batches[0]) not in beyond


def test_limits_are_those_of_the_chart_of_the_values(stalled):
    one = stalled[1]["bitterness_ibu"]
    chart = control_chart(one.values)

    assert one.limits == (chart.lower, chart.centre, chart.upper)


def test_a_batch_with_twice_the_hops_stands_where_the_recipe_would_have_it():
    """By construction: 60 g instead of 30 g read twice as bitter are no signal."""
    text = year("nothing", 2)[0]
    before = charts_of(text)["bitterness_ibu"]
    value = before.measured[9]
    text = text.replace(
        f'id = "B10"\ndate = {before.dates[9]}', f'id = "B10"\ndate = {before.dates[9]}', 1
    )
    head, _, tail = text.partition('id = "B10"')
    tail = tail.replace('"hop 1 lot"', '"hop 1 mass" = "60 g", "hop 1 lot"', 1)
    tail = tail.replace(f'bitterness = "{value:.1f}', f'bitterness = "{2 * value:.1f}', 1)
    after = charts_of(f'{head}id = "B10"{tail}')["bitterness_ibu"]

    assert after.moved == ("B10",)
    assert after.measured[9] == pytest.approx(2 * value, abs=0.06)
    assert after.values[9] == pytest.approx(value, rel=0.05)
    assert [s.rule for s in after.signals] == [s.rule for s in before.signals]


def test_a_gravity_is_moved_by_a_step_and_a_bitterness_by_a_factor():
    """More malt adds to a gravity, which has no zero of its own; twice the hops double IBU."""
    text = year("nothing", 2)[0].replace('"hop 1 lot"', '"malt 1 mass" = "5 kg", "hop 1 lot"', 1)
    charts = charts_of(text)
    gravity, bitter = charts["original_gravity_sg"], charts["bitterness_ibu"]

    assert (gravity.factor == 1).all()
    assert gravity.shift[0] < -0.004
    assert (gravity.shift[1:] == 0).all()
    assert (bitter.shift == 0).all()
    assert bitter.factor[0] > 1


def test_subgroups_are_the_batches_of_one_tag(stalled):
    text, charts, _ = stalled
    one = charts_of(text, by="tank")["bitterness_ibu"]
    log = parse_batches(text, RECIPE)
    tanks = np.array([entry.tags["tank"] == "T2" for entry in log.entries], dtype=int)

    assert one.within == pytest.approx(within_subgroups(one.values, tanks))
    assert one.within != pytest.approx(charts["bitterness_ibu"].within)


def test_capability_is_of_what_has_a_target(stalled):
    _, charts, _ = stalled

    assert charts["bitterness_ibu"].capability.actual > 0.5
    assert charts["bitterness_ibu"].model is not None
    assert charts["fermenter_volume_l"].capability is None


def test_capability_is_that_of_the_values_at_the_spread_of_neighbours(stalled):
    one = stalled[1]["bitterness_ibu"]

    assert one.capability == measured_capability(
        one.values, one.target, control_chart(one.values).sigma
    )


def test_capability_on_a_scale_of_doublings_is_at_the_spread_in_doublings(stalled):
    problem = problem_of(RECIPE)
    felt = replace(problem, scales={**problem.scales, "bitterness_ibu": "log2"})
    charts = run_charts(felt, parse_batches(stalled[0], RECIPE), draws=1024)
    one = next(chart for chart in charts if chart.quantity == "bitterness_ibu")
    sigma = control_chart(np.log2(one.values)).sigma
    by_hand = measured_capability(one.values, one.target, sigma, scale="log2")

    assert one.capability.short_potential == pytest.approx(by_hand.short_potential, rel=1e-9)
    assert one.capability.short_actual == pytest.approx(by_hand.short_actual, rel=1e-9)


def test_the_model_beside_a_log_is_drawn_as_simulate_draws(stalled):
    log = parse_batches(stalled[0], RECIPE)
    unasked, asked, other = (
        [one.model for one in run_charts(problem_of(RECIPE), log, **how)]
        for how in ({}, {"draws": 16_384, "seed": 1}, {"draws": 1024, "seed": 2})
    )

    assert unasked == asked
    assert unasked != other


def chart_by_hand(batches, measured, shift):
    none = np.ones(len(measured))
    days = ("",) * len(batches)
    number = (np.array(measured), none, np.array(shift))
    return RunChart("fermenter_volume_l", "linear", batches, days, *number, None, (), "", np.nan)


def test_a_batch_is_moved_by_more_than_rounding_alone():
    """One part in a million of what was read, whatever its size; a reading of 0 has not moved."""
    names = ("zero", "same", "large, rounded", "small, rounded", "large", "small")
    measured = [0.0, 20.0, 500.0, 0.02, 500.0, 0.02]
    shift = [0.0, 0.0, 4e-4, 1.5e-8, 6e-4, 3e-8]

    assert chart_by_hand(names, measured, shift).moved == ("large", "small")


def test_a_chart_with_fewer_names_than_readings_is_a_fault():
    with pytest.raises(ValueError, match="zip"):
        _ = chart_by_hand(("B1",), [20.0, 21.0], [0.0, 1.0]).moved


def test_four_readings_have_no_limits_and_no_signal():
    text = year("nothing", 2)[0]
    few = "[[batch]]".join(text.split("[[batch]]")[:5])
    one = charts_of(few)["bitterness_ibu"]

    assert one.chart is None
    assert one.signals == ()
