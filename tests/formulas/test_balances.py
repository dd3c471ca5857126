"""Balances of one addition: what was weighed, where it went in, and what of it is left.

Each expected number is worked out from the printed equation, not read off the program.
"""

import numpy as np
import pytest

from brewsim.formulas.beer import hop_creep, packaging
from brewsim.formulas.beer import sensory as glass
from brewsim.formulas.hops import additions, isomerization
from brewsim.formulas.thiols import thiol_adsorption as late_hops
from brewsim.formulas.thiols import thiols
from brewsim.formulas.wort import color
from tests.formulas.thiol_beer import beer, dry_hop, kettle_hop, mash_hop, powder, whirlpool_hop


def a(*values):
    return np.array(values, dtype=float)


def one(values, name):
    return float(values[name].ravel()[0])


def test_the_package_gets_the_batch_less_its_loss_and_what_dry_hops_hold():
    """20 L less 5 % are 19 L; 60 g and 40 g of dry hops hold 0.75 L at 7.5 L/kg."""
    packed = packaging.packaged_volume_l(a(20.0), a(0.05), a([60.0], [40.0]), a(7.5))
    unhopped = packaging.packaged_volume_l(a(20.0), a(0.05), np.zeros((0, 1)), a(7.5))

    assert packed == pytest.approx(18.25)
    assert unhopped == pytest.approx(19.0)


def test_a_scale_that_reads_four_percent_low_puts_four_percent_more_in():
    """Bookkeeping: the stated mass times the scale's error, each addition its own."""
    stated, error = a([30.0], [70.0]), a([1.04], [0.5])

    assert additions.hop_added_g(stated, error) == pytest.approx(a([31.2], [35.0]))
    assert additions.dry_hop_added_g(stated, error) == pytest.approx(a([31.2], [35.0]))


def test_late_hops_are_those_of_the_whirlpool_per_litre_of_wort():
    """Bookkeeping: 50 g in the whirlpool of 20 L are 2.5 g/L; kettle hops are no late hops."""
    dose = late_hops.whirlpool_hop_dose_g_l(a([50.0], [30.0]), a([1.0], [0.0]), a(20.0))

    assert dose == pytest.approx(2.5)


def test_a_hop_in_the_mash_loses_its_oil_and_4msp_as_a_hop_boiled_all_the_time():
    """Definition: hops of mash, first wort and whole boil share its minutes; whirlpool none."""
    fast = {"oil_boil_decay_min": 25.0, "free_4msp_half_life_min": 25.0, "boil_time_min": 70.0}
    rows = [mash_hop(10.0), {"hop_mass_g": 10.0, "hop_in_first_wort_share": 1.0}]
    rows += [kettle_hop(10.0, 70.0), kettle_hop(10.0, 35.0), whirlpool_hop(10.0)]
    brewed = beer(hops=rows, **fast)
    minutes = a(70.0, 70.0, 70.0, 35.0, 0.0)

    assert brewed["hop_oil_kept_fraction"].ravel() == pytest.approx(np.exp(-minutes / 25.0))
    assert brewed["hop_free_4msp_kept_fraction"].ravel() == pytest.approx(2.0 ** (-minutes / 25.0))


def test_geraniol_of_a_dry_hop_is_its_dose_times_content_and_the_share_for_its_day():
    """8 g/L of 25 mg/kg are 200 µg/L: 100 at half after fermentation, 40 at a fifth in it."""
    lot = {"hop_lot_geraniol_mg_kg": 25.0}
    shares = {"geraniol_fermenting_transfer_fraction": 0.2, "geraniol_dry_transfer_fraction": 0.5}
    for fermenting, expected in ((0.0, 100.0), (1.0, 40.0)):
        brewed = beer(dry_hops=[dry_hop(160.0, fermenting=fermenting)], lots=[lot], **shares)

        assert one(brewed, "geraniol_ug_l") == pytest.approx(expected)


