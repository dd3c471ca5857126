"""A recipe becomes a problem: what is said, what follows, what is assumed; nothing silently."""

import re

import numpy as np
import pytest

from brewsim.beer.pose import posed
from brewsim.constants import plato_of
from brewsim.logbook.pose import pose
from brewsim.study.model.factor import Kinds
from brewsim.study.propagation.simulate import simulate
from brewsim.study.steering.compare import compare

BOTTLE = ('container = "keg"', 'container = "bottle"\nrating = "3 vol"')
ALPHA = "hop_lot_stated_alpha_fraction"


def ends(problem, identity):
    """Return the 5, 50 and 95 % points of a factor."""
    found = problem.factor(identity).distribution.quantile(np.array([0.05, 0.5, 0.95]))
    return [float(x) for x in found]


# what is said ------------------------------------------------------------------------------------
def test_an_alpha_from_the_pack_gets_the_spread_of_packs_around_it(written):
    """LN 0.07 around a pack figure: design choice after Verzele & De Keukeleire (1991), p. 331."""
    low, middle, high = ends(pose(written()), f"{ALPHA} | Northern Brewer")

    assert middle == pytest.approx(0.085)
    assert np.log(high / low) / (2 * 1.6448536) == pytest.approx(0.07, abs=0.005)


def test_a_stated_range_is_taken_as_nine_in_ten_and_exactly_as_no_spread(written):
    wide = pose(written(('alpha = "8.5 %"', 'alpha = "8.0 to 9.0 %"')))
    exact = pose(written(('alpha = "8.5 %"', 'alpha = "exactly 8.5 %"')))

    assert ends(wide, f"{ALPHA} | Northern Brewer") == pytest.approx([0.08, 0.085, 0.09])
    assert not [f for f in exact.factors if f.id == f"{ALPHA} | Northern Brewer"]
    assert 0.085 in exact.fixed[ALPHA]


def test_an_alpha_that_nobody_states_is_the_varietys(written):
    low, middle, high = ends(pose(written(('alpha = "8.5 %"\n', ""))), f"{ALPHA} | Northern Brewer")

    assert 0.06 < low < middle < high < 0.12
    assert np.log(high / low) / (2 * 1.6448536) > 0.1


def test_a_brewers_own_spread_of_attenuation_is_the_whole_spread(written):
    """Total spread split 0.6 knowledge, 0.4 batch [assumption]; no other attenuation terms."""
    stated = pose(written(('"clean ale yeast"', '"clean ale yeast"\nattenuation = "76 to 82 %"')))
    factor = stated.factor("strain_attenuation_fraction")

    assert ends(stated, factor.id) == pytest.approx([0.76, 0.79, 0.82])
    assert factor.kinds == Kinds(0.6, 0.0, 0.4)
    assert stated.fixed["malt_lot_attenuation_fraction"] == 0.0
    assert stated.fixed["batch_attenuation_fraction"] == 0.0
    assert stated.fixed["attenuation_reference_temperature_c"] == 66.0


def test_without_an_own_figure_attenuation_keeps_its_lot_and_batch_terms(written):
    ids = {f.id for f in pose(written()).factors}

    assert {"malt_lot_attenuation_fraction", "batch_attenuation_fraction"} <= ids


def test_a_settings_spread_is_the_error_beside_it_so_that_it_can_still_be_turned(written):
    problem = pose(
        written(
            ('mash = "66 °C"', 'mash = "66 ± 1 °C"'),
            ('mass = "15 g"', 'mass = "15 ± 1.5 g"'),
            ("20 min at 80 °C", "20 ± 5 min at 80 °C"),
            more='\n[knobs]\n"mash" = "63 to 69 °C"\n',
        )
    )

    assert problem.fixed["mash_set_temperature_c"] == 66.0
    assert ends(problem, "mash_temperature_error_c") == pytest.approx([-1, 0, 1])
    assert ends(problem, "stand_time_error_min") == pytest.approx([-5, 0, 5])
    assert ends(problem, "hop_weighing_factor | Northern Brewer") == pytest.approx([0.9, 1, 1.1])
    assert problem.knob("mash").low == 63.0


def test_the_spread_of_the_volume_is_that_of_the_mark_in_the_kettle(written):
    low, middle, high = ends(pose(written(('"20 L"', '"20 ± 1 L"'))), "preboil_volume_l")

    assert (low / middle, high / middle) == pytest.approx((0.95, 1.05))


