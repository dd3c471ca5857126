"""Gravity, the extract balance and the boil against tables and against their laws."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from chemicals import iapws95_rho
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS95

from brewsim.formulas.wort import boil, sugars
from brewsim.graph.build import build_graph, formulas_in, inputs_in, ranges_in
from brewsim.graph.evaluate import evaluate

PRIORS = Path(__file__).parents[3] / "priors"
HOPS = ("hop_added_g", "hop_in_mash_share", "hop_is_pellet_share")


def a(*values):
    return np.array(values, dtype=float)


def nbs_plato(gravity):
    """Rational fit to NBS Circular C440 (Bates, 1942), 0 to 40 °Bx."""
    return 28.14203 * gravity + 202.4427 - 230.5870 / gravity


def nbs_cubic_plato(gravity):
    """Cubic fit to NBS Circular C440 (Bates, 1942), 0 to 40 °Bx, RMS 0.0009."""
    return ((182.46007 * gravity - 775.68212) * gravity + 1262.7794) * gravity - 669.56218


def asbc_plato(gravity):
    """ASBC fit to Plato's table, as A. J. deLange gives it; -0.003 at 1.000."""
    return ((135.997 * gravity - 630.272) * gravity + 1111.14) * gravity - 616.868


@pytest.mark.parametrize(
    ("plato", "gravity"),
    [(5, 1.01968), (10, 1.04003), (12, 1.04837), (15, 1.06111), (16, 1.06542), (20, 1.08297)],
)
def test_gravity_of_an_extract_matches_the_printed_table(plato, gravity):
    """NBS Circular C440, printed points; ASBC fit inverted at 12 and 16 °P."""
    assert boil.original_gravity_sg(a(plato)) == pytest.approx(gravity, abs=1.5e-5)
    assert asbc_plato(gravity) == pytest.approx(plato, abs=0.006)


@pytest.mark.parametrize(
    ("low", "high", "within"), [(0, 25, 0.006), (25, 32, 0.017), (-3, 0, 0.008)]
)
def test_one_rational_form_stays_near_the_nbs_fits(low, high, within):
    plato = np.linspace(low, high, 400)
    gravity = boil.original_gravity_sg(plato)
    back = nbs_cubic_plato(gravity) if low >= 0 else nbs_plato(gravity)

    assert np.max(np.abs(back - plato)) < within + 0.002


def test_a_gravity_of_1048_is_nearly_twelve_degrees():
    """ASBC fit: 1.048 is 11.9121 °P, NBS 11.9115 °P."""
    grid = np.linspace(11.8, 12.0, 20001)
    plato = grid[np.argmin(np.abs(boil.original_gravity_sg(grid) - 1.048))]

    assert plato == pytest.approx(11.9121, abs=0.003)


def test_twenty_litres_at_twelve_degrees_hold_2511_grams():
    """Mass balance; from the tables, 20 L x 1.04837 x 0.9982 x 0.12 = 2.5116 kg."""
    extract = boil.boiled_extract_kg(a(12.0), a(20.0))

    assert extract == pytest.approx(2.5114, abs=5e-5)
    assert extract == pytest.approx(20 * 1.04837 * 0.9982 * 0.12, abs=5e-4)


@pytest.mark.parametrize(("plato", "pounds"), [(10, 26.825), (12, 32.447), (16, 43.967)])
def test_extract_of_a_us_barrel_matches_lincolns_rule_within_a_fifth_of_a_percent(plato, pounds):
    """Lincoln form, lb/bbl = 2.58/(1/P - 0.00382), as a maltster prints it."""
    kilograms = boil.boiled_extract_kg(a(plato), a(117.348))

    assert 2.58 / (1 / plato - 0.00382) == pytest.approx(pounds, abs=0.03)
    assert kilograms[0] / 0.45359237 == pytest.approx(pounds, rel=2e-3)


@given(st.floats(0.0, 30.0), st.floats(1.0, 5000.0))
def test_extract_and_its_degrees_are_exact_inverses(plato, volume):
    extract = boil.boiled_extract_kg(a(plato), a(volume))

    assert boil.preboil_extract_plato(extract, a(volume)) == pytest.approx(plato, abs=1e-9)


