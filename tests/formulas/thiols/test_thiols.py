"""Thiols: molar arithmetic, signs of published trials, orders of magnitude of the priors."""

import numpy as np
import pytest

from brewsim.constants import MOLAR_3SH, MOLAR_3SHA
from brewsim.formulas.thiols import precursors, thiol_release, thiols
from tests.formulas.thiol_beer import (
    BARREN,
    GRAPH,
    beer,
    dry_hop,
    kettle_hop,
    mash_hop,
    powder,
    table,
    whirlpool_hop,
)

PILSNER = {"malt_added_kg": 4.0}
MASH_HOPPED = {"malts": [PILSNER], "hops": [mash_hop(80.0)], "release": "active"}


def one(values, name):
    return float(values[name].ravel()[0])


def a(*values):
    return np.array(values, dtype=float)


def test_molar_factors_are_those_of_the_formulas():
    """C16H29N3O7S and C9H19NO3S against 3SH C6H14OS, standard atomic masses: 0.329 and 0.607."""
    masses = {"C": 12.011, "H": 1.008, "N": 14.007, "O": 15.999, "S": 32.06}

    def molar(**atoms):
        return sum(masses[name] * count for name, count in atoms.items())

    free = molar(C=6, H=14, O=1, S=1)
    gained = MOLAR_3SHA / MOLAR_3SH
    bound = molar(C=16, H=29, N=3, O=7, S=1), molar(C=9, H=19, N=1, O=3, S=1)

    assert free == pytest.approx(MOLAR_3SH, abs=0.02)
    assert bound[0] == pytest.approx(precursors._GLUTATHIONYLATED_3SH, abs=0.02)
    assert bound[1] == pytest.approx(precursors._CYSTEINYLATED_3SH, abs=0.02)
    assert free / bound[0] == pytest.approx(0.329, abs=5e-4)
    assert free / bound[1] == pytest.approx(0.607, abs=5e-4)
    assert gained == pytest.approx(1.313, abs=5e-4)


def test_a_milligram_of_precursor_per_litre_comes_out_in_nanomoles():
    """15,000 µg/kg at 2 g/L, 0.67 of it into the wort: 49 nmol/L (15000 / 407.48 * 2 * 0.67)."""
    content = precursors.precursor_conjugate_nmol_g(a([15000.0]), a([0.0]), a([0.0]), a([1.0]))
    one_point = (a([1.0]), a([0.0]), a([0.0]), a([0.0]))
    brought = precursors.precursor_conjugate_nmol_l(
        a([2.0]), content, *one_point, a(0.67), a(0.5), a(0.5), a(0.5)
    )

    assert brought == pytest.approx(49.3, abs=0.05)


def test_a_hop_brings_what_its_content_and_dose_say():
    """15,000 µg/kg at 2 g/L in the mash, 0.67 of it into the wort: 49 nmol/L, as the powder."""
    lot = {"hop_lot_glutathionylated_3sh_ug_kg": 15000.0}
    brewed = beer(hops=[mash_hop(40.0)], lots=[lot], mash_conjugate_transfer_fraction=0.67)

    assert one(brewed, "hop_glutathionylated_3sh_nmol_l") == pytest.approx(49.3, abs=0.05)


def test_malt_of_100_ug_kg_gives_13_and_110_ng_l():
    """0.17 kg/L, 0.8 transfer, 100 µg/kg: 13.6 µg/L, 13 ng/L at 0.3 %, 110 at 2.5 %."""
    bound = precursors.malt_conjugate_nmol_l(a([3.4]), a([100.0]), a([1.0]), a(0.8), a(20.0))

    assert bound * 407.48 / 1000.0 == pytest.approx(13.6, abs=0.05)
    assert bound * 0.003 * 134.24 == pytest.approx(13.4, abs=0.1)
    assert bound * 0.025 * 134.24 == pytest.approx(112.0, abs=0.5)


def test_free_thiol_equivalents_and_conjugates_are_the_same_molecules():
    """0.329 µg/kg of free thiol is 1 of glutathionylated conjugate; 0.607 of cysteinylated."""
    for share, factor in ((0.0, 0.32944), (1.0, 0.60657)):
        as_conjugate = precursors.precursor_conjugate_nmol_g(
            a([1000.0]), a([0.0]), a([share]), a([1.0])
        )
        as_free = precursors.precursor_conjugate_nmol_g(
            a([1000.0 * factor]), a([1.0]), a([share]), a([1.0])
        )

        assert as_free == pytest.approx(as_conjugate, rel=1e-4)


def test_the_grape_juice_prior_is_the_published_juice():
    """Román et al., Foods, 2020: 168 ± 43 µg/L glutathionylated 3SH in untreated juice."""
    juice = table("precursors")["white grape juice"]["content_ug_kg"]

    assert juice["median"] * np.exp(juice["log_sd"] ** 2 / 2) == pytest.approx(168, abs=6)
    assert abs(juice["median"] * juice["log_sd"] - 43) < 8


