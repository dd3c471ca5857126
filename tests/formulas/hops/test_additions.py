"""Hops as weighed and stored, against printed values and laws."""

import numpy as np
import pytest

from brewsim.formulas.hops import additions


def _kept(months=0.0, celsius=20.0, package=1.0, rate=0.0, index=0.25, *, by_index=0.0):
    lot = [np.array([[value]]) for value in (months, celsius, package, rate)]
    halving = np.array([15.0])
    reading = [np.array([[value]]) for value in (index, 1.0, by_index)]
    fresh, slope = np.array([0.25]), np.array([1.10])
    kept = additions.hop_lot_alpha_kept_fraction(*lot, halving, *reading, fresh, slope)
    return float(kept[0, 0])


@pytest.mark.parametrize(
    ("celsius", "package", "left"),
    [(20, 1.0, 5.57), (4, 1.0, 7.16), (4, 0.75, 7.58), (4, 0.5, 8.03), (-18, 0.5, 8.63)],
)
def test_nine_percent_hops_age_to_the_worked_values_after_300_days(celsius, package, left):
    """Source: computed from Garetz (1994): class of 25 % in six months, rate halved per 15 °C."""
    rate = -np.log(0.75) / 180

    kept = _kept(300 / 30.44, celsius, package, rate)

    assert 9.0 * kept == pytest.approx(left, abs=0.005)


@pytest.mark.parametrize(
    ("index", "lost"),
    [
        (0.25, 0.0),
        (0.27, 3.7),
        (0.30, 8.7),
        (0.31, 10.3),
        (0.34, 14.7),
        (0.40, 22.5),
        (0.45, 28.1),
        (0.50, 33.1),
        (0.60, 41.8),
        (0.70, 49.2),
        (0.80, 55.6),
    ],
)
def test_storage_index_gives_the_printed_losses(index, lost):
    """Source: Nickerson & Likens (1979) as 110 log10(HSI/0.25); 10 and 28 % are printed."""
    assert 100 * (1 - _kept(index=index, by_index=1.0)) == pytest.approx(lost, abs=0.05)


def test_a_fresh_lot_has_all_its_alpha_acids_and_no_loss():
    kept = np.array([[_kept(0.0, 20.0, 1.0, 0.005)]])

    assert kept == 1.0
    assert additions.hop_lot_alpha_lost_share(kept) == 0.0


def test_lost_over_present_follows_what_is_kept():
    kept = np.array([[0.72, 0.5]])

    lost = additions.hop_lot_alpha_lost_share(kept)

    np.testing.assert_allclose(lost, [[0.28 / 0.72, 1.0]])


def test_warmer_and_longer_storage_never_keeps_more():
    months = [_kept(m, 20.0, 1.0, 0.003) for m in (0, 1, 6, 24, 240)]
    degrees = [_kept(6, c, 1.0, 0.003) for c in (-18, 0, 4, 20, 30)]

    assert np.all(np.diff(months) < 0)
    assert np.all(np.diff(degrees) < 0)


@pytest.mark.parametrize("index", [np.array([0, 1, 0]), np.array([[0], [1], [0]])])
def test_additions_from_one_lot_share_its_draw(index):
    lots = np.array([[0.10, 0.12], [0.05, 0.06]])

    hops = additions.hop_alpha_acid_fraction(lots, index)

    np.testing.assert_array_equal(hops, lots[[0, 1, 0]])


def test_no_additions_give_no_rows():
    hops = additions.hop_alpha_acid_fraction(np.ones((0, 4)), np.zeros(0, dtype=np.intp))

    assert hops.shape == (0, 4)


def test_mash_and_first_wort_hops_boil_as_long_as_the_wort_and_whirlpool_hops_not_at_all():
    """A law: 10 min timed, mash, first wort, whirlpool in a boil of 60 min."""
    timed, mash, first, whirlpool = np.eye(4)[:, :, None]
    minutes = additions.hop_boiled_min(10.0 * timed, mash, first, whirlpool, np.array([60.0]))

    assert minutes[:, 0].tolist() == [10.0, 60.0, 60.0, 0.0]


def test_an_addition_timed_for_longer_than_the_boil_gets_the_whole_boil():
    """A knob may turn the boil below a hop's minutes: the hop then goes in when it starts."""
    none = np.zeros((1, 1))
    minutes = additions.hop_boiled_min(np.array([[65.0]]), none, none, none, np.array([60.0, 90.0]))

    assert minutes.tolist() == [[60.0, 65.0]]