def test_dry_hop_precursor_is_its_dose_times_content_and_the_share_that_dissolves():
    """1 g/L of 4,000 µg/kg, 0.6 of it dissolved: 4000 / 407.48 x 0.6 = 5.89 nmol/L.

    The cysteinylated form is half by mass: 2000 / 221.31 x 0.6 = 5.42 nmol/L.
    """
    lot = {
        "hop_lot_glutathionylated_3sh_ug_kg": 4000.0,
        "hop_lot_cysteinylated_3sh_ug_kg": 2000.0,
    }
    brewed = beer(
        dry_hops=[dry_hop(20.0, fermenting=1.0)], lots=[lot], cold_conjugate_transfer_fraction=0.6
    )

    assert one(brewed, "dry_hop_glutathionylated_3sh_nmol_l") == pytest.approx(5.89, abs=0.005)
    assert one(brewed, "dry_hop_cysteinylated_3sh_nmol_l") == pytest.approx(5.42, abs=0.005)


@pytest.mark.parametrize(("point", "usable"), [("mash", 0.4 + 0.6 * 0.5), ("kettle", 0.4 + 0.06)])
def test_a_products_bound_3sh_counts_as_far_as_yeast_can_use_it(point, usable):
    """Mass balance: 0.4 cysteinylated counts fully, the other 0.6 at 0.1, trimmed in the mash 0.5.

    In the mash x = 4/9 of it is trimmed: 4/9 + 5/9 x 0.1 = 0.5.
    """
    product = powder(2.0, point, precursor_cysteinylated_share=0.4)
    brewed = beer(
        products=[product],
        release_glutathionylated_factor=0.1,
        conversion_glutathionylated_to_cysteinylated_fraction=4 / 9,
    )
    brought = one(brewed, "precursor_conjugate_nmol_l")

    assert brought > 0
    assert one(brewed, "precursor_usable_3sh_nmol_l") == pytest.approx(usable * brought)


def test_a_whirlpool_hop_sees_stand_and_chiller_and_a_boiled_hop_all_of_it(hot_side):
    """Sum of the stretches of the path: the whirlpool hop skips boil and heat-off."""
    hops = [{"hop_mass_g": 20.0}, {"hop_mass_g": 20.0, "hop_in_whirlpool_share": 1.0}]
    values = hot_side.run(hops, stand_time_min=20.0, stand_set_temperature_c=85.0)
    boiled, late = values["hop_isomerization_exposure"][:, 0]
    stand = values["hop_stand_isomerization_exposure"][:, 0]
    chill = values["chill_isomerization_exposure"][0]
    before = 60.0 * values["boil_isomerization_per_min"] + values["heat_off_isomerization_exposure"]

    assert min(stand.min(), chill, values["heat_off_isomerization_exposure"][0]) > 0
    assert late == pytest.approx(stand[1] + chill)
    assert boiled == pytest.approx(before[0] + stand[0] + chill)


def test_pellets_oxidise_by_their_factor_and_a_mixed_charge_by_its_share(hot_side):
    """J.-P. Hosom, web log on the science of brewing, post 31: a factor over cones."""
    cones, half, pellets = (
        hot_side.run(
            [{"hop_mass_g": 20.0, "hop_is_pellet_share": x}], hop_lot_pellet_oxidized_factor=[[1.8]]
        )["oxidized_alpha_in_wort_mg_l"][0]
        for x in (0.0, 0.5, 1.0)
    )

    assert pellets / cones == pytest.approx(1.8)
    assert half / cones == pytest.approx(1.4)


@pytest.mark.parametrize(
    ("celsius", "speed"), [(20.0, 1.0), (10.0, 0.5), (0.0, 0.25), (25.0, 1.41)]
)
def test_hop_creep_of_a_colder_day_is_that_of_fewer_warm_days(celsius, speed):
    """Definition of a factor of 2 per 10 °C: a day at 10 °C does what half a day does at 20."""
    rate = a(0.155), a(2.0)
    cold = hop_creep.dry_hop_creep_fraction(a(6.0), a(celsius), *rate)
    warm = hop_creep.dry_hop_creep_fraction(a(6.0 * speed), a(20.0), *rate)

    assert cold == pytest.approx(warm, rel=0.005)


