"""Laws of the thiols: balance, splitting, zero doses, doublings, own contributions."""

import numpy as np
import pytest

from brewsim.formulas.thiols import precursors
from brewsim.formulas.thiols import thiol_adsorption as late_hops
from tests.formulas.thiol_beer import (
    GRAPH,
    beer,
    dry_hop,
    kettle_hop,
    mash_hop,
    powder,
    whirlpool_hop,
)

PILSNER = {"malt_added_kg": 4.0}
MASH_HOPPED = {"malts": [PILSNER], "hops": [mash_hop(80.0)], "release": "active"}
SOURCES = [name for name in GRAPH.nodes if name.startswith("from_") and name.endswith("_nmol_l")]


def one(values, name):
    return float(values[name].ravel()[0])


def a(*values):
    return np.array(values, dtype=float)


def test_sources_add_up_to_what_yeast_can_use():
    """Mass balance."""
    brewed = beer(
        malts=[PILSNER, {"malt_added_kg": 0.3, "malt_kilning_factor": 0.5}],
        hops=[mash_hop(40.0), kettle_hop(10.0, 60.0), whirlpool_hop(20.0)],
        dry_hops=[dry_hop(50.0, fermenting=1.0), dry_hop(30.0)],
        products=[powder(2.0, "whirlpool")],
    )
    parts = [one(brewed, name) for name in SOURCES]

    assert len(parts) == 6
    assert min(parts) > 0
    assert sum(parts) == pytest.approx(one(brewed, "usable_3sh_nmol_l"), rel=1e-12)


ROWS = [
    ("hops", mash_hop),
    ("hops", whirlpool_hop),
    ("hops", lambda g: kettle_hop(g, 60.0)),
    ("hops", lambda g: kettle_hop(g, 5.0)),
    ("dry_hops", lambda g: dry_hop(g, fermenting=1.0)),
    ("dry_hops", dry_hop),
    ("products", lambda g: powder(g / 20.0, "mash")),
    ("products", lambda g: powder(g / 20.0, "kettle")),
    ("products", lambda g: powder(g / 20.0, "whirlpool")),
    ("products", lambda g: powder(g / 20.0, "fermentation")),
]


@pytest.mark.parametrize(("group", "row"), ROWS)
def test_splitting_an_addition_changes_nothing(group, row):
    """A law: two halves of one lot at one time are the whole."""
    base = {"malts": [PILSNER], "hops": [mash_hop(30.0), whirlpool_hop(10.0)], "release": "active"}
    rest = list(base.pop("hops"))
    extra = rest if group == "hops" else []
    whole = beer(**base, **({"hops": rest} | {group: [*extra, row(40.0)]}))
    halves = beer(**base, **({"hops": rest} | {group: [*extra, row(15.0), row(25.0)]}))

    for name in ("free_3sh_ng_l", "free_3sha_ng_l", "free_4msp_ng_l", "hop_aroma_activity"):
        assert one(halves, name) == pytest.approx(one(whole, name), rel=1e-12)


@pytest.mark.parametrize(("group", "row"), ROWS)
def test_a_zero_dose_equals_no_line(group, row):
    """A law."""
    rest = [mash_hop(30.0), whirlpool_hop(10.0)]
    extra = rest if group == "hops" else []
    none = beer(malts=[PILSNER], hops=rest)
    zero = beer(malts=[PILSNER], **({"hops": rest} | {group: [*extra, row(0.0)]}))

    for name in ("free_3sh_ng_l", "free_3sha_ng_l", "free_4msp_ng_l", "thiol_lead"):
        assert one(zero, name) == pytest.approx(one(none, name), rel=1e-12)


def test_more_of_a_hop_never_lowers_what_it_brings_itself():
    """A law, over 500 draws of every prior and doses up to 15 g/L."""
    for row, source in (
        (mash_hop, "from_mash_hops_nmol_l"),
        (whirlpool_hop, "from_whirlpool_hops_nmol_l"),
        (lambda g: kettle_hop(g, 30.0), "from_kettle_hops_nmol_l"),
    ):
        brought = [
            beer(
                malts=[PILSNER],
                hops=[row(grams)],
                dry_hops=[dry_hop(60.0, fermenting=1.0)],
                rng=np.random.default_rng(7),
                count=500,
            )[source]
            for grams in (10.0, 100.0, 300.0)
        ]

        assert np.all(np.diff(brought, axis=0) > 0)