def test_a_stated_gravity_lands_on_the_extract_the_model_computes_with(written, median_of):
    recipe = written(more='\n[given]\noriginal_gravity_sg = "1.050 ± 0.002"\n')
    problem = pose(recipe)

    assert "original_extract_plato" in problem.graph.inputs
    assert ends(problem, "original_extract_plato") == pytest.approx(
        [plato_of(1.048), plato_of(1.050), plato_of(1.052)], abs=1e-3
    )
    assert median_of(recipe, "original_gravity_sg") == pytest.approx(1.050, abs=1e-5)


def test_any_computed_quantity_can_be_given_and_what_lay_before_it_no_longer_counts(written):
    free = pose(written())
    given = pose(written(more='\n[given]\niso_alpha_in_beer_mg_l = "20 ± 1 mg/L"\n'))

    assert "iso_alpha_in_beer_mg_l" in given.graph.inputs
    assert ends(given, "iso_alpha_in_beer_mg_l") == pytest.approx([19, 20, 21])
    assert "isomerization_rate_per_min" in {f.id for f in free.factors}
    spread = np.std(simulate(given, draws=2048).bitterness_ibu)
    assert spread < np.std(simulate(free, draws=2048).bitterness_ibu)


def test_a_lots_assay_is_stated_in_its_row(written):
    problem = pose(
        written(('lot = "F24"', 'lot = "F24"\ngiven = { linalool_mg_kg = "20 ± 1 mg/kg" }'))
    )

    assert ends(problem, "hop_lot_linalool_mg_kg | Fuggle") == pytest.approx([19, 20, 21])


def test_a_prior_can_be_replaced_in_the_recipe(written):
    problem = pose(written(more='\n[priors]\ntrub_fraction = "exactly 8 %"\n'))

    assert problem.fixed["trub_fraction"] == 0.08


def test_a_stall_is_an_event_of_its_own_when_it_is_asked_for(written):
    off, on = pose(written()), pose(written(more='\n[model]\nstall = "possible"\n'))
    event = on.factor("stall_share")

    assert not [f for f in off.factors if "stall" in f.id]
    assert event.event
    assert event.kinds == Kinds(0.0, 0.0, 1.0)
    assert event.distribution.mean == pytest.approx(0.02)
    assert "stall_loss_fraction" in {f.id for f in on.factors}


def test_altitude_lowers_the_boil_and_with_it_the_bitterness(written, median_of):
    high = written(more='\n[brewhouse]\naltitude = "1500 m"\n')

    assert pose(high).fixed["boil_temperature_c"][0] == pytest.approx(95, abs=0.3)
    assert median_of(high, "bitterness_ibu") < median_of(written(), "bitterness_ibu")


def test_a_spread_of_the_altitude_is_one_of_the_boil(written):
    """1 °C in 293 m: between 1000 and 2172 m the boil differs by 4 °C [common practice]."""
    problem = pose(written(more='\n[brewhouse]\naltitude = "1000 to 2172 m"\n'))
    low, high = problem.factor("boil_temperature_c").distribution.from_score(
        np.array([-1.6449, 1.6449])
    )

    assert high - low == pytest.approx(4.0, abs=0.01)


def test_a_late_sugar_leaves_the_boil_thinner_and_so_more_bitter(written, median_of):
    def bitterness(when):
        sugar = f'\n[[sugar]]\nname = "Sucrose"\nmass = "1 kg"\nwhen = "{when}"\n'
        return median_of(written(more=sugar), "tinseth_ibu")

    assert bitterness("late") > 1.05 * bitterness("boil")


def test_a_harvest_year_and_a_brew_day_make_an_age(written):
    old = written(
        ('alpha = "8.5 %"', 'alpha = "8.5 %"\nharvest = "2024"'),
        ('name = "Small beer"', 'name = "Small beer"\nbrewed = "2025-06-01"'),
    )

    assert 9.0 in pose(old).fixed["hop_lot_age_month"]


@pytest.mark.parametrize(("said", "factor"), [("yes", 3.0), ("unknown", 3.0), ("no", 1.0)])
def test_a_yeast_that_may_be_diastatic_widens_what_is_left_to_ferment(written, said, factor):
    """Three times the unfinished extract [assumption]."""
    recipe = written(BOTTLE, ('"clean ale yeast"', f'"clean ale yeast"\ndiastatic = "{said}"'))

    assert pose(recipe).fixed["diastatic_factor"] == factor


# lots and rows -----------------------------------------------------------------------------------
def test_additions_of_one_lot_share_its_draw_and_other_lots_have_their_own(written):
    more = '\n[[hop]]\nvariety = "{}"\nlot = "{}"\nalpha = "4.5 %"\nmass = "9 g"\nwhen = "mash"\n'
    shared = pose(written(more=more.format("fuggle", "F24")))
    apart = pose(written(more=more.format("Fuggle", "F25")))

    assert len(shared.row_labels["hop_lot"]) == 2
    assert len(set(shared.fixed["hop_lot_of_hop"].tolist())) == 2
    assert len(apart.row_labels["hop_lot"]) == 3
    assert {"Fuggle F24", "Fuggle F25"} <= {f.lot for f in apart.factors}