def test_3sh_and_its_acetate_stand_over_their_own_thresholds():
    """Tominaga et al., J. Agric. Food Chem. 54, 7251, 2006: forms at 50 and 60, and 9 and 2.5."""
    assert glass.free_3sh_activity(a(120.0), a(60.0)) == 2.0
    assert glass.free_3sha_activity(a(22.5), a(2.5)) == 9.0


@pytest.mark.parametrize("strong", range(4))
def test_a_thiol_just_over_its_threshold_counts_wherever_it_stands(strong):
    """Definition: one over and three at their thresholds are one."""
    levels = [a(1.0)] * 4
    levels[strong] = a(1.001)

    assert glass.compounds_over_threshold_count(*levels) == 1.0


def test_usual_bitterness_adds_its_hops_and_counts_a_stand_as_minutes(usual_hot_side):
    """Tinseth (1997) with the stand's minutes of J.-P. Hosom, post 10, added to the boil's.

    30 g of 10 % in 20 L are 150 mg/L; 15 min held at 80 °C count as 15 x 0.15642 e^(0.01856 x 80).
    """
    hops = [{"hop_mass_g": 30.0}, {"hop_mass_g": 30.0, "hop_in_whirlpool_share": 1.0}]
    stand = {"stand_time_min": 15.0, "stand_set_temperature_c": 80.0, "stand_cooling_per_min": 0.0}
    values = usual_hot_side.run(hops, malt_ibu_per_point=0.0, **stand)
    held = 15 * 0.15642 * np.exp(0.01856 * 80)
    minutes = a(60.0 + held, held)
    expected = 150 * 1.65 * 0.000125**0.05 * (1 - np.exp(-0.04 * minutes)).sum() / 4.15

    assert values["bitterness_ibu"][0] == pytest.approx(expected)


@pytest.mark.parametrize("formula", ["tinseth_ibu", "rager_ibu", "garetz_ibu"])
def test_a_usual_formula_takes_a_hop_after_the_boil_as_one_at_its_end(usual_hot_side, formula):
    """Bookkeeping: no formula counts minutes after heat-off as minutes of less than no boil."""
    last = {"hop_mass_g": 30.0, "hop_boil_time_min": 0.0}
    late = {"hop_mass_g": 30.0, "hop_in_whirlpool_share": 1.0}
    after, end = (usual_hot_side.run([hop], stand_time_min=20.0) for hop in (late, last))

    assert after["hop_heat_time_min"][0, 0] < 0
    assert after[formula][0] == end[formula][0]


def test_water_of_the_priming_syrup_dilutes_the_beer():
    """Bookkeeping: 0.2 L of water and 120 g of sugar at 0.617 L/kg make 20 L 20.274 L."""
    factor = packaging.priming_dilution_factor(a(6.0), a(0.01))

    assert factor == pytest.approx(20 / 20.27404)


def test_acetate_takes_its_molecules_from_3sh():
    """Mass balance: released 100 nmol/L, a tenth of it acetylated; wort and dry hops add theirs."""
    released, share = a(100.0), a(0.1)
    free = thiols.packaged_3sh_nmol_l(released, share, a(20.0), a(7.0), a(0.5))
    acetate = thiols.packaged_3sha_nmol_l(released, share, a(0.0))

    assert free == pytest.approx(90.0 + 0.5 * 20.0 + 7.0)
    assert free + acetate == pytest.approx(100.0 + 0.5 * 20.0 + 7.0)
    assert thiols.packaged_3sha_nmol_l(released, share, a(2.0)) == pytest.approx(acetate + 2.0)


