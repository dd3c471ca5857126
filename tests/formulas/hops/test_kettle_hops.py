"""Alpha acids in the kettle: solubility, order of additions, and the laws they keep."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from brewsim.formulas.hops import kettle_hops

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True)


def _dissolved(alpha, knee=200.0, ceiling=580.0, time=60.0):
    shape = (len(alpha), 1)
    given_time = np.broadcast_to(np.reshape(time, (-1, 1)), shape)
    return kettle_hops.hop_alpha_dissolved_fraction(
        np.reshape(np.array(alpha, float), shape),
        given_time,
        0.0125 * given_time,
        np.array([knee]),
        np.array([ceiling]),
    )[:, 0]


@pytest.mark.parametrize(
    ("ceiling", "dosed", "dissolved"),
    [
        (580, 100, 100),
        (580, 200, 200),
        (580, 400, 331),
        (580, 600, 417),
        (580, 800, 473),
        (580, 1000, 510),
        (500, 400, 320),
        (500, 1000, 461),
    ],
)
def test_solubility_cap_gives_the_published_values(ceiling, dosed, dissolved):
    """J.-P. Hosom, web log on the science of brewing, posts 13, 14 (200/500) and 31 (200/580)."""
    assert dosed * _dissolved([dosed], ceiling=ceiling)[0] == pytest.approx(dissolved, abs=0.5)


def test_a_zero_dose_dissolves_as_the_next_drop_would():
    first, nothing = _dissolved([400.0, 0.0], time=[60.0, 5.0])
    _, drop = _dissolved([400.0, 1e-7], time=[60.0, 5.0])

    assert nothing == pytest.approx(drop, rel=1e-6)
    assert nothing < first


def test_a_zero_dose_below_the_knee_would_dissolve_wholly():
    assert _dissolved([50.0, 0.0], time=[60.0, 5.0])[1] == 1.0


def test_charges_a_moment_apart_fill_the_room_of_their_sum():
    """Source: the published 417 of 600 mg/L (see above), in two charges with nothing between."""
    doses = np.array([250.0, 350.0])
    parted = _dissolved(doses, time=[60.0, 60.0 - 1e-9])

    assert doses @ parted == pytest.approx(600.0 * _dissolved([600.0])[0], rel=1e-9)
    assert doses @ parted == pytest.approx(417.0, abs=0.5)


def test_charges_of_one_moment_dissolve_as_one():
    """Past the knee, and beside an earlier and a later charge."""
    parted = _dissolved([150.0, 200.0, 300.0, 100.0, 50.0], time=[60.0, 30.0, 30.0, 30.0, 5.0])
    whole = _dissolved([150.0, 600.0, 50.0], time=[60.0, 30.0, 5.0])

    assert parted == pytest.approx(whole[[0, 1, 1, 1, 2]], rel=1e-12)


def test_a_late_charge_never_lowers_an_early_one():
    alone = _dissolved([300.0])[0]
    beside = _dissolved([300.0, 600.0], time=[60.0, 10.0])[0]

    assert beside == alone


def test_alpha_acids_that_have_isomerized_make_room():
    """Source: law; half of the first charge is gone after one half-life of 55.5 min."""
    late = _dissolved([400.0, 100.0], time=[60.0, 60.0 - np.log(2) / 0.0125])[1]
    after_half = _dissolved([200.0, 100.0], time=[60.0, 60.0 - 1e-9])[1]

    assert late == pytest.approx(after_half, rel=1e-6)


def test_mash_hops_bring_their_share_and_first_wort_hops_a_little_more(hot_side):
    hops = [
        {"hop_mass_g": 20.0, "hop_in_mash_share": 1.0, "hop_boil_time_min": 0.0},
        {"hop_mass_g": 20.0, "hop_in_first_wort_share": 1.0, "hop_boil_time_min": 0.0},
        {"hop_mass_g": 20.0},
    ]
    values = hot_side.run(hops, mash_hop_fraction=0.25, first_wort_factor=1.08)

    np.testing.assert_allclose(values["hop_alpha_in_kettle_mg_l"][:, 0], [25.0, 108.0, 100.0])
    np.testing.assert_allclose(values["hop_heat_time_min"][:, 0], [60.0, 60.0, 60.0])
    np.testing.assert_allclose(np.ptp(values["hop_isomerized_fraction"], axis=0), 0.0, atol=1e-15)


def test_whirlpool_hops_come_after_the_boil_and_isomerize_less(hot_side):
    hops = [
        {"hop_mass_g": 20.0, "hop_boil_time_min": 0.0},
        {"hop_mass_g": 20.0, "hop_in_whirlpool_share": 1.0},
        {"hop_mass_g": 20.0, "hop_in_whirlpool_share": 1.0, "hop_stand_share": 0.5},
    ]
    values = hot_side.run(hops, stand_time_min=20.0, stand_set_temperature_c=85.0)

    np.testing.assert_allclose(values["hop_heat_time_min"][:, 0], [0.0, -3.0, -13.0])
    assert np.all(np.diff(values["hop_isomerized_fraction"][:, 0]) < 0)


ADDITION = st.fixed_dictionaries(
    {
        "hop_mass_g": st.floats(0.0, 25.0),
        "hop_lot_alpha_acid_fraction": st.floats(0.01, 0.2),
        "hop_lot_alpha_lost_share": st.floats(0.0, 1.0),
        "hop_boil_time_min": st.sampled_from([0.0, 5.0, 15.0, 30.0, 60.0]),
        "hop_is_pellet_share": st.sampled_from([0.0, 1.0]),
        "place": st.sampled_from(["boil", "boil", "mash", "first_wort", "whirlpool", "late"]),
    }
)
RECIPE = st.lists(ADDITION, min_size=1, max_size=5)
STAND = {"stand_time_min": 25.0, "stand_set_temperature_c": 88.0, "stand_cooling_per_min": 0.01}


def _rows(recipe):
    rows = []
    for addition in recipe:
        row = {name: value for name, value in addition.items() if name != "place"}
        place = addition["place"]
        if place in ("mash", "first_wort"):
            row[f"hop_in_{place}_share"] = 1.0
        if place in ("whirlpool", "late"):
            row |= {"hop_in_whirlpool_share": 1.0, "hop_stand_share": 0.4 if place == "late" else 1}
        rows.append(row)
    return rows


def _bitter(hot_side, rows):
    values = hot_side.run(rows, np.random.default_rng(3), 16, dry_hop_dose_g_l=0.0, **STAND)
    assume(values["kettle_alpha_mg_l"].max() <= 850.0)
    return values["iso_alpha_in_wort_mg_l"], values["bitterness_ibu"]


@pytest.mark.slow
@EXAMPLES
@given(recipe=RECIPE, which=st.integers(0, 4), factor=st.floats(1.001, 4.0))
def test_total_iso_alpha_never_falls_when_an_addition_grows(hot_side, recipe, which, factor):
    """Source: law, inside the valid range (850 mg/L); above some 1,300 mg/L it can fail."""
    rows = _rows(recipe)
    more = [dict(row) for row in rows]
    more[which % len(rows)]["hop_mass_g"] *= factor
    iso, _ = _bitter(hot_side, rows)
    grown, _ = _bitter(hot_side, more)

    assert np.all(grown >= iso * (1 - 1e-12))


@pytest.mark.slow
@EXAMPLES
@given(recipe=RECIPE, which=st.integers(0, 4), share=st.floats(0.05, 0.95), seed=st.integers(0, 99))
def test_splitting_and_shuffling_additions_changes_nothing(hot_side, recipe, which, share, seed):
    rows = _rows(recipe)
    parts = [dict(row) for row in rows]
    part = dict(parts[which % len(rows)])
    parts[which % len(rows)]["hop_mass_g"] *= share
    part["hop_mass_g"] *= 1 - share
    parts.append(part)
    order = np.random.default_rng(seed).permutation(len(parts))

    whole, split = (_bitter(hot_side, r) for r in (rows, [parts[i] for i in order]))

    np.testing.assert_allclose(split, whole, rtol=1e-12, atol=1e-12)


@pytest.mark.slow
@EXAMPLES
@given(recipe=RECIPE, extra=ADDITION)
def test_a_zero_dose_equals_no_line(hot_side, recipe, extra):
    rows = _rows(recipe)

    with_line = _bitter(hot_side, [*rows, *_rows([extra | {"hop_mass_g": 0.0}])])

    np.testing.assert_allclose(with_line, _bitter(hot_side, rows), rtol=1e-12, atol=1e-12)