def test_one_variety_without_lot_names_is_one_lot_unless_its_alpha_differs(written):
    more = '\n[[hop]]\nvariety = "Northern Brewer"\n{}mass = "9 g"\nwhen = "mash"\n'
    silent = pose(written(more=more.format("")))
    same = pose(written(more=more.format('alpha = "8.5 %"\n')))
    other = pose(written(more=more.format('alpha = "10 %"\n')))
    medians = sorted(f.distribution.median for f in other.factors if f.quantity == ALPHA)

    assert len(silent.row_labels["hop_lot"]) == len(same.row_labels["hop_lot"]) == 2
    assert medians == pytest.approx([0.045, 0.085, 0.10])


def test_the_order_of_lines_changes_no_bit_of_any_number(written):
    forward = written(more='\n[[malt]]\nname = "Vienna malt"\nmass = "0.4 kg"\n')
    back = forward.model_copy(
        update={
            "malt": forward.malt[::-1],
            "hop": forward.hop[::-1],
            "precursor": forward.precursor[::-1],
        }
    )
    first, second = (simulate(pose(r), draws=1024, seed=3) for r in (forward, back))

    for outcome in pose(forward).outcomes:
        assert np.array_equal(first[outcome], second[outcome]), outcome


def test_factors_are_named_by_ingredient_never_by_place(written):
    for factor in pose(written()).factors:
        assert not re.search(r"\| ?\d|\[\d", factor.id), factor.id
        assert factor.id.partition(" | ")[0] == factor.quantity


def test_labels_read_as_english_with_the_ingredient_in_them(written):
    labels = {f.id: f.label for f in pose(written()).factors}

    assert labels[f"{ALPHA} | Fuggle"].startswith("alpha acids of Fuggle, lot F24")
    assert "Pilsner malt" in labels["malt_extract_dry_fraction | Pilsner malt"]
    assert all(label and not label.endswith(".") for label in labels.values())
    assert len(set(labels.values())) == len(labels)


def test_a_dose_of_nothing_is_as_good_as_no_line(written):
    nothing = written(('dose = "2 g/L"', 'dose = "0 g/L"'))
    without = nothing.model_copy(update={"precursor": ()})
    first, second = (simulate(pose(r), draws=1024) for r in (nothing, without))

    for outcome in pose(without).outcomes:
        np.testing.assert_allclose(first[outcome], second[outcome], rtol=1e-12, err_msg=outcome)


def test_every_factor_changes_something_and_every_input_is_provided(written):
    problem = pose(written())
    ids = {f.id for f in problem.factors}

    assert not [i for i in ids if "dry_hop" in i or "creep" in i or "sugar" in i]
    assert set(problem.graph.inputs) <= set(problem.fixed) | {f.quantity for f in problem.factors}


def test_two_recipes_are_compared_on_the_same_luck(written):
    """Only the bittering charge differs: gravity agrees but for the wort that 10 g more hold."""
    one, other = pose(written()), pose(written(('mass = "15 g"', 'mass = "25 g"')))
    pair = compare(one, other, draws=1024)
    gravity = pair.sel(outcome="original_gravity_sg")

    assert abs(float(gravity.difference)) < 3e-4
    assert float(gravity.high - gravity.low) < 1e-4
    assert float(pair.sel(outcome="bitterness_ibu").low) > 0
    assert posed(written())[0].name == "Small beer"


def test_an_outcome_off_the_list_is_drawn_for_only_where_a_recipe_aims_at_it(written):
    without = pose(written())
    aimed = pose(written(more='\n[targets]\nstrike_water = "68 to 75 °C"\n'))
    own = {"grain_temperature_c", "slaking_factor", "strike_loss_c"}

    assert not own & {f.id for f in without.factors}
    assert own <= {f.id for f in aimed.factors}
    assert "strike_water_temperature_c" in aimed.outcomes


@pytest.mark.parametrize("stated", ["1.020", "1.004", "exactly 1.011"])
def test_a_stated_final_gravity_leaves_the_gas_from_the_bottle_as_it_is(written, median_of, stated):
    bottle = ('container = "keg"\ncarbonation = "2.5 vol"', 'container = "bottle"')
    priming = 'priming = "6 g/L sugar"\n'
    given = priming + f'\n[given]\nfinal_gravity_sg = "{stated}"\n'

    assert median_of(written(bottle, more=given), "carbonation_vol") == pytest.approx(
        median_of(written(bottle, more=priming), "carbonation_vol"), abs=0.02
    )