def test_mash_enzymes_move_molecules_and_lose_none():
    """With equal release from both forms (factor 1) trimming in the mash changes nothing."""
    trimmed = beer(**MASH_HOPPED, release_glutathionylated_factor=1.0)
    untouched = beer(
        **MASH_HOPPED,
        release_glutathionylated_factor=1.0,
        conversion_glutathionylated_to_cysteinylated_fraction=0.0,
    )

    assert one(trimmed, "usable_3sh_nmol_l") == pytest.approx(one(untouched, "usable_3sh_nmol_l"))


def test_trimming_in_the_mash_raises_what_yeast_can_use():
    """Yeast hardly cleaves the glutathionylated form: Baumes, Wine Chemistry and Biochemistry."""
    low, high = (
        beer(**MASH_HOPPED, conversion_glutathionylated_to_cysteinylated_fraction=x)
        for x in (0.0, 0.5)
    )

    assert one(high, "free_3sh_ng_l") > 1.5 * one(low, "free_3sh_ng_l")


def test_eight_grams_of_barren_dry_hop_per_litre_take_a_fifth_of_the_thiols():
    """Assumed size, direction common practice, no source: median 21 %, 11 to 38 at ± 1 GSD."""
    lots = [{}, BARREN]
    late = [dry_hop(160.0, hop_lot_of_dry_hop=1.0)]
    for rate, share in ((0.03, 0.21), (0.015, 0.11), (0.06, 0.38)):
        plain = beer(**MASH_HOPPED, lots=lots, late_hop_removal_per_g_l=rate)
        hopped = beer(**MASH_HOPPED, lots=lots, dry_hops=late, late_hop_removal_per_g_l=rate)
        fallen = 1.0 - one(hopped, "free_3sh_ng_l") / one(plain, "free_3sh_ng_l")

        assert fallen == pytest.approx(share, abs=0.005)
        assert one(hopped, "late_hop_removal_fraction") == pytest.approx(share, abs=0.005)


def test_unhopped_beer_and_barren_european_hop_give_the_same_thiols():
    """Gros, Peeters & Collin, J. Agric. Food Chem., 2012: Saaz beer close to the unhopped one.

    A hop of 1 g/L late in the kettle; the nine-in-ten intervals of 3SH overlap by more than half.
    """
    saaz = table("hops")["Saaz"]["free_4msp_ug_kg"]
    lot = {"hop_lot_free_4msp_ug_kg": (saaz["low"] + saaz["high"]) / 2}
    draws = [
        beer(malts=[PILSNER], hops=hops, lots=[lot], rng=np.random.default_rng(3), count=4000)
        for hops in ([], [kettle_hop(20.0, 10.0)])
    ]
    (low, high), (low2, high2) = (np.percentile(d["free_3sh_ng_l"], [5, 95]) for d in draws)
    overlap = np.log(min(high, high2) / max(low, low2)) / np.log(max(high, high2) / min(low, low2))

    assert overlap > 0.5


def test_boiling_lowers_free_4msp_and_raises_free_3sh():
    """Kishimoto, Acta Hortic. 848, 307, 2009."""
    hot = {"hops": [kettle_hop(40.0, 60.0)], "malts": [PILSNER]}
    boiled = beer(**hot)
    unboiled = beer(**hot | {"hops": [kettle_hop(40.0, 0.0)]}, heat_release_fraction=0.0)

    assert one(boiled, "wort_4msp_nmol_l") < 0.1 * one(unboiled, "wort_4msp_nmol_l")
    assert one(boiled, "wort_3sh_nmol_l") > one(unboiled, "wort_3sh_nmol_l")


def test_fermentation_makes_3sh_and_acetate_from_nothing():
    """Kishimoto, Acta Hortic. 848, 307, 2009: 3SH rises, 3SHA is newly formed from 3SH."""
    brewed = beer(**MASH_HOPPED | {"release": "ordinary"})

    assert one(brewed, "packaged_3sh_nmol_l") > one(brewed, "wort_3sh_nmol_l")
    assert 0 < one(brewed, "packaged_3sha_nmol_l") < one(brewed, "packaged_3sh_nmol_l")


def test_4msp_over_fermentation_may_rise_by_a_third():
    """Kishimoto, 2008, at second hand: 4MSP in the beer 1.33 times that in the wort.

    The nine-in-ten interval of the ratio holds it, for a variety rich in 4MSP boiled an hour.
    """
    rich = table("hops")["Simcoe"]
    lot = {
        "hop_lot_free_4msp_ug_kg": rich["free_4msp_ug_kg"]["median"],
        "hop_lot_conjugated_4msp_ratio_factor": rich["conjugated_4msp_ratio_factor"]["median"],
    }
    brewed = beer(
        hops=[kettle_hop(40.0, 60.0)], lots=[lot], rng=np.random.default_rng(5), count=4000
    )
    ratio = brewed["packaged_4msp_nmol_l"] / brewed["wort_4msp_nmol_l"]
    low, high = np.percentile(ratio, [5, 95])

    assert low < 1.33 < high