@pytest.mark.parametrize(("plato", "within"), [(12, 0.001), (20, 0.004), (30, 0.025)])
def test_the_closed_balance_agrees_with_the_gravity_table(plato, within):
    """Extract by the table (V S 0.9982 P/100), degrees by the closed form."""
    extract = 20.0 * boil.original_gravity_sg(a(plato)) * 0.9982 * plato / 100.0

    assert boil.preboil_extract_plato(extract, a(20.0)) == pytest.approx(plato, abs=within + 5e-4)


def test_water_expands_as_much_as_the_prior_says():
    """IAPWS-95 density at 20 and 100 °C, by two general-purpose libraries."""
    prior = tomllib.loads((PRIORS / "process.toml").read_text(encoding="utf-8"))
    cold = IAPWS95(T=293.15, P=0.101325).rho
    hot = iapws95_rho(373.12, 101325.0)
    expansion = prior["thermal_expansion_fraction"]["mean"]

    assert cold == pytest.approx(998.207, abs=1e-3)
    assert cold / hot - 1.0 == pytest.approx(0.0416, abs=1e-4)
    assert boil.hot_postboil_volume_l(a(24.0), a(expansion)) == pytest.approx(
        24.0 * cold / hot, rel=1e-4
    )


def brew(**changes):
    graph = build_graph(
        formulas_in(sugars, boil),
        {
            **inputs_in(sugars, boil),
            **{name: boil.Input(("hop",), name) for name in HOPS},
            **{
                name: boil.Input((), name)
                for name in (
                    "kettle_extract_kg", "preboil_volume_l", "pellet_absorption_l_kg",
                    "cone_absorption_l_kg",
                )
            },
        },
        valid=ranges_in(sugars, boil),
    )  # fmt: skip
    values = {
        "kettle_extract_kg": 2.6, "preboil_volume_l": 27.0, "pellet_absorption_l_kg": 5.5,
        "cone_absorption_l_kg": 9.0, "evaporation_l_h": 4.0, "evaporation_factor": 1.0,
        "boil_time_min": 60.0, "boil_temperature_c": 100.0, "topup_l": 0.0,
        "trub_fraction": 0.05, "thermal_expansion_fraction": 0.0416, "wort_ph": 5.35,
    }  # fmt: skip
    lists = dict.fromkeys((*HOPS, *(n for n in inputs_in(sugars) if n.startswith("sugar"))), ())
    for name, value in changes.items():
        (lists if name in lists else values)[name] = value
    given_values = {name: a(value) for name, value in values.items()}
    given_values |= {name: a(*value).reshape(-1, 1) for name, value in lists.items()}
    return evaluate(graph, given_values)


def sugar(mass, extract, water, late=0.0, fermenter=0.0):
    return {
        "sugar_mass_kg": (mass,), "sugar_weighing_factor": (1.0,),
        "sugar_extract_fraction": (extract,), "sugar_water_fraction": (water,),
        "sugar_is_late_share": (late,), "sugar_in_fermenter_share": (fermenter,),
    }  # fmt: skip


def test_boiling_keeps_the_extract_and_takes_the_water():
    wort = brew()
    after = boil.boiled_extract_kg(wort["original_extract_plato"], wort["postboil_volume_l"])

    assert wort["boiled_extract_kg"] == pytest.approx(2.6)
    assert after == pytest.approx(2.6)
    assert wort["postboil_volume_l"] == pytest.approx(23.0)
    assert wort["fermenter_volume_l"] == pytest.approx(23.0 * 0.95)


def test_sugar_of_no_mass_equals_no_sugar():
    plain, zero = brew(), brew(**sugar(0.0, 0.909, 0.091))

    for name in ("original_gravity_sg", "postboil_volume_l", "fermenter_volume_l"):
        assert plain[name] == pytest.approx(zero[name], rel=1e-15)


def test_monohydrate_is_glucose_and_water():
    mono = brew(**sugar(1.0, 0.909, 0.091))
    split = brew(**sugar(0.909, 1.0, 0.0), topup_l=0.091)

    assert mono["original_gravity_sg"] == pytest.approx(split["original_gravity_sg"], rel=1e-12)
    assert mono["postboil_volume_l"] == pytest.approx(split["postboil_volume_l"], rel=1e-12)


