"""What changed in a log: planted changes are found, ordinary logs are told few."""

import numpy as np
import pytest

from brewsim.study.tolerance.changes import changes

NAMES = ["wort", "beer", "bitter"]


def made(seed, count=24):
    return np.random.default_rng(seed).standard_normal((count, 3))


@pytest.mark.slow
@pytest.mark.parametrize("count", [8, 24, 100])
def test_few_ordinary_logs_are_told_a_change(count):
    """By simulation: no more than one ordinary log in twenty, whatever its length."""
    tags = {"tank": ["T1", "T2"] * (count // 2)}
    told = [
        bool(changes(made(seed, count), NAMES, groups=tags, together=[NAMES[:2]]))
        for seed in range(60)
    ]

    assert np.mean(told) < 0.05 + 4 * np.sqrt(0.05 * 0.95 / 60)


def test_one_odd_batch_is_named_with_its_amount():
    values = made(1)
    clean = values.copy()
    values[13, 1] += 7.0
    (found,) = changes(values, NAMES)

    assert (found.shape, found.quantities, found.places) == ("one", ("beer",), (13,))
    assert found.low < 7.0 + clean[13, 1] - np.delete(clean[:, 1], 13).mean() < found.high


def test_an_instrument_moves_all_it_reads_by_one_amount_from_a_day_on():
    values = made(2)
    values[10:, :2] += 2.5
    (found,) = changes(values, NAMES, together=[NAMES[:2]])

    assert (found.shape, found.quantities) == ("step", ("wort", "beer"))
    assert found.places == tuple(range(10, 24))
    assert found.low < 2.5 < found.high


def test_unequal_moves_of_two_readings_are_no_instrument():
    values = made(3)
    values[10:, 0] += 4.0
    values[10:, 1] -= 4.0
    found = changes(values, NAMES, together=[NAMES[:2]])

    assert {one.quantities for one in found} == {("wort",), ("beer",)}


def test_a_group_and_a_drift_are_told_apart():
    values = made(4, 48)
    tanks = [f"T{n % 2}" for n in range(48)]
    values[:, 0] += [2.0 * (tank == "T1") for tank in tanks]
    values[:, 2] += np.linspace(0, 4, 48)
    found = {one.quantities: one for one in changes(values, NAMES, groups={"tank": tanks})}

    assert found["wort",].group == ("tank", "T1")
    assert found["bitter",].shape == "drift"
    assert found["bitter",].low < 4 < found["bitter",].high


def test_two_causes_in_one_quantity_are_both_found():
    values = made(5, 36)
    lots = ["A"] * 12 + ["B"] * 12 + ["C"] * 12
    values[12:24, 2] += 4.0
    values[30, 2] += 9.0
    found = {one.shape: one for one in changes(values, NAMES, groups={"lot": lots})}

    assert found["one"].places == (30,)
    assert found["group"].group == ("lot", "B")


def test_missing_readings_are_no_values():
    values = made(6)
    values[::3, 0] = np.nan
    values[7, 0] = 8.0
    found = changes(values, NAMES)[0]

    assert (found.quantities, found.places) == (("wort",), (7,))


def test_rounding_is_no_scatter_of_nothing():
    """Readings of 1.010 but for two of 1.011 differ by one step of writing down."""
    values = np.full((20, 1), 1.010)
    values[[3, 11], 0] = 1.011

    assert not changes(values, ["beer"], rounding=np.array([0.001]))


def test_seven_batches_are_too_few():
    values = made(7, 7)
    values[3] += 50

    assert changes(values, NAMES) == ()
