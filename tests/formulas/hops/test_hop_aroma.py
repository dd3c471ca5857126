"""Hop aroma: linalool and geraniol by point of addition."""

import numpy as np
import pytest

from brewsim.formulas.hops import hop_aroma
from tests.formulas.thiol_beer import beer, dry_hop, kettle_hop, mash_hop, table, whirlpool_hop


def one(values, name):
    return float(values[name].ravel()[0])


def test_a_heavy_dry_hop_of_a_linalool_rich_lot_comes_to_64_odour_units():
    """8 g/L of a 50 mg/kg lot, 80 % into the beer: 320 µg/L, 64 thresholds of 5 µg/L (arithmetic).

    Threshold and transfer from memory.
    """
    lot = {"hop_lot_linalool_mg_kg": 50.0, "hop_lot_geraniol_mg_kg": 0.0}
    brewed = beer(
        dry_hops=[dry_hop(160.0)],
        lots=[lot],
        linalool_dry_transfer_fraction=0.8,
        threshold_linalool_ug_l=5.0,
    )

    assert one(brewed, "linalool_ug_l") == pytest.approx(320.0)
    assert one(brewed, "hop_aroma_activity") == pytest.approx(64.0)


def test_the_time_of_dry_hopping_leaves_linalool_and_takes_geraniol():
    """Takoi et al., 2014, at second hand: linalool unchanged, geraniol less when added earlier."""
    early, late = (beer(dry_hops=[dry_hop(100.0, fermenting=x)]) for x in (1.0, 0.0))

    assert one(early, "linalool_ug_l") == one(late, "linalool_ug_l")
    assert one(early, "geraniol_ug_l") < 0.8 * one(late, "geraniol_ug_l")


def test_the_boil_takes_aroma_as_brewers_remember_it():
    """From memory: whirlpool 30 to 60 % of the linalool, 10 min 10 to 30 %, 60 min under 5 %."""
    content = table("thiols")["hop_lot_linalool_mg_kg"]["median"]

    def share(row):
        return one(beer(hops=[row]), "linalool_ug_l") / (content * 1.0)

    assert 0.30 < share(whirlpool_hop(20.0)) < 0.60
    assert 0.10 < share(kettle_hop(20.0, 10.0)) < 0.30
    assert share(kettle_hop(20.0, 60.0)) < 0.05
    assert share(mash_hop(20.0)) == pytest.approx(share(kettle_hop(20.0, 60.0)))


def test_an_unhopped_beer_has_no_hop_aroma_and_zero_grams_are_no_hop():
    """A law."""
    assert one(beer(), "hop_aroma_activity") == 0.0
    assert one(beer(dry_hops=[dry_hop(0.0)], hops=[mash_hop(0.0)]), "hop_aroma_activity") == 0.0


def test_more_hops_never_lower_hop_aroma():
    """A law."""
    for row in (lambda g: {"hops": [whirlpool_hop(g)]}, lambda g: {"dry_hops": [dry_hop(g)]}):
        levels = [one(beer(**row(grams)), "hop_aroma_activity") for grams in (5.0, 50.0, 500.0)]

        assert np.all(np.diff(levels) > 0)


def test_additions_take_their_oil_from_their_own_lot():
    """Bookkeeping: two lots, two additions."""
    lots = [{"hop_lot_linalool_mg_kg": 10.0}, {"hop_lot_linalool_mg_kg": 200.0}]
    rows = [whirlpool_hop(20.0), whirlpool_hop(20.0, hop_lot_of_hop=1.0)]
    first, second = beer(hops=rows, lots=lots)["hot_hop_linalool_ug_l"].ravel()

    assert second == pytest.approx(20.0 * first)


def test_linalool_of_drawn_beers_lies_among_measured_beers():
    """Baxter & Hughes, by way of the review PMC8310685, table 3: 1 to 470 µg/L.

    The middle nine of ten drawn beers of 1 g/L in the whirlpool and 2.5 g/L of dry hops lie inside.
    """
    brewed = beer(
        hops=[whirlpool_hop(20.0)],
        dry_hops=[dry_hop(50.0)],
        rng=np.random.default_rng(2),
        count=4000,
    )
    low, high = np.percentile(brewed["linalool_ug_l"], [5, 95])

    assert low > 1.0
    assert high < 470.0


def test_activity_adds_shares_of_thresholds():
    """Definition."""
    ten = np.array([10.0])

    assert hop_aroma.hop_aroma_activity(ten, ten, np.array([5.0]), np.array([20.0])) == 2.5