def test_more_dry_hop_never_lowers_what_it_brings_itself():
    """A law: precursors of a fermenting dry hop and free thiols of a finished one only rise."""
    for fermenting, name in ((1.0, "from_dry_hops_nmol_l"), (0.0, "dry_hop_4msp_nmol_l")):
        brought = [
            one(beer(dry_hops=[dry_hop(grams, fermenting=fermenting)]), name)
            for grams in (10.0, 100.0, 300.0)
        ]

        assert brought == sorted(brought)
        assert brought[0] < brought[2]


def test_whirlpool_hops_take_from_the_mash_hops_and_not_from_themselves():
    """A law: the own share of a load is left out."""
    alone = beer(hops=[whirlpool_hop(160.0)])
    beside = beer(hops=[mash_hop(40.0), whirlpool_hop(160.0)])
    mashed = beer(hops=[mash_hop(40.0)])
    own = "from_whirlpool_hops_nmol_l"

    assert one(beside, own) == pytest.approx(one(alone, own))
    assert one(beside, "from_mash_hops_nmol_l") == pytest.approx(
        one(mashed, "from_mash_hops_nmol_l") * np.exp(-0.03 * 8.0)
    )


def test_powder_in_the_fermenter_meets_no_whirlpool_hops():
    """A law: hops take only from what is in the wort beside them."""
    for point, expected in (("whirlpool", np.exp(-0.24)), ("fermentation", 1.0)):
        plain = beer(products=[powder(2.0, point)])
        hopped = beer(products=[powder(2.0, point)], hops=[whirlpool_hop(160.0)])
        kept = one(hopped, "from_precursors_nmol_l") / one(plain, "from_precursors_nmol_l")

        assert kept == pytest.approx(expected)


def test_a_dry_hop_in_fermentation_brings_precursor_and_one_after_it_none():
    """A law: without yeast at work nothing is released."""
    early, late = (beer(dry_hops=[dry_hop(80.0, fermenting=x)]) for x in (1.0, 0.0))

    assert one(early, "from_dry_hops_nmol_l") > 0
    assert one(late, "from_dry_hops_nmol_l") == 0


def test_storage_turns_acetate_to_3sh_molecule_for_molecule():
    """A law: while 3SH itself does not fade, the moles of both stay what they were."""
    fresh, stored = (
        beer(**MASH_HOPPED, storage_week=weeks, half_life_3sh_month=1e9) for weeks in (0.0, 20.0)
    )

    def moles(brewed):
        return one(brewed, "free_3sh_ng_l") / 134.24 + one(brewed, "free_3sha_ng_l") / 176.27

    assert moles(stored) == pytest.approx(moles(fresh), rel=1e-7)
    assert one(stored, "free_3sha_ng_l") < 0.6 * one(fresh, "free_3sha_ng_l")
    assert one(stored, "free_3sh_ng_l") > one(fresh, "free_3sh_ng_l")


def test_a_boil_of_no_minutes_is_a_whirlpool_and_ten_minutes_a_full_one():
    """A law: the transfer from the kettle is a straight line, without a step."""

    def transfer(minutes):
        shares = a(0.67), a(0.58), a(0.75)
        found = precursors.hop_conjugate_transfer_fraction(a([minutes]), a([0.0]), *shares)
        return float(found[0, 0])

    assert transfer(0.0) == pytest.approx(0.75)
    assert transfer(10.0) == transfer(60.0) == pytest.approx(0.58)
    assert transfer(5.0) == pytest.approx((0.58 + 0.75) / 2)


def test_doubling_everything_keeps_the_concentrations():
    """A law: twice the grams in twice the litres."""
    once = beer(malts=[PILSNER], hops=[mash_hop(40.0)], dry_hops=[dry_hop(50.0)])
    twice = beer(
        malts=[{"malt_added_kg": 8.0}],
        hops=[mash_hop(80.0)],
        dry_hops=[dry_hop(100.0)],
        whole_wort_l=40.0,
        fermenter_volume_l=40.0,
    )

    for name in ("free_3sh_ng_l", "free_3sha_ng_l", "free_4msp_ng_l", "hop_aroma_activity"):
        assert one(twice, name) == pytest.approx(one(once, name))


def test_a_beer_of_nothing_has_no_thiols():
    """A law: empty lists work."""
    brewed = beer()

    for name in (*SOURCES, "free_3sh_ng_l", "free_3sha_ng_l", "free_4msp_ng_l", "free_3s4mp_ng_l"):
        assert one(brewed, name) == 0.0


def test_late_hop_doses_keep_fermenting_and_finished_apart():
    """Bookkeeping."""
    grams, share = a([60.0], [40.0]), a([1.0], [0.0])

    assert late_hops.fermenting_dry_hop_dose_g_l(grams, share, a(20.0)) == 3.0
    assert late_hops.finished_dry_hop_dose_g_l(grams, share, a(20.0)) == 2.0
