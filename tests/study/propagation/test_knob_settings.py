"""Settings of a knob: how they are written, where they stand, which bracket reaches a wish."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import normal
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.propagation.landing import bracket, landing
from brewsim.study.propagation.sweep import (
    quantiles,
    settings_along,
    snap,
    turn,
)
from tests.study.linear import DIAL, LEVER, linear_problem


def test_the_bracket_is_where_the_chance_reaches_the_wish():
    span = bracket([0.0, 1.0, 2.0, 3.0], np.array([0.2, 0.6, 0.9, 0.5]), 0.7)

    assert span.low == pytest.approx(1 + 1 / 3)
    assert span.high == pytest.approx(2.5)
    assert bracket([0.0, 1.0], np.array([0.2, 0.3]), 0.7) is None


def test_settings_keep_to_whole_steps():
    assert set(np.diff(settings_along(LEVER))) <= {1.0, 1.5, 0.5}
    assert snap(LEVER, np.array(0.26)) == 0.5
    assert snap(LEVER, np.array(99.0)) == 10.0


@pytest.mark.parametrize(
    ("low", "high", "step", "per", "decimals"),
    [
        (0.0, 60.0, 2.5, 1.0, 1),
        (0.0, 2.0, 0.25, 1.0, 2),
        (6 * 0.45, 10 * 0.45, 0.125 * 0.45, 0.45, 3),
        (0.0, 0.06, 0.0, 1.0, 3),
        (0.0, 80.0, 5.0, 1000.0, 3),
        (62.0, 69.0, 0.0, 1.0, 1),
        (400.0, 450.0, 5.0, 1.0, 0),
    ],
)
def test_a_setting_is_told_as_finely_as_its_steps(low, high, step, per, decimals):
    assert Knob("k", "k", "k", None, low, high, step, "g", per).decimals == decimals


@pytest.mark.parametrize(
    ("today", "told"), [(0.75, 2), (0.7, 1), (1.0, 1), (1 / 3, 1), (0.125, 1), (None, 1)]
)
def test_today_s_setting_is_told_in_full_where_one_more_decimal_does_it(today, told):
    knob = Knob("k", "k", "k", None, 0.0, 2.0 * 28.35, 0.0, "oz", 28.35)

    today_in_grams = None if today is None else today * 28.35
    assert replace(knob, today=today_in_grams).decimals == told


def test_where_a_stepped_knob_lands_is_told_on_its_steps():
    """The chance passes one half between steps; the next step inside it is meant."""
    knob = Knob("k", "k", "k", None, 0.0, 10.0, 2.5, "g")
    settings, chance = [0.0, 2.5, 5.0, 7.5, 10.0], np.array([0.3, 0.4, 0.9, 0.6, 0.1])

    found = landing(knob, settings, chance, 0.5)
    free = landing(replace(knob, step=0.0), settings, chance, 0.5)

    assert (found.low, found.high) == (5.0, 7.5)
    assert (free.low, free.high) == pytest.approx((3.0, 8.0))
    assert landing(knob, settings, chance, 0.95) is None


def test_a_choice_is_turned_option_by_option_and_has_no_tenth():
    """Each option moves the middle of what is known; the first stands where none was made."""
    options = tuple(Choice(t, distributions={"known": normal(float(t), 1)}) for t in ("1", "4"))
    problem = replace(linear_problem(), knobs=(Knob("kind", "the kind", choices=options),))

    found = turn(problem, "kind", draws=4096).sel(outcome="strength")

    assert found["setting"].values.tolist() == ["1", "4"]
    assert found["middle"].values == pytest.approx([1.0, 4.0], abs=0.1)
    assert np.isnan(float(found["per_tenth"]))
    assert found.attrs["current"] == "1"


def test_settings_along_a_range_are_even_and_reach_both_ends():
    assert settings_along(DIAL) == pytest.approx(np.linspace(-2.0, 10.0, 17))
    assert settings_along(DIAL, 3) == [-2.0, 4.0, 10.0]
    assert settings_along(replace(DIAL, step=4.0), 9) == [-2.0, 2.0, 6.0, 10.0]


def test_the_last_whole_step_is_reached_though_it_is_missed_by_rounding():
    """0.3 / 0.1 is 2.9999999999999996 in binary; a part of a step at the end is not reached."""
    tenths = replace(DIAL, low=0.0, high=0.3, step=0.1)
    rest = replace(DIAL, low=0.0, high=1.0, step=0.4)

    assert snap(tenths, np.array([0.26, 0.3])) == pytest.approx([0.3, 0.3])
    assert snap(rest, np.array([1.0, 0.7, 0.59, -5.0])) == pytest.approx([0.8, 0.8, 0.4, 0.0])
    assert snap(DIAL, np.array([-9.0, 0.123, 99.0])) == pytest.approx([-2.0, 0.123, 10.0])


def test_quantiles_of_a_single_value_are_that_value():
    table = np.array([[np.nan, 3.0, np.inf], [1.0, 2.0, np.nan]])

    found = quantiles(table, np.array([0.0, 0.25, 1.0]))

    assert found.T.tolist() == [[3.0, 3.0, 3.0], [1.0, 1.25, 2.0]]


def test_a_bracket_goes_out_from_the_best_setting_and_stops_at_the_first_miss():
    """A second stretch that also reaches the wish is not joined; the wish itself is reached."""
    chance = np.array([0.9, 0.2, 0.7, 0.95, 0.7, 0.5, 0.8])

    span = bracket([0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], chance, 0.7)
    only = bracket([0.0, 1.0, 2.0], np.array([0.1, 0.7, 0.3]), 0.7)

    assert (span.low, span.high) == (2.0, 4.0)
    assert (only.low, only.high) == (1.0, 1.0)


@pytest.mark.parametrize("chance", [[0.9, 0.8, 0.2, 0.8], [0.8, 0.9, 0.2, 0.8]])
def test_a_bracket_does_not_go_round_from_the_first_setting_to_the_last(chance):
    span = bracket([5.0, 6.0, 7.0, 8.0], np.array(chance), 0.7)

    assert span.low == 5.0
    assert 6.0 < span.high < 7.0


def test_a_bracket_of_all_settings_reaches_from_the_first_to_the_last():
    span = bracket([5.0, 6.0, 7.0], np.array([0.7, 0.9, 0.7]), 0.7)

    assert (span.low, span.high) == (5.0, 7.0)