def test_eight_days_of_dry_hop_give_the_4msp_of_two():
    """Most of the free 4MSP is out by day 2 and days 2 to 8 add very little (at second hand).

    Contact time is in no formula of the thiols, so that the two are one number.
    """
    needed = GRAPH.upstream(["free_4msp_ng_l"])

    assert "dry_hop_contact_day" not in needed
    assert "dry_hop_mass_g" in needed


@pytest.mark.parametrize(
    ("release", "hops", "median", "low", "high"),
    [
        ("ordinary", [mash_hop(80.0)], 17.9, 2.5, 129.0),
        ("ordinary", [], 2.75, 0.17, 43.6),
        ("active", [mash_hop(80.0)], 147.0, 20.7, 1060.0),
        ("engineered", [mash_hop(80.0)], 594.0, 79.0, 4370.0),
    ],
)
def test_prior_beers_have_the_size_that_the_priors_were_made_for(release, hops, median, low, high):
    """A regression guard, no evidence: 3SH of 4 g/L mash hop and 0.17 kg/L malt, 95 % interval."""
    brewed = beer(
        malts=[{"malt_added_kg": 3.4}],
        hops=hops,
        release=release,
        rng=np.random.default_rng(11),
        count=8000,
    )
    drawn = 134.24 * brewed["released_3sh_nmol_l"]
    limits = np.percentile(drawn, [2.5, 50, 97.5])

    assert limits == pytest.approx([low, median, high], rel=0.3)


def test_powder_beside_mash_hops_moves_the_thiols_by_tens_of_percent():
    """A regression guard, no evidence: 2.5 g/L of powder beside 7 g/L of mash hops.

    A prototype gave + 12 % (1 to 170 %); the middle falls as the mash hops rise.
    """
    brewed = beer(
        malts=[PILSNER],
        hops=[mash_hop(140.0)],
        products=[powder(2.5, "whirlpool")],
        release="active",
        rng=np.random.default_rng(13),
        count=8000,
    )
    product = brewed["from_precursors_nmol_l"]
    gain = product / (brewed["usable_3sh_nmol_l"] - product)
    low, middle, high = np.percentile(gain, [5, 50, 95])

    assert 0.06 < middle < 0.3
    assert low < 0.02
    assert high > 1.0


def test_yeast_classes_stand_in_their_order():
    """Common practice, no source: ordinary below active below engineered."""
    levels = [
        one(beer(**MASH_HOPPED | {"release": name}), "free_3sh_ng_l")
        for name in ("ordinary", "active", "engineered")
    ]

    assert levels[0] < 0.3 * levels[1]
    assert levels[1] < 0.5 * levels[2]


def test_no_yeast_releases_more_than_the_cap():
    """Assumption: at most 0.6 of a precursor."""
    assert thiol_release.released_share_fraction(a(0.5), a(3.0)) == 0.6
    assert thiol_release.released_4msp_share_fraction(a(0.2), a(9.0)) == 0.6
    assert thiol_release.released_share_fraction(a(0.02), a(1.5)) == pytest.approx(0.03)


def test_temperature_acts_either_way_and_not_at_the_reference():
    """The sign depends on the strain: Samia et al., BrewingScience 77(7/8), 2024, second hand."""

    def effect(per_8_c, temperature):
        slope, now = a(per_8_c), a(temperature)
        return float(thiol_release.release_condition_factor(a(1), slope, a(1), now, a(20.0))[0])

    assert effect(1.4, 20.0) == 1.0
    assert effect(1.4, 28.0) == pytest.approx(1.4)
    assert effect(1 / 1.4, 28.0) == pytest.approx(1 / 1.4)


@pytest.mark.parametrize("ester_month", [4.0, 8.0 * (1 + 1e-9), 8.0, 8.0 * (1 - 1e-4)])
def test_storage_follows_the_two_step_decay_also_where_rates_meet(ester_month):
    """Closed form of A -> B -> nothing against Euler steps of a thousandth of a week."""
    step, weeks = 0.001, 12.0
    fade, turn = (np.log(2.0) / month * 7.0 / 30.44 for month in (8.0, ester_month))
    alcohol, ester = 1.0, 2.0
    for _ in range(round(weeks / step)):
        alcohol, ester = alcohol + step * (turn * ester - fade * alcohol), ester * (1 - step * turn)
    exposure = thiols.thiol_storage_exposure(a(weeks), a(20.0), a(2.4))
    got = thiols.free_3sh_ng_l(a(1.0), a(2.0), exposure, a(8.0), a(ester_month)) / 134.24

    assert got == pytest.approx(alcohol, rel=1e-4)


