"""What the beer keeps and what reads as IBU, against published figures and laws."""

import numpy as np
import pytest

from brewsim.formulas.hops import bitterness, dry_hop_bitterness

ONE = np.ones(1)


def _one(value):
    return np.array([float(value)])


def test_no_hops_leave_the_malt_only(hot_side):
    """J.-P. Hosom, web log on the science of brewing, post 13: 2.0 IBU at 1.0878, 5 weeks 2.2."""
    values = hot_side.run([], original_gravity_sg=1.0878)

    assert values["bitterness_ibu"][0] == pytest.approx(2.2, abs=0.05)
    assert values["bitterness_ibu"].shape == (1,)


def test_oxidised_alpha_acids_of_a_published_flame_out_hop_are_met(hot_side):
    """J.-P. Hosom, post 11, section 5: 7.27 IBU; 56.7 g of 8.8 % cones in 19.87 L, one week."""
    hop = {
        "hop_mass_g": 56.7,
        "hop_lot_alpha_acid_fraction": 0.088,
        "hop_boil_time_min": 0.0,
    }
    values = hot_side.run(
        [hop],
        whole_wort_l=19.87,
        storage_week=1.0,
        boil_retention_fraction=0.51,
        solubility_knee_mg_l=200.0,
        solubility_ceiling_mg_l=580.0,
    )

    assert values["oxidized_alpha_ibu"][0] == pytest.approx(7.27, abs=0.05)


@pytest.mark.parametrize(("ph", "kept"), [(5.75, 1.0), (5.25, 0.70), (6.25, 1 / 0.70)])
def test_half_a_unit_of_ph_takes_its_share_of_oxidised_alpha_acids(hot_side, ph, kept):
    """J.-P. Hosom, post 31: 15 to 35 % less from 5.75 to 5.25."""
    hop = [{"hop_mass_g": 20.0}]
    base, other = (
        hot_side.run(hop, boiled_wort_ph=value, oxidized_half_ph_factor=0.70)["oxidized_alpha_ibu"][
            0
        ]
        for value in (5.75, ph)
    )

    assert other / base == pytest.approx(kept)


def test_iso_alpha_acids_follow_the_line_in_ph(hot_side):
    """J.-P. Hosom, post 11 after Kappler (2010): 0.071 pH + 0.592, which is 1 at 5.75."""
    hop = [{"hop_mass_g": 20.0}]
    low, high = (
        hot_side.run(hop, boiled_wort_ph=ph, iso_alpha_slope_per_ph=0.071)[
            "iso_alpha_in_wort_mg_l"
        ][0]
        for ph in (5.0, 5.75)
    )

    assert low / high == pytest.approx(0.071 * 5.0 + 0.592, abs=5e-4)


def test_pellets_and_stored_hops_raise_the_oxidised_term_and_not_the_iso_term(hot_side):
    """J.-P. Hosom, posts 28, 29 and 31."""
    plain, pellet, old = (
        hot_side.run([{"hop_mass_g": 20.0} | more])
        for more in ({}, {"hop_is_pellet_share": 1.0}, {"hop_lot_alpha_lost_share": 0.4})
    )

    for other in (pellet, old):
        assert other["iso_alpha_in_beer_mg_l"] == plain["iso_alpha_in_beer_mg_l"]
        assert other["oxidized_alpha_ibu"] > 1.5 * plain["oxidized_alpha_ibu"]


def test_one_mg_of_iso_alpha_acids_reads_as_0_7348_ibu():
    """Peacock by way of J.-P. Hosom, post 11: exactly 51.2/69.68."""
    none = np.zeros(1)

    ibu = bitterness.bitterness_ibu__kinetic(ONE, *[none] * 6, ONE)

    assert ibu[0] == pytest.approx(0.7348, abs=5e-5)


@pytest.mark.parametrize(
    ("fermented", "dose", "left"),
    [(42.0, 7.7, 35.7), (24.9, 7.7, 24.9), (25.0, 20.0, 25.0), (60.0, 0.0, 60.0)],
)
def test_dry_hops_take_iso_alpha_acids_above_25_mg_l_only(fermented, dose, left):
    """Assumption; 42 mg/L at 7.7 g/L become 35.7; no step at 25."""
    got = bitterness.iso_alpha_in_beer_mg_l(_one(fermented), ONE, ONE, _one(0.06), _one(dose), ONE)

    assert got[0] == pytest.approx(left, abs=0.05)


def test_dry_hop_loss_stops_growing_at_eight_g_l():
    doses = np.array([8.0, 12.0])

    eight, twelve = bitterness.iso_alpha_in_beer_mg_l(_one(50), ONE, ONE, _one(0.06), doses, ONE)

    assert eight == twelve


