"""Drift and differences between groups: exact where they are known, and covered as stated."""

import numpy as np
import pytest

from brewsim.study.inference.over_time import Series, changed

DAYS = 15.0


def series(rng, count=30, drift=0.0, tank=0.0, step=0.0):
    place = np.linspace(0, 1, count)
    tanks = tuple(("T1", "T2")[i % 2] for i in range(count))
    values = (
        5.0 + drift * place + tank * np.array([t == "T2" for t in tanks]) + step * (place > 0.5)
    )
    values = values + rng.standard_normal(count)
    return Series(values, DAYS * np.arange(count), {"tank": tanks}, 0.3)


def difference(found):
    return found.offsets["tank"]["T2"] - found.offsets["tank"]["T1"]


def test_a_drift_and_a_tank_are_found_and_told_apart():
    found = changed(series(np.random.default_rng(1), 40, drift=4.0, tank=2.5))

    assert found.drifts > 0.95
    assert found.differs["tank"] > 0.95
    assert found.drift.mean() == pytest.approx(4.0, abs=1.5)
    assert difference(found).mean() == pytest.approx(2.5, abs=1.0)


def test_where_nothing_changed_nothing_is_sure():
    found = [changed(series(np.random.default_rng(seed))) for seed in range(20)]

    assert np.mean([one.drifts for one in found]) < 0.5  # it was half before any reading
    assert np.mean([one.differs["tank"] for one in found]) < 0.5
    assert np.mean([one.drifts > 0.9 for one in found]) <= 0.1


def test_a_jump_at_a_date_is_followed():
    found = changed(series(np.random.default_rng(3), 40, step=4.0))

    assert found.level.mean() + difference(found).mean() / 2 > 7.5


def test_a_log_read_backwards_drifts_the_other_way():
    one = series(np.random.default_rng(7), 30, drift=3.0)
    back = Series(one.values[::-1], one.days, {}, one.least)
    found = changed(Series(one.values, one.days, {}, one.least)), changed(back)

    spread = found[0].drift.std() / np.sqrt(2048)
    assert found[0].drift.mean() == pytest.approx(-found[1].drift.mean(), abs=8 * spread)
    assert found[0].drifts == pytest.approx(found[1].drifts, abs=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize(("drift", "tank"), [(0.0, 0.0), (3.0, 0.0), (0.0, 1.5), (3.0, 1.5)])
def test_the_next_batch_is_covered_drift_going_on(drift, tank):
    """Nine in ten of the next batches' values, within four standard errors of 240 logs."""
    inside, logs = 0, 240
    for seed in range(logs):
        rng = np.random.default_rng(seed)
        found = changed(series(rng, 24, drift, tank))
        label = ("T1", "T2")[seed % 2]
        actual = 5.0 + drift * (1 + 1 / 23) + tank * (label == "T2") + rng.standard_normal()
        low, high = np.quantile(found.next_value({"tank": label}, rng), [0.05, 0.95])
        inside += low <= actual <= high
    assert abs(inside / logs - 0.9) < 4 * np.sqrt(0.09 / logs)


@pytest.mark.slow
def test_effects_drawn_from_the_prior_are_covered():
    """Drawn as the model has them: intervals of drift and difference hold nine in ten."""
    inside = []
    for seed in range(200):
        rng = np.random.default_rng(1000 + seed)
        place = np.linspace(0, 1, 24)
        walk = rng.choice([0.0, 0.5, 1.0, 2.0, 4.0], p=[0.5, *[0.125] * 4])
        width = rng.choice([0.0, 0.7, 2.0, 6.0], p=[0.5, *[0.5 / 3] * 3])
        path = walk * np.concatenate([[0], np.cumsum(rng.standard_normal(23))]) / np.sqrt(23)
        offsets = width * rng.standard_normal(2)
        which = np.arange(24) % 2
        values = path + offsets[which] + rng.standard_normal(24)
        tanks = tuple(("T1", "T2")[i] for i in which)
        found = changed(Series(values, place, {"tank": tanks}, 0.5))
        for draws, truth in ((found.drift, path[-1]), (difference(found), offsets[1] - offsets[0])):
            low, high = np.quantile(draws, [0.05, 0.95])
            inside.append(low <= truth <= high)
    assert abs(np.mean(inside) - 0.9) < 4 * np.sqrt(0.09 / len(inside))


def test_a_tank_never_seen_is_as_wide_as_the_tanks_seen():
    rng = np.random.default_rng(5)
    found = changed(series(rng, 40, tank=4.0))
    widths = [
        np.ptp(np.quantile(found.next_value({"tank": name}, rng), [0.05, 0.95]))
        for name in ("T1", "T9")
    ]

    assert widths[1] > 1.3 * widths[0]