def test_the_reading_before_the_boil_is_taken_before_the_sugar():
    assert brew(**sugar(1.0, 1.0, 0.0))["preboil_gravity_sg"] == pytest.approx(
        brew()["preboil_gravity_sg"]
    )


@given(st.floats(0.5, 8.0), st.floats(0.0, 2.0), st.floats(0.0, 1.0))
def test_more_malt_or_sugar_never_lowers_the_original_gravity(extract, more, mass):
    base = brew(kettle_extract_kg=extract)["original_gravity_sg"]

    assert brew(kettle_extract_kg=extract + more)["original_gravity_sg"] >= base - 1e-15
    assert brew(kettle_extract_kg=extract, **sugar(mass, 1.0, 0.0))[
        "original_gravity_sg"
    ] >= base - 1e-15  # fmt: skip


def test_top_up_water_dilutes_and_keeps_the_extract():
    wort = brew(topup_l=2.0)
    kept = boil.boiled_extract_kg(wort["original_extract_plato"], wort["postboil_volume_l"])

    assert wort["original_gravity_sg"] < brew()["original_gravity_sg"]
    assert kept == pytest.approx(2.6)


def test_doubling_extract_water_and_evaporation_keeps_the_gravity():
    one = brew(**sugar(0.5, 1.0, 0.0))
    two = brew(
        **sugar(1.0, 1.0, 0.0), kettle_extract_kg=5.2, preboil_volume_l=54.0, evaporation_l_h=8.0
    )

    assert two["original_extract_plato"] == pytest.approx(one["original_extract_plato"])
    assert two["fermenter_volume_l"] == pytest.approx(2 * one["fermenter_volume_l"])


def test_kettle_hops_hold_wort_and_mash_hops_do_not():
    hops = {"hop_added_g": (100.0, 50.0, 40.0), "hop_in_mash_share": (0, 0, 1)}
    wort = brew(**hops, hop_is_pellet_share=(1, 0, 1))

    assert wort["fermenter_volume_l"] == pytest.approx(23.0 * 0.95 - 0.55 - 0.45)


def test_only_a_late_sugar_counts_as_late_extract():
    """By hand: 1 kg of 5 kg in all is late."""
    added, late = a(1.0, 1.0).reshape(-1, 1), a(1.0, 0.0).reshape(-1, 1)
    none = np.zeros((0, 1))

    assert sugars.late_sugar_extract_fraction(added, late, a(3.0), a(2.0)) == pytest.approx(0.2)
    assert sugars.late_sugar_extract_fraction(none, none, a(0.0), a(0.0)) == 0.0


def test_sugar_in_the_fermenter_leaves_the_kettle_as_it_was():
    plain, later = brew(), brew(**sugar(1.0, 1.0, 0.0, late=1.0, fermenter=1.0))

    for name in ("preboil_gravity_sg", "postboil_volume_l", "cast_wort_gravity_sg"):
        assert later[name] == pytest.approx(plain[name], rel=1e-15)


def test_sugar_in_the_fermenter_is_all_in_the_beer():
    """Mass balance of the fermenter, by hand: 2.6 kg less the trub's twentieth, and 1 kg."""
    wort = brew(**sugar(1.0, 1.0, 0.0, late=1.0, fermenter=1.0))
    there = boil.boiled_extract_kg(wort["original_extract_plato"], wort["fermenter_volume_l"])

    assert wort["fermenter_volume_l"] == pytest.approx(23.0 * 0.95 + 0.617)
    assert there == pytest.approx(2.6 * 0.95 + 1.0)


def test_without_losses_a_sugar_gives_one_gravity_in_kettle_and_fermenter():
    kettle = brew(**sugar(1.0, 0.8, 0.2), trub_fraction=0.0)
    later = brew(**sugar(1.0, 0.8, 0.2, late=1.0, fermenter=1.0), trub_fraction=0.0)

    for name in ("original_gravity_sg", "fermenter_volume_l", "whole_wort_l"):
        assert later[name] == pytest.approx(kettle[name], rel=1e-12)
    assert later["cast_wort_gravity_sg"] < kettle["cast_wort_gravity_sg"]
