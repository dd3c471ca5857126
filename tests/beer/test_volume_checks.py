"""Water, losses and volumes: refused where nothing is left to brew, else planned to the volume."""

import numpy as np
import pytest

from brewsim import simulate
from brewsim.errors import InputError
from brewsim.logbook.pose import pose

HOUSE = "\n[brewhouse]\n"
WATER = "\n[water]\n"
BOTTLE = ('container = "keg"\ncarbonation = "2.5 vol"', 'container = "bottle"')
SUGAR = '\n[[sugar]]\nname = "Sucrose"\nmass = "0.5 kg"\n'
DRY = '\n[[hop]]\nvariety = "Fuggle"\nmass = "300 g"\nwhen = "dry hop day 3 for 4 days at 16 °C"'
EFFICIENCY = 'efficiency = "75 ± 3 %"'


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (HOUSE + 'trub_loss = "100 %"', r"line 39, brewhouse trub_loss: .* outside 0 % to 90 %"),
        (HOUSE + 'fermenter_loss = "95 %"', "outside 0 % to 90 %"),
        ('\n[given]\ntrub_fraction = "99 %"', "line 39, trub_fraction: 99 % lost .* 90 % is the"),
        (WATER + 'topup = "30 L"', "line 39, water topup: 30 L .* leaves no wort to boil"),
        (WATER + 'mash = "2 L"', "line 39, water mash: 2 L .* for 4 kg .* needs at least 7.2 L"),
        (WATER + 'sparge = "27 L"', "line 39, water sparge: 27 L makes a mash of .* at least 7.2"),
        (WATER + 'mash = "12 L"\nsparge = "3 L"', "line 39, water: 15 L in all leaves about"),
        (HOUSE + 'lauter = "no sparge"' + WATER + 'sparge = "9 L"', "line 41, water sparge: 9 L"),
        (SUGAR + 'extract = "90 %"\nmoisture = "90 %"', "line 42, sugar 1: 90 % extract and 90 %"),
        (SUGAR + 'moisture = "30 %"', "line 41, sugar 1: 100 % extract and 30 % moisture"),
        (HOUSE + 'fermenter_loss = "90 %"' + DRY, "line 3, volume: what stays in the fermenter"),
        (WATER + 'mash = "90 L"', "line 39, water: 90 L in all leaves about"),
    ],
)
def test_water_and_losses_that_leave_no_beer_are_refused_with_their_line(written, more, told):
    with pytest.raises(InputError, match=told):
        pose(written(more=more))


def test_an_efficiency_into_the_fermenter_must_be_possible_in_the_kettle(written):
    recipe = written(
        (EFFICIENCY, 'efficiency = "75 %"\nefficiency_of = "fermenter"'),
        more=HOUSE + 'trub_loss = "50 %"',
    )

    with pytest.raises(InputError, match=r"line 6, efficiency: .* needs 150 % into the kettle"):
        pose(recipe)


@pytest.mark.parametrize("volume", ["1 L", "0.5 L"])
def test_a_small_pot_is_not_boiled_dry_in_any_draw(written, volume):
    recipe = written(
        ('"20 L"', f'"{volume}"'),
        ('"60 min"', '"90 min"'),
        ('"4 kg"', '"250 g"'),
        ('mass = "15 g"', 'mass = "1.5 g"'),
        ('mass = "20 g"', 'mass = "1 g"'),
    )

    drawn = simulate(pose(recipe), draws=512, seed=1)

    assert np.isfinite(drawn["original_gravity_sg"].to_numpy()).all()


def test_the_usual_evaporation_falls_with_a_small_pot_only(written):
    evaporated = {
        litres: pose(
            written(('"20 L"', f'"{litres} L"'), ('"4 kg"', '"1 kg"'), ('"15 g"', '"2 g"'))
        ).fixed["evaporation_l_h"][0]
        for litres in (2, 4, 12, 30)
    }

    assert evaporated[4] == pytest.approx(2 * evaporated[2], rel=0.05)
    assert evaporated[12] == evaporated[30] == 4.0


@pytest.mark.parametrize("share", ["0 %", "20 %", "60 %", "90 %"])
def test_the_volume_is_hit_whatever_the_trub_holds(written, median_of, share):
    recipe = written(more=HOUSE + f'trub_loss = "{share}"')

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


@pytest.mark.parametrize("table", ["brewhouse", "given", "priors"])
def test_what_is_said_of_the_kettle_is_planned_with_wherever_it_is_said(written, median_of, table):
    told = {
        "brewhouse": 'trub_loss = "20 %"\nevaporation = "2 L/h"',
        "given": 'trub_fraction = "20 %"\nevaporation_l_h = "2 L/h"',
        "priors": 'trub_fraction = "20 %"\nevaporation_l_h = "2 L/h"',
    }
    recipe = written(more=f"\n[{table}]\n{told[table]}\n")

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_an_efficiency_into_the_fermenter_gives_one_gravity_whatever_the_trub_holds(
    written, median_of
):
    change = (EFFICIENCY, 'efficiency = "75 %"\nefficiency_of = "fermenter"')
    gravities = [
        median_of(written(change, more=HOUSE + f'trub_loss = "{share}"'), "original_gravity_sg")
        for share in ("exactly 0 %", "5 %", "20 %")
    ]

    assert gravities == pytest.approx([gravities[0]] * 3, abs=0.0001)


@pytest.mark.parametrize("form", ["pellet", "cone"])
def test_mash_hops_of_either_form_get_their_wort_back(written, median_of, form):
    recipe = written(
        (EFFICIENCY + "\n", ""),
        ('mass = "15 g"', f'mass = "300 g"\nform = "{form}"'),
        ('when = "boil 60 min"', 'when = "mash"'),
        more=HOUSE + 'lauter = "batch sparge"',
    )

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_a_syrup_takes_the_room_of_its_extract_and_its_water(written, median_of):
    syrup = '\n[[sugar]]\nname = "House syrup"\nmass = "4 kg"\n'
    recipe = written(more=syrup + 'extract = "50 %"\nmoisture = "50 %"\nfermentability = "90 %"\n')

    assert median_of(recipe, "fermenter_volume_l") == pytest.approx(20.0, abs=0.02)


def test_mash_water_stated_for_no_sparge_is_all_the_water(written):
    recipe = written(
        (EFFICIENCY + "\n", ""), more=HOUSE + 'lauter = "no sparge"' + WATER + 'mash = "26 L"'
    )

    assert pose(recipe).fixed["sparge_water_l"][0] == 0.0


@pytest.mark.parametrize(
    "more",
    [
        HOUSE + 'fermenter_loss = "25 %"',
        '\n[given]\nfermenter_loss_fraction = "25 %"',
        '\n[[hop]]\nvariety = "Fuggle"\nmass = "200 g"\nwhen = "dry hop day 9 for 4 days at 4 °C"',
    ],
)
def test_a_priming_dose_is_that_dose_in_the_middle_whatever_stays_behind(written, median_of, more):
    recipe = written(BOTTLE, more=f'priming = "6 g/L glucose"\n{more}')

    assert median_of(recipe, "priming_dose_g_l") == pytest.approx(6.0, abs=0.01)


@pytest.mark.parametrize("stated", ["15 to 25 L", "20 ± 1 L"])
def test_a_spread_of_the_volume_that_nothing_reads_is_refused(written, stated):
    recipe = written(('"20 L"', f'"{stated}"'), more=WATER + 'mash = "16 L"')

    with pytest.raises(
        InputError, match=r"line 3, volume: .* follows from the water here; write 20"
    ):
        pose(recipe)