@pytest.mark.parametrize("energy", [90.0, 98.6, 105.3])
def test_a_rate_follows_arrhenius_for_whatever_energy_is_drawn(energy):
    """Definition: k = k(100) exp(-E/R (1/T - 1/373.15)), R = 8.314462618 J/(mol K)."""
    rate = isomerization.boil_isomerization_per_min(a(80.0), a(0.0125), a(energy))
    expected = 0.0125 * np.exp(-energy / 8.314462618e-3 * (1 / 353.15 - 1 / 373.15))

    assert rate == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("start", [50.0, 48.0, 30.0])
def test_wort_that_has_cooled_to_50_degrees_isomerizes_no_more(start):
    """Below 50 °C the rates are not used; a ramp that starts there adds nothing."""
    ramp = isomerization.heat_off_isomerization_exposure(
        a(start), a(20.0), a(30.0), a(0.0125), a(98.6)
    )
    chilled = isomerization.chill_isomerization_exposure(a(start), a(30.0), a(0.0125), a(98.6))

    assert ramp == 0.0
    assert chilled == 0.0


def test_batch_scatter_multiplies_all_of_the_usual_bitterness(usual_hot_side):
    """Definition of a factor: a batch that reads a tenth high reads so in all of its parts."""
    hops = [{"hop_mass_g": 30.0}]
    plain, high = (usual_hot_side.run(hops, bitterness_batch_factor=x) for x in (1.0, 1.1))

    assert plain["malt_ibu"][0] > 0
    assert high["bitterness_ibu"][0] == pytest.approx(1.1 * plain["bitterness_ibu"][0])


@pytest.mark.parametrize("units", [5.0, 12.0, 61.0])
def test_the_spread_of_colour_has_no_step_where_its_rules_meet(units):
    """Halfway between 0.15 and 0.20 at 5 MCU, at 12 and at 25 SRM, which is 61 MCU by the rule."""
    none, one_sd, kettle = a(0.0), a(1.0), a(1.0)
    plain = color.beer_color_srm(a(units), none, none, kettle, kettle)
    spread = np.log(color.beer_color_srm(a(units), none, one_sd, kettle, kettle) / plain)

    assert spread == pytest.approx(0.175, abs=1e-9)
    assert plain < 25.05


def test_a_bottle_that_got_more_of_the_sugar_got_it_in_proportion():
    """Bookkeeping: 6 g/L for 20 L in 18 L is 6.667 g/L; a bottle mixed a fifth rich has 8."""
    dose = packaging.priming_dose_g_l(a(6.0), a(20.0), a(18.0), a(1.2))

    assert dose == pytest.approx(8.0)


def test_free_thiols_of_a_hop_are_its_dose_times_content_and_the_share_that_dissolves():
    """30 g in 20 L at 40 µg/kg, half of it dissolved: 30 ng/L, hot side and dry hop alike.

    C6H14OS, the isomers 3SH and 3S4MP, weighs 134.24 g/mol and 4MSP, C6H12OS, 132.22.
    """
    names = {"3sh": 134.24, "4msp": 132.22, "3s4mp": 134.24}
    lot = {f"hop_lot_free_{name}_ug_kg": 40.0 for name in names}
    brewed = beer(
        hops=[whirlpool_hop(30.0)],
        dry_hops=[dry_hop(30.0)],
        lots=[lot],
        free_thiol_transfer_fraction=0.5,
    )

    for name, molar_mass in names.items():
        for side in ("hop", "dry_hop"):
            brought = one(brewed, f"{side}_free_{name}_nmol_l")

            assert brought * molar_mass == pytest.approx(30.0, rel=1e-3)


def test_thiols_against_bitterness_count_every_part_of_a_step():
    """Definition: (1 + 1) / (1 + 12.5 / 5) is 4/7, 0.807 doublings behind."""
    behind = glass.thiol_to_bitterness(a(1.0), a(12.5), a(5.0))

    assert behind == pytest.approx(-0.807, abs=5e-4)
