"""In the glass: activities, leads and bitterness over gravity."""

import numpy as np
import pytest
from scipy import stats

from brewsim.formulas.beer import sensory as glass
from tests.formulas.thiol_beer import beer, dry_hop, mash_hop, powder, table


def a(*values):
    return np.array(values, dtype=float)


ZERO = a(0.0)


def test_published_concentrations_over_published_thresholds():
    """Gros et al., 2012: 3S4MP 548 ng/L over 70 is 7.8; 4MSP 128 over 1.5 is 85, over 6 is 21."""
    assert glass.free_3s4mp_activity(a(548.0), a(70.0)) == pytest.approx(7.8, abs=0.05)
    assert glass.free_4msp_activity(a(128.0), a(1.5)) == pytest.approx(85.0, abs=0.5)
    assert glass.free_4msp_activity(a(128.0), a(6.0)) == pytest.approx(21.0, abs=0.5)


def test_thresholds_of_the_two_forms_of_a_thiol_combine_to_the_prior():
    """Tominaga et al., J. Agric. Food Chem. 54, 7251, 2006: forms at 50 and 60, and 9 and 2.5 ng/L.

    Added as odour units: 50:50 of 3SH gives 54.5, 30:70 of 3SHA 3.2; both inside the prior.
    """
    priors = table("sensory")
    for name, parts, printed in (
        ("3sh", ((0.5, 50.0), (0.5, 60.0)), 54.5),
        ("3sha", ((0.3, 9.0), (0.7, 2.5)), 3.2),
    ):
        combined = 1.0 / sum(share / threshold for share, threshold in parts)
        prior = priors[f"threshold_{name}_ng_l"]

        assert combined == pytest.approx(printed, abs=0.06)
        assert abs(np.log(combined / prior["median"])) < prior["log_sd"]


def test_lead_is_zero_without_thiols_and_hops_and_one_per_doubling():
    """Definition."""
    assert glass.thiol_lead(ZERO, ZERO) == 0.0
    assert glass.thiol_lead(a(3.0), ZERO) == 2.0
    assert glass.thiol_lead(ZERO, a(3.0)) == -2.0
    assert glass.thiol_lead(a(3.0), a(1.0)) == 1.0


def test_thiols_against_bitterness_are_finite_for_unhopped_beer():
    """Definition; the just noticeable step is 5 IBU, R. Daniels, at second hand."""
    assert glass.thiol_to_bitterness(a(3.0), ZERO, a(5.0)) == 2.0
    assert glass.thiol_to_bitterness(a(1.0), a(35.0), a(5.0)) == -2.0
    assert table("sensory")["bitterness_step_ibu"]["value"] == 5.0


def test_each_thiol_is_counted_by_its_own_threshold_and_never_by_the_sum():
    """Definition: four of 0.9 sum to 3.6 and none is over its threshold."""
    none = glass.compounds_over_threshold_count(a(0.9), a(0.9), a(0.9), a(0.9))
    two = glass.compounds_over_threshold_count(a(1.1), a(0.9), a(20.0), ZERO)

    assert none == 0.0
    assert two == 2.0
    assert glass.thiol_activity(a(0.9), a(0.9), a(0.9), a(0.9)) == pytest.approx(3.6)


def test_share_of_tasters_follows_their_spread():
    """Lognormal tasters, factor 3: half at the threshold, the normal curve within 0.01."""
    strengths = a(0.2, 0.5, 1.0, 2.0, 6.0)
    shares = glass.detecting_taster_share(strengths, a(3.0))
    exact = stats.norm.cdf(np.log(strengths) / np.log(3.0))

    assert shares[2] == 0.5
    assert shares == pytest.approx(exact, abs=0.01)
    assert glass.detecting_taster_share(ZERO, a(3.0)) == 0.0


def test_the_spread_of_tasters_is_no_uncertainty_of_the_beer():
    """Between tasters is not between beers: the factor is a constant, apart from the thresholds."""
    assert table("sensory")["taster_spread_factor"]["family"] == "constant"


def test_bitterness_to_gravity_of_an_even_beer():
    """Definition, R. Daniels, Designing Great Beers, 1996: 25 IBU at 1.050 is 0.5."""
    assert glass.bitterness_to_gravity(a(25.0), a(1.05)) == pytest.approx(0.5)


def test_thiol_lead_rises_with_precursor_and_falls_with_late_hops():
    """Common practice, no source: precursor brings thiols forward, dry hops bring hops forward."""

    def lead(**changed):
        base = {"malts": [{"malt_added_kg": 4.0}], "hops": [mash_hop(40.0)], "release": "active"}
        return float(beer(**base | changed)["thiol_lead"][0])

    assert lead(products=[powder(3.0, "whirlpool")]) > lead()
    assert lead(dry_hops=[dry_hop(100.0)]) < lead()


def test_strengths_on_the_tasters_scale_are_doublings_of_one_more():
    """The definition; 5 IBU a step."""
    assert glass.thiol_strength_doubling(a(7.0)) == 3.0
    assert glass.hop_strength_doubling(ZERO) == 0.0
    assert glass.bitter_strength_doubling(a(35.0), a(5.0)) == 3.0


def test_thiols_hide_nothing_below_the_hops_and_their_lead_above():
    """log2(1 + 2^L): one doubling where both are alike, L itself far in front."""
    assert glass.hop_hiding_doubling(ZERO) == 1.0
    assert glass.hop_hiding_doubling(a(20.0)) == pytest.approx(20.0, abs=2e-6)
    assert glass.hop_hiding_doubling(a(-20.0)) == pytest.approx(0.0, abs=2e-6)