@pytest.mark.parametrize(
    ("weeks", "celsius", "left"), [(0, 20, 1.0), (1, 20, 0.9707), (1e6, 20, 0.76), (4.9, 4, 0.9707)]
)
def test_ageing_falls_to_its_plateau_and_five_times_slower_cold(weeks, celsius, left):
    """Fit to the storage series of J.-P. Hosom, post 13; 2.7 per 10 °C gives 0.20 at 4 °C."""
    age = bitterness.bitterness_age_factor(
        _one(0.76), _one(0.13), _one(2.7), _one(weeks), _one(celsius)
    )

    assert age[0] == pytest.approx(left, abs=5e-4)


def test_gravity_exponent_zero_ignores_gravity_and_one_is_tinseth(hot_side):
    """Jacobsen et al. (1989): no effect; Tinseth (1997): -36 % from 1.030 to 1.080."""

    def ratio(exponent):
        weak, strong = (
            hot_side.run(
                [{"hop_mass_g": 20.0}],
                preboil_gravity_sg=gravity,
                original_gravity_sg=gravity,
                gravity_exponent_factor=exponent,
            )["iso_alpha_in_wort_mg_l"][0]
            for gravity in (1.03, 1.08)
        )
        return strong / weak

    assert ratio(0.0) == pytest.approx(1.0)
    assert ratio(1.0) == pytest.approx(1 - 0.36, abs=0.005)


def test_first_wort_factor_multiplies_the_contribution_of_first_wort_hops(hot_side):
    boil, first = (
        hot_side.run([{"hop_mass_g": 20.0} | where], first_wort_factor=1.08)
        for where in ({}, {"hop_in_first_wort_share": 1.0})
    )

    for name in ("iso_alpha_in_beer_mg_l", "oxidized_alpha_ibu"):
        assert first[name] / boil[name] == pytest.approx(1.08)


def test_alpha_acids_of_dry_hops_read_6_3_ibu_at_one_gram_per_litre():
    """J.-P. Hosom, post 11, eq. 55: 1,000 g/hL of 10 % alpha acids, 6.3 IBU."""
    alpha = dry_hop_bitterness.dry_hop_alpha_mg_l(
        np.array([[200.0]]), np.array([[0.10]]), _one(20.0)
    )

    assert alpha[0] == pytest.approx(1000.0)
    assert dry_hop_bitterness.carried_alpha_ibu(alpha)[0] == pytest.approx(6.3, abs=0.05)


def test_humulinones_of_a_heavy_dry_hop_are_met():
    """Maye et al. (2016): 48 mg/L in beer from 23.2 g/L of hops with 0.23 %."""
    alpha = _one(23_200 * 0.0023 / 0.04)

    ibu = dry_hop_bitterness.humulinone_ibu(alpha, _one(0.04), _one(0.90), ONE)

    assert ibu[0] / 0.673 == pytest.approx(48.0, abs=0.5)


def test_a_hundred_mg_l_of_polyphenols_read_2_2_ibu():
    """Parkin (2014), thesis, p. 28: +2.2 IBU per 100 mg/L."""
    kettle = bitterness.polyphenol_ibu(np.array([[50.0]]), _one(0.04), _one(20.0), np.zeros(1))
    dry = dry_hop_bitterness.dry_hop_polyphenol_ibu(np.array([[50.0]]), _one(0.04), ONE, _one(20.0))

    assert dry[0] == pytest.approx(2.2)
    assert kettle[0] == pytest.approx(2.2 * 0.20 * 0.70)


def test_polyphenols_of_ordinary_kettle_hops_stay_below_a_third_of_an_ibu():
    """J.-P. Hosom, post 11: 0.35 IBU at 2.85 g/L; below 0.3 up to 2 g/L."""
    ibu = bitterness.polyphenol_ibu(np.array([[40.0]]), _one(0.04), _one(20.0), np.zeros(1))

    assert ibu[0] < 0.3


def test_bitterness_keeps_concentrations_when_mass_and_volume_double(hot_side):
    hops = [{"hop_mass_g": 30.0}, {"hop_mass_g": 50.0, "hop_in_whirlpool_share": 1.0}]
    double = [hop | {"hop_mass_g": 2 * hop["hop_mass_g"]} for hop in hops]
    stand = {"stand_time_min": 15.0, "stand_set_temperature_c": 85.0}

    small = hot_side.run(hops, **stand)["bitterness_ibu"]
    large = hot_side.run(double, whole_wort_l=40.0, fermenter_volume_l=40.0, **stand)

    np.testing.assert_allclose(large["bitterness_ibu"], small, rtol=1e-14)
