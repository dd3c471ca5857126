"""Planned backwards: the median beer is the beer the recipe asks for."""

import pytest

from brewsim.beer.process_settings import kettle_retention
from brewsim.beer.statements import Basis, resolve
from brewsim.beer.volume_plan import plan
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors

SUGAR = '\n[[sugar]]\nname = "Sucrose"\nmass = "0.5 kg"\n'
SPARGES = {
    "no sparge": '\n[brewhouse]\nlauter = "no sparge"\n',
    "batch sparge": '\n[brewhouse]\nlauter = "batch sparge"\n',
    "continuous sparge": '\n[brewhouse]\nlauter = "continuous sparge"\n',
}
NO_FIGURE = ('efficiency = "75 ± 3 %"\n', "")


def planned(recipe):
    return plan(Basis(resolve(recipe), load_priors()))


@pytest.mark.parametrize("lauter", list(SPARGES))
def test_the_median_beer_hits_the_volume_into_the_fermenter(written, median_of, lauter):
    recipe = written(NO_FIGURE, more=SPARGES[lauter])

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


@pytest.mark.parametrize("volume", ["20 L", "5 L", "1 US bbl", "10 hL"])
def test_the_volume_is_hit_at_every_scale_with_sugar_and_top_up(written, median_of, volume):
    recipe = written(
        ('"20 L"', f'"{volume}"'),
        ('"4 kg"', '"200 kg"' if volume == "10 hL" else '"4 kg"'),
        more=SUGAR + '\n[water]\ntopup = "1 L"\n',
    )

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(
        recipe.volume.value, rel=0.002, abs=0.02
    )


def test_hops_in_the_kettle_and_in_the_mash_get_their_wort_back(written, median_of):
    recipe = written(
        NO_FIGURE,
        ('mass = "20 g"', 'mass = "300 g"'),
        ('when = "boil 60 min"', 'when = "mash"'),
        more=SPARGES["batch sparge"],
    )

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_an_efficiency_into_the_fermenter_is_the_one_into_the_kettle_over_what_trub_leaves(
    written, median_of
):
    kettle = written(('efficiency = "75 ± 3 %"', 'efficiency = "exactly 75 %"'))
    fermenter = written(
        (
            'efficiency = "75 ± 3 %"',
            'efficiency = "exactly 75 %"\nefficiency_of = "fermenter"',
        )
    )
    trub = load_priors().scalar("trub_fraction").value

    assert median_of(kettle, "mash_efficiency_fraction") == pytest.approx(0.75)
    assert median_of(fermenter, "mash_efficiency_fraction") == pytest.approx(0.75 / (1 - trub))


def test_water_that_is_stated_stays_and_only_the_rest_is_planned(written):
    both = planned(written(more='\n[water]\nmash = "12 L"\nsparge = "15 L"\n'))
    one = planned(written(more='\n[water]\nmash = "12 L"\n'))
    none = planned(written())

    assert (both.mash_water_l, both.sparge_water_l) == (12.0, 15.0)
    assert one.mash_water_l == 12.0
    assert one.mash_water_l + one.sparge_water_l == pytest.approx(
        none.mash_water_l + none.sparge_water_l
    )


def test_stated_water_runs_forwards_so_that_too_little_makes_less_beer(written, median_of):
    water = planned(written())
    less = water.mash_water_l + water.sparge_water_l - 14.0
    recipe = written(more=f'\n[water]\nmash = "12 L"\nsparge = "{less:.3f} L"\n')

    trub = load_priors().scalar("trub_fraction").value

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(
        20.0 - 2.0 * (1 - trub), abs=0.02
    )


def test_no_sparge_puts_all_water_in_the_mash_and_a_batch_sparge_makes_two_like_runnings(written):
    everything = planned(written(NO_FIGURE, more=SPARGES["no sparge"]))
    halves = planned(written(NO_FIGURE, more=SPARGES["batch sparge"]))

    assert everything.sparge_water_l == 0.0
    assert halves.sparge_water_l == pytest.approx(halves.preboil_volume_l / 2)
    assert everything.mash_water_l == pytest.approx(halves.mash_water_l + halves.sparge_water_l)


def test_a_recipe_for_twice_as_much_plans_twice_the_water(written):
    """Holds where dead space and evaporation double too (they are amounts, not shares)."""
    house = '\n[brewhouse]\nevaporation = "{} L/h"\ndead_space = "{} L"\n'
    once = planned(written(more=house.format(3, 1)))
    twice = planned(
        written(
            ('"20 L"', '"40 L"'),
            ('"4 kg"', '"8 kg"'),
            ('"15 g"', '"30 g"'),
            ('"20 g"', '"40 g"'),
            more=house.format(6, 2),
        ),
    )

    assert twice.mash_water_l == pytest.approx(2 * once.mash_water_l)
    assert twice.sparge_water_l == pytest.approx(2 * once.sparge_water_l)
    assert twice.preboil_volume_l == pytest.approx(2 * once.preboil_volume_l)


@pytest.mark.parametrize("wanted", ["1.8", "2.4", "3.0"])
@pytest.mark.parametrize("dry", ["", '\n[[hop]]\nvariety = "Centennial"\nmass = "100 g"\n'])
def test_the_median_bottle_has_the_carbonation_that_was_asked_for(written, median_of, wanted, dry):
    more = dry + 'when = "dry hop day 5 for 4 days at 18 °C"\n' if dry else ""
    recipe = written(
        ('container = "keg"', 'container = "bottle"\nrating = "3.5 vol"'),
        ('carbonation = "2.5 vol"', f'carbonation = "{wanted} vol"'),
        more=more,
    )

    assert median_of(recipe, "carbonation_vol") == pytest.approx(float(wanted), abs=0.001)


def test_a_beer_that_is_already_over_the_wanted_carbonation_gets_no_priming(written):
    recipe = written(
        ('container = "keg"', 'container = "bottle"\nrating = "3.5 vol"\nwarmest = "4 °C"'),
        ('carbonation = "2.5 vol"', 'carbonation = "0.8 vol"'),
    )

    assert pose(recipe).fixed["priming_sugar_g_l"][0] == 0.0


def test_boil_retention_goes_from_the_small_kettle_to_the_large_one_on_the_log_of_volume():
    priors = load_priors()
    small = priors.scalar("boil_retention_fraction").value
    large = priors.scalar("boil_retention_large_fraction").value
    halfway = kettle_retention((100.0 * 500.0) ** 0.5, priors)

    assert kettle_retention(100.0, priors) is None
    assert small < halfway.median < large
    assert kettle_retention(500.0, priors).median == pytest.approx(large, rel=0.01)
    assert kettle_retention(5000.0, priors).median == pytest.approx(large, rel=0.01)


def test_priming_sugar_by_the_batch_is_spread_over_the_beer_there_is(written, median_of):
    """120 g in what is left of 20 L after the fermenter's loss; 4 % is left behind."""
    grams = written(
        ('container = "keg"', 'container = "bottle"\nrating = "3.5 vol"'),
        ('carbonation = "2.5 vol"', 'priming = "120 g sucrose"'),
    )
    loss = load_priors().scalar("fermenter_loss_fraction").value
    dose = pose(grams).fixed["priming_sugar_g_l"][0]

    assert dose * 20.0 * (1 - loss) == pytest.approx(120.0)
    assert median_of(grams, "packaged_volume_l") == pytest.approx(20.0 * (1 - loss), abs=0.02)
