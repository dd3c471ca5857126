"""Run charts against worked examples of the NIST/SEMATECH e-Handbook of Statistical Methods."""

import numpy as np
import pytest

from brewsim.errors import StudyError
from brewsim.study.tolerance.control_chart import control_chart, within_subgroups
from brewsim.study.tolerance.run_rules import (
    LEVEL,
    LIMIT,
    NELSON,
    RANGE,
    RULES,
    WESTERN_ELECTRIC,
    chart_signals,
    signals,
)

FLOW = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
EWMA_DATA = np.concatenate(
    [[52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5], FLOW]
)  # fmt: skip
EWMA = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
    50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
]  # fmt: skip


def test_individuals_and_moving_ranges_of_the_handbook():
    """NIST/SEMATECH e-Handbook 6.3.2.2: flow rate of ten batches, every printed figure."""
    chart = control_chart(FLOW, robust=False)

    assert chart.ranges == pytest.approx([2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5])
    assert chart.centre == pytest.approx(50.81, abs=5e-3)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert chart.upper == pytest.approx(55.8041, abs=5e-5)
    assert chart.lower == pytest.approx(45.8159, abs=5e-5)
    assert not [s for s in chart_signals(chart) if s.rule in (LIMIT, RANGE)]  # "in control"


def test_smoothed_level_of_the_handbook():
    """NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, level 50, s 2.0539; printed to two digits.

    Its limits, 52.5884 and (cut off, not rounded) 47.4115, are those of the settled level.
    """
    chart = control_chart(EWMA_DATA, weight=0.3, centre=50.0, sigma=2.0539)

    assert chart.level == pytest.approx(EWMA, abs=5.1e-3)
    assert chart.level_high[-1] == pytest.approx(52.5884, abs=1e-4)
    assert chart.level_low[-1] == pytest.approx(47.4115, abs=1e-4)
    assert LEVEL not in [s.rule for s in chart_signals(chart)]


def test_smoothed_level_has_narrower_limits_at_first():
    """By definition: the first smoothed value is weight times a value, so it scatters by that."""
    chart = control_chart(EWMA_DATA, weight=0.3, centre=50.0, sigma=2.0)

    assert chart.level_high[0] - 50.0 == pytest.approx(3 * 0.3 * 2.0)


def test_limits_are_not_widened_by_the_batches_they_are_to_find():
    rng = np.random.default_rng(4)
    values = rng.normal(20.0, 1.0, 30)
    clean = control_chart(values, robust=False)
    values[[7, 19]] += 8.0
    plain, robust = control_chart(values, robust=False), control_chart(values)

    assert list(np.flatnonzero(~robust.used)) == [7, 19]
    assert robust.sigma == pytest.approx(clean.sigma, rel=0.1)
    assert plain.sigma > 1.5 * clean.sigma
    found = [s for s in chart_signals(robust) if s.rule is LIMIT]
    assert [(s.last, s.side) for s in found] == [(7, 1), (19, 1)]


@pytest.mark.parametrize("count", [12, 24, 100])
def test_the_robust_start_keeps_the_spread_of_ordinary_batches(count):
    """By simulation: trimming beyond three sigmas costs less than 5 % of the spread."""
    rng = np.random.default_rng(count)
    found = [control_chart(rng.standard_normal(count)).sigma for _ in range(400)]
    error = np.std(found) / np.sqrt(400)

    assert np.mean(found) == pytest.approx(1.0, abs=0.05 + 4 * error)


def test_western_electric_call_one_ordinary_batch_in_92():
    """Champ & Woodall (1987), Technometrics 29, 393-399: average run length 91.75."""
    rng = np.random.default_rng(3)
    lengths = []
    for _ in range(3000):
        scores = rng.standard_normal(1200)
        lengths.append(min(s.last for s in signals(scores, WESTERN_ELECTRIC)) + 1)
    error = np.std(lengths) / np.sqrt(len(lengths))

    assert np.mean(lengths) == pytest.approx(91.75, abs=4 * error)


