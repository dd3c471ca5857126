"""Run charts of a log: what is charted, where a changed batch stands, what is named."""

import numpy as np
import pytest

from brewsim.answers.run_charts import run_charts
from brewsim.logbook.brew import parse_batches
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


def test_four_readings_have_no_limits_and_no_signal():
    text = year("nothing", 2)[0]
    few = "[[batch]]".join(text.split("[[batch]]")[:5])
    one = charts_of(few)["bitterness_ibu"]

    assert one.chart is None
    assert one.signals == ()