def test_half_lives_halve_and_cold_slows():
    """Definition: 6 months at 20 °C halve the 4MSP; at 10 °C with Q10 2 it takes twelve."""
    month = 30.44 / 7.0
    for weeks, temperature in ((6 * month, 20.0), (12 * month, 10.0)):
        exposure = thiols.thiol_storage_exposure(a(weeks), a(temperature), a(2.0))

        assert thiols.free_4msp_ng_l(a(1.0), exposure, a(6.0)) == pytest.approx(132.22 / 2)


def test_paler_malt_carries_more_precursor():
    """Common practice, no source: lightly kilned malt carries more than dark malt."""
    kilning = table("thiols")["kilning"]
    order = ("unkilned", "pilsner", "pale", "vienna", "munich", "caramel", "roast", "none")
    factors = [
        prior.get("median", prior.get("value"))
        for prior in (kilning[name]["malt_kilning_factor"] for name in order)
    ]

    assert factors == sorted(factors, reverse=True)
    levels = [
        one(beer(malts=[PILSNER | {"malt_kilning_factor": f}]), "from_malt_nmol_l") for f in factors
    ]

    assert levels == sorted(levels, reverse=True)


def test_mash_hops_stay_useful_up_to_seven_grams_per_litre():
    """Common practice, no source: the step from 4 to 7 g/L still adds a quarter."""
    four, seven = (
        one(beer(malts=[PILSNER], hops=[mash_hop(20.0 * rate)]), "free_3sh_ng_l")
        for rate in (4.0, 7.0)
    )

    assert seven > 1.25 * four


def test_powder_of_three_to_seven_grams_per_litre_is_inside_and_twenty_is_not():
    """Common practice, no source: 3 to 7 g/L in use; beyond 10 g/L draws are reported."""
    low, high = precursors.VALID["precursor_added_g_l"]["precursor_added_g_l"]

    assert low <= 3.0
    assert 7.0 <= high < 20.0


def test_a_hop_of_grams_of_precursor_is_outside():
    """Dagan et al., 2016, print 450 to 2,750 mg/kg; read as mg/kg they exceed the guard."""
    _, high = precursors.VALID["hop_cysteinylated_3sh_nmol_l"]["hop_lot_cysteinylated_3sh_ug_kg"]

    assert 2_750.0 < high < 450_000.0


def test_large_late_additions_cost_thiols():
    """Common practice, no source: late hops barren of thiols lower them, all three ways."""
    plain = one(beer(**MASH_HOPPED, lots=[{}, BARREN]), "free_3sh_ng_l")
    whirlpool = [*MASH_HOPPED["hops"], whirlpool_hop(160.0, hop_lot_of_hop=1.0)]
    for changed in (
        {"hops": whirlpool},
        {"dry_hops": [dry_hop(160.0, hop_lot_of_dry_hop=1.0)]},
        {"dry_hops": [dry_hop(160.0, fermenting=1.0, hop_lot_of_dry_hop=1.0)]},
    ):
        assert one(beer(**MASH_HOPPED | changed, lots=[{}, BARREN]), "free_3sh_ng_l") < plain


def test_3s4mp_follows_a_stated_content():
    """9 to 13 µg/kg in one variety: Gros, Nizet & Collin, J. Agric. Food Chem., 2011.

    11 µg/kg at 1 g/L, 0.8 of it into the beer: 8.8 ng/L.
    """
    lot = {"hop_lot_free_3s4mp_ug_kg": 11.0}
    brewed = beer(dry_hops=[dry_hop(20.0)], lots=[lot], free_thiol_transfer_fraction=0.8)

    assert one(brewed, "free_3s4mp_ng_l") == pytest.approx(8.8)


def test_a_scale_that_reads_a_tenth_low_adds_a_tenth_more():
    assert precursors.precursor_added_g_l(a(2.5), a(1.1)) == pytest.approx([2.75])


@pytest.mark.parametrize("formula", [thiols.released_3sh_nmol_l, thiols.released_4msp_nmol_l])
def test_release_is_a_share_of_what_is_usable_and_less_what_the_fermenter_keeps(formula):
    assert formula(a(8.0, 0.2), a(0.5, 0.1), a(0.9, 0.5)) == pytest.approx([3.6, 0.01])


def test_malt_brings_its_precursor_in_proportion_to_its_mass():
    """Molar mass 407.48; 4 kg in 24 L are 166.67 g/L."""
    brought = precursors.malt_conjugate_nmol_l(a(4.0), a(100.0), a(1.0), a(0.8), a(24.0))

    assert brought == pytest.approx([1000 * 4 / 24 * 100 * 0.8 / 407.48], rel=1e-3)