def test_one_batch_in_370_lies_beyond_three_sigmas():
    """Normal distribution: 0.27 % lie beyond three sigmas."""
    scores = np.random.default_rng(1).standard_normal(400_000)

    assert LIMIT.completes(scores).mean() == pytest.approx(0.0027, abs=4 * 8.2e-5)


UP = [0.5, 0.2, 0.9, 0.1, 0.4, 0.3, 0.6, 0.8, 0.7]


@pytest.mark.parametrize(
    ("rules", "scores", "name", "first", "last", "side"),
    [
        ("western electric", [0, 0.1, -3.1, 0], "Western Electric 1956, test 1", 2, 2, -1),
        ("western electric", [0, 2.1, 0.4, 2.2], "Western Electric 1956, test 2", 1, 3, 1),
        ("western electric", [-2, -1.2, 0, -1.3, -1.4], "Western Electric 1956, test 3", 0, 4, -1),
        ("western electric", UP[:8], "Western Electric 1956, test 4", 0, 7, 1),
        ("nelson", UP, "Nelson 1984, test 2", 0, 8, 1),
        ("nelson", [-1, -0.6, -0.2, 0.1, 0.5, 0.9], "Nelson 1984, test 3", 0, 5, 0),
        ("nelson", [0.2, -0.2] * 7, "Nelson 1984, test 4", 0, 13, 0),
        ("nelson", [0.5, -0.5, 0.2, 0.6, -0.1] * 3, "Nelson 1984, test 7", 0, 14, 0),
        ("nelson", [1.5, -1.5, 1.2, 1.6, -1.7, -1.1, 1.4, -1.2], "Nelson 1984, test 8", 0, 7, 0),
    ],
)  # fmt: skip
def test_each_rule_sees_its_own_pattern_and_no_shorter_one(rules, scores, name, first, last, side):
    """Rules as published: Western Electric (1956); Nelson (1984), J. Quality Technology 16."""
    found = [s for s in signals(np.array(scores), RULES[rules]) if s.rule.name == name]
    shorter = [s.rule.name for s in signals(np.array(scores)[: len(scores) - 1], RULES[rules])]

    assert [(s.first, s.last, s.side) for s in found] == [(first, last, side)]
    assert LIMIT.name == name or name not in shorter


def test_the_smoothed_level_sees_a_shift_that_single_limits_do_not():
    """Lucas & Saccucci (1990), Technometrics 32, 1-12 (from memory): of one sigma in some ten."""
    rng = np.random.default_rng(8)
    seen, beyond = [], []
    for _ in range(500):
        chart = control_chart(rng.normal(1.0, 1.0, 60), centre=0.0, sigma=1.0)
        found = chart_signals(chart)
        for rule, places in ((LEVEL, seen), (LIMIT, beyond)):
            places.append(next((s.first for s in found if s.rule is rule), 60) + 1)

    assert 8 < np.mean(seen) < 12
    assert np.mean(beyond) > 25


def test_a_pattern_that_goes_on_is_one_signal():
    found = signals(np.full(20, 0.5), WESTERN_ELECTRIC)

    assert [(s.first, s.last) for s in found] == [(0, 19)]


def test_pooled_spread_inside_subgroups_is_free_of_the_steps_between_them():
    """By definition: two subgroups of variance 2 each, however far apart."""
    values = np.array([1.0, 3.0, 101.0, 103.0, 7.0])

    assert within_subgroups(values, np.array([0, 0, 1, 1, 2])) == pytest.approx(np.sqrt(2))
    assert np.isnan(within_subgroups(values[:2], np.array([0, 1])))


@pytest.mark.parametrize("values", [[1.0, 2.0, 3.0, 4.0], [1.0] * 8, [1.0, np.nan, 2.0, 3.0, 4.0]])
def test_no_limits_without_scatter_or_with_too_few_values(values):
    with pytest.raises(StudyError):
        control_chart(np.array(values))


def test_nelson_has_eight_tests_and_western_electric_four():
    """Nelson (1984) numbers eight tests; Western Electric (1956) has four zone tests."""
    assert (len(NELSON), len(WESTERN_ELECTRIC)) == (8, 4)
