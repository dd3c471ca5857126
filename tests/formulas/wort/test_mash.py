"""Malt analyses, run-off and lautering against printed figures and against their laws."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.formulas.wort import boil, mash

PRIORS = Path(__file__).parents[3] / "priors"
ONE = np.ones(1)


def a(*values):
    return np.array(values, dtype=float)


def per_malt(*values):
    return a(*values)[:, None]


def lautered(grain_kg, sparge_share, variant, *, exchange=0.65):
    """27 L of run-off, 1 L/kg held, 0.5 L dead space, extract left out of the retained wort."""
    held = a(grain_kg + 0.5)
    tables = {"no_sparge": (), "batch_sparge": (27.0 * sparge_share,)}
    sparge = tables.get(variant, (27.0 * sparge_share,))
    formula = getattr(mash, f"mash_efficiency_fraction__{variant}")
    water = [value for volume in sparge for value in (a(volume), ONE)]
    last = [a(exchange)] if variant == "continuous_sparge" else []
    return formula(ONE, ONE, a(27.0), *water, held, ONE, *last)[0]


def test_no_sparge_lautering_matches_the_printed_example():
    """S. Terrill, Batch sparging theory, 2013: 5 kg, 27 L, 1 L/kg, 0.5 L give 0.8308."""
    assert lautered(5.0, 0.0, "no_sparge") == pytest.approx(0.8308, abs=5e-5)


@pytest.mark.parametrize(
    ("grain", "once", "twice"),
    [(4, 0.857, 0.9375), (5, 0.831, 0.916), (6, 0.806, 0.894), (8, 0.761, 0.851)],
)
def test_lautering_falls_with_the_grist_as_the_theory_says(grain, once, twice):
    """S. Terrill, 2013, worked for four grists with one and with two equal run-offs."""
    assert lautered(grain, 0.0, "no_sparge") == pytest.approx(once, abs=6e-4)
    assert lautered(grain, 0.5, "batch_sparge") == pytest.approx(twice, abs=6e-4)


@pytest.mark.parametrize("grain", [2, 3, 4, 5, 6, 7])
def test_continuous_sparging_lies_two_to_five_points_above_two_batches(grain):
    """The assumption its exchange factor is set by: two to five points (from memory)."""
    exchange = tomllib.loads((PRIORS / "process.toml").read_text(encoding="utf-8"))[
        "sparge_exchange_factor"
    ]["mean"]
    held = 1.49 * grain
    gain = lautered(held, 0.5, "continuous_sparge", exchange=exchange) - lautered(
        held, 0.5, "batch_sparge"
    )

    assert 0.02 < gain < 0.05


def test_a_batch_sparge_without_sparge_water_is_no_sparge():
    assert lautered(5.0, 0.0, "batch_sparge") == pytest.approx(lautered(5.0, 0.0, "no_sparge"))
    assert lautered(5.0, 0.0, "continuous_sparge") == pytest.approx(lautered(5.0, 0.0, "no_sparge"))


def test_lautering_never_gives_more_than_was_dissolved():
    share = mash.mash_efficiency_fraction__no_sparge(a(4.0), a(3.8), a(30.0), a(0.01), a(1.05))

    assert share == pytest.approx(0.95)


@pytest.mark.parametrize(
    ("coarse", "moisture", "printed"), [(0.78, 0.035, 0.752), (0.808, 0.04, 0.7749)]
)
def test_extract_as_is_differs_from_noonan_by_his_unexplained_derate_only(
    coarse, moisture, printed
):
    """G. J. Noonan, New Brewing Lager Beer, 1996, p. 12-13: CGDB/(1 + MC) - 0.002."""
    noonan = coarse / (1.0 + moisture) - 0.002
    ours = mash.malt_extract_fraction(per_malt(coarse), per_malt(moisture))[0, 0]

    assert noonan == pytest.approx(printed, abs=6e-4)
    assert ours == pytest.approx(coarse * (1 - moisture))
    assert 0.0 < ours - noonan < 0.002


def test_two_points_of_moisture_and_extract_cost_half_a_degree():
    """G. J. Noonan, Understanding Malt Analysis Sheets: a 12 °P wort falls to 11.5 °P."""
    dry = mash.malt_extract_fraction(per_malt(0.78), per_malt(0.04))
    damp = mash.malt_extract_fraction(per_malt(0.76), per_malt(0.06))

    assert 12.0 * damp[0, 0] / dry[0, 0] == pytest.approx(11.5, abs=0.06)


def test_first_wort_matches_the_printed_example():
    """kandrsmith.org, mash time: 3.2 kg of malt at 0.81 in 15 L give 14.7 °P and 1.060."""
    added = mash.malt_added_kg(per_malt(3.2), per_malt(1.0))
    extract = mash.mash_extract_kg(added, per_malt(0.81))
    plato = boil.preboil_extract_plato(extract, 15.0 + 0.617 * extract)

    assert plato == pytest.approx(14.7, abs=0.07)
    assert boil.preboil_gravity_sg(plato) == pytest.approx(1.060, abs=5e-4)


def test_retained_wort_holds_what_daniels_reports():
    """R. Daniels, Designing Great Beers, 1996: 1.6 L of wort per kg; 1.04 apparent is 1.49."""
    held = mash.retained_wort_l(a(1.0), a(1.04), a(0.0), a(0.0), a(0.73))

    assert held == pytest.approx(1.49, abs=0.005)
    assert abs(held[0] - 1.6) < 0.15


def test_the_volume_in_the_kettle_and_the_wort_left_behind_make_up_the_water():
    water = mash.preboil_volume_l(a(20.0), a(10.0), a(1.0), a(5.0), a(1.04), a(0.2), a(0.5))
    held = mash.retained_wort_l(a(5.0), a(1.04), a(0.2), a(0.5), a(3.9))

    assert water + held == pytest.approx(30.0 + 0.617 * 3.9)


def test_a_stated_efficiency_is_taken_as_it_is_and_copied():
    stated = a(0.72)
    used = mash.mash_efficiency_fraction__stated(stated)

    assert used == pytest.approx(0.72)
    assert not np.shares_memory(used, stated)


def test_the_coarse_grind_gap_lowers_conversion_and_husks_do_no_harm():
    found = mash.converted_extract_kg(
        per_malt(4.0, 0.2), per_malt(0.78, 0.0), per_malt(0.81, 0.0), a(0.97), a(0.0162)
    )

    assert found == pytest.approx(4.0 * 0.78 * 0.97 * 0.98)


def test_hops_in_the_mash_hold_wort_and_others_do_not():
    held = mash.mash_hop_absorption_l(
        per_malt(40.0, 40.0, 30.0), per_malt(1, 0, 1), per_malt(1, 1, 0), a(5.5), a(9.0)
    )

    assert held == pytest.approx(0.04 * 5.5 + 0.03 * 9.0)


@given(
    light=st.floats(1.0, 8.0),
    more=st.floats(0.0, 2.0),
    sparge=st.floats(0.0, 15.0),
    variant=st.sampled_from(["no_sparge", "batch_sparge", "continuous_sparge"]),
)
def test_more_malt_never_lowers_the_extract_in_the_kettle(light, more, sparge, variant):
    def kettle(mass):
        grain, extract = a(mass), a(0.78 * mass)
        volume = mash.preboil_volume_l(
            a(30.0 - sparge), a(sparge), ONE, grain, a(1.04), a(0), a(0.5)
        )
        held = mash.retained_wort_l(grain, a(1.04), a(0), a(0.5), 0.95 * extract)
        water = [] if variant == "no_sparge" else [a(sparge), ONE]
        last = [a(0.65)] if variant == "continuous_sparge" else []
        formula = getattr(mash, f"mash_efficiency_fraction__{variant}")
        share = formula(extract, 0.95 * extract, volume, *water, held, ONE, *last)
        return mash.kettle_extract_kg(extract, share)[0]

    assert kettle(light + more) >= kettle(light) - 1e-12


def test_no_malt_at_all_gives_no_extract_and_no_nan():
    none = np.zeros((0, 1))
    extract = mash.mash_extract_kg(none, none)
    found = mash.converted_extract_kg(none, none, none, a(0.97), a(0.015))
    share = mash.mash_efficiency_fraction__no_sparge(extract, found, a(20.0), a(0.5), ONE)

    assert mash.grain_mass_kg(none) == 0.0
    assert mash.kettle_extract_kg(extract, share) == 0.0


def malt_table():
    return tomllib.loads((PRIORS / "malts.toml").read_text(encoding="utf-8"))


def test_malt_extract_is_the_sources_typical_potential_over_sucrose():
    """Malts, basic profiles (home-brewing archive): points per pound and gallon over 46.21.

    Left out: rye, smoked and six-row malt, whose priors weigh this table against maltsters.
    """
    typical = {
        "US two-row pale malt": (37, 1.8),
        "Canadian two-row pale malt": (36, 2.1), "British pale ale malt": (38, 2.5),
        "Belgian pale malt": (37, 3.0), "Pilsner malt": (38, 1.6),
        "Belgian Pilsner malt": (37, 1.8),
        "British Pilsner malt": (36, 1.8), "British lager malt": (38, 1.4), "Wheat malt": (39, 1.8),
        "US wheat malt": (38, 2.0), "US soft white wheat malt": (40, 2.8),
        "Dark wheat malt": (39, 8), "Acid malt": (35, 1.5),
        "Vienna malt": (37, 3), "US Vienna malt": (35, 4), "Mild malt": (37, 4),
        "Biscuit malt": (35, 24), "Aromatic malt": (36, 25),
        "Brown malt": (32, 70), "Amber malt": (32, 35),
    }  # fmt: skip
    table = malt_table()

    for name, (points, color) in typical.items():
        assert table[name]["extract_dry_fraction"]["mean"] == pytest.approx(
            points / 46.21, abs=1e-4
        )
        assert table[name]["color_lovibond"]["median"] == color


def test_every_malt_and_sugar_says_all_that_the_formulas_ask():
    malt = {"extract_dry_fraction", "moisture_fraction", "color_lovibond", "fermentability_factor"}
    sugar = {"extract_fraction", "water_fraction", "fermentable_fraction", "color_lovibond"}
    table = malt_table()
    kilned = {"pilsner", "pale", "unkilned", "munich", "caramel", "roast", "none", "cereal"}

    assert len(table) >= 30
    for entry in table.values():
        if entry.get("kind") == "sugar":
            assert sugar <= set(entry)
        else:
            assert malt <= set(entry)
            assert entry["kilning"] in kilned


def test_no_name_or_alias_of_a_malt_or_sugar_is_used_twice():
    table = malt_table()
    names = [name.casefold() for name in table]
    names += [alias.casefold() for entry in table.values() for alias in entry.get("aliases", [])]

    assert sorted(names) == sorted(set(names))


def test_extract_and_water_of_a_sugar_make_no_more_than_the_sugar():
    for name, entry in malt_table().items():
        if entry.get("kind") == "sugar":
            extract = entry["extract_fraction"]
            middle = extract["mean"] if extract["family"] == "normal" else extract["value"]

            assert middle + entry["water_fraction"]["value"] <= 1.0 + 1e-9, name


def test_the_mash_is_as_much_warmer_as_its_error_says():
    assert mash.mash_temperature_c(a(66.0, 66.0), a(0.5, -1.0)) == pytest.approx([66.5, 65.0])
