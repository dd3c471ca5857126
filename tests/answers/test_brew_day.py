"""A brew day read midway: what readings leave open, and the corrections that are left."""

import pytest

from brewsim.answers.brew_day import midway
from brewsim.logbook.house import learn
from brewsim.logbook.log import read_log
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from tests.answers.pale_day import ABV, IBU, OG, PALE, VOLUME


@pytest.fixture(scope="module")
def priors():
    return load_priors()


@pytest.fixture(scope="module")
def low(priors):
    """The pre-boil gravity is read about 11 points low."""
    return midway(parse_recipe(PALE), {"preboil_gravity_sg": "1.031 ± 0.001"}, priors)


def test_a_reading_takes_the_place_of_what_was_computed_and_narrows_it(low):
    assert low.readings == ("preboil_gravity_sg",)
    assert low.now[OG].middle < low.plan[OG].middle - 0.005
    assert low.spread_left[OG] < 0.8
    assert low.spread_left[IBU] == pytest.approx(1, abs=0.1)


def test_boiling_longer_puts_the_middle_back_and_costs_volume(low):
    longer = low.corrections[0]

    assert longer.name == "boil longer"
    assert longer.reaches
    assert longer.amount > 20
    assert longer.outcomes[OG].middle == pytest.approx(low.plan[OG].middle, abs=2e-5)
    assert longer.outcomes[VOLUME].middle < low.now[VOLUME].middle - 1


@pytest.mark.parametrize(
    ("boil", "reading", "name", "amount"),
    [
        ("90 min", "1.075", "boil shorter", 30),
        ("60 min", "1.012", "boil longer", 180),
    ],
)
def test_a_boil_is_cut_to_its_longest_hop_and_drawn_out_by_180_minutes_at_most(
    priors, boil, reading, name, amount
):
    text = PALE.replace('boil = "60 min"', f'boil = "{boil}"')
    text += '\n[brewhouse]\nevaporation = "exactly 2 L/h"\n'
    found = midway(parse_recipe(text), {"preboil_gravity": reading}, priors, draws=256)
    boiled = found.corrections[0]

    assert (boiled.name, boiled.reaches) == (name, False)
    assert boiled.amount == pytest.approx(amount, abs=1e-9)


def test_hops_that_boil_along_turn_more_bitter(low):
    kept, along = low.corrections[:2]

    assert "boil along" in along.remark
    assert along.outcomes[IBU].middle > kept.outcomes[IBU].middle > low.now[IBU].middle
    assert along.outcomes[OG].middle == pytest.approx(kept.outcomes[OG].middle, abs=1e-12)


def test_dry_extract_puts_the_middle_back_without_costing_volume(low):
    extract = next(c for c in low.corrections if c.name.startswith("add dry malt"))

    assert extract.reaches
    assert extract.outcomes[OG].middle == pytest.approx(low.plan[OG].middle, abs=2e-5)
    assert extract.outcomes[VOLUME].middle >= low.now[VOLUME].middle


def test_the_dry_extract_is_what_a_mass_balance_asks_for(low, priors):
    """S kg in V litres: gravity 1 + .384 (E + S) / (V + .617 S), E what is there [mass balance]."""
    extract = next(c for c in low.corrections if c.name.startswith("add dry malt"))
    aim = low.plan[OG].middle - 1
    held = 0.015 * priors.scalar("pellet_absorption_l_kg").value
    kettle = (low.now[VOLUME].middle + held) / (1 - priors.scalar("trub_fraction").value)

    missing_kg = kettle * (aim - (low.now[OG].middle - 1)) / (0.384 - 0.617 * aim)
    share = priors.of(priors.find("sugar", "Dry malt extract"), "extract_fraction").value

    assert extract.amount == pytest.approx(missing_kg / share, rel=0.04)


def test_water_is_no_help_for_a_weak_wort(low):
    water = low.corrections[-1]

    assert not water.reaches
    assert water.amount == 0


def test_a_strong_wort_is_diluted_back(priors):
    found = midway(parse_recipe(PALE), {"preboil_extract_plato": "12.5 ± 0.2 °P"}, priors)
    water = found.corrections[-1]

    assert water.reaches
    assert water.outcomes[OG].middle == pytest.approx(found.plan[OG].middle, abs=2e-5)
    assert water.outcomes[VOLUME].middle > found.now[VOLUME].middle + 0.5
    assert water.outcomes[IBU].middle < found.now[IBU].middle


def test_the_strength_can_be_the_aim(priors):
    found = midway(parse_recipe(PALE), {"preboil_gravity_sg": "1.031"}, priors, aim=ABV)
    extract = next(c for c in found.corrections if c.name.startswith("add dry malt"))

    assert extract.outcomes[ABV].middle == pytest.approx(found.plan[ABV].middle, abs=2e-5)


def test_readings_in_the_recipe_count_the_same(low, priors):
    text = PALE + '\n[given]\npreboil_gravity_sg = "1.031 ± 0.001"\n'

    found = midway(parse_recipe(text), {}, priors)

    assert found.plan == low.plan
    assert found.now == low.now


@pytest.mark.parametrize("aim", [OG, ABV])
def test_nothing_is_corrected_that_comes_before_a_reading(priors, aim):
    found = midway(parse_recipe(PALE), {"OG": "exactly 1.046"}, priors, aim=aim, draws=256)

    assert found.corrections == ()
    (remark,) = found.remarks
    assert remark.startswith("nothing can be judged")
    assert "before the reading of original gravity" in remark


def test_a_measured_aim_is_not_moved_by_what_comes_after_it(priors):
    reading = {"preboil_gravity": "1.036"}
    found = midway(parse_recipe(PALE), reading, priors, aim="preboil_extract_plato", draws=256)

    assert found.corrections == ()
    assert "is measured and nothing moves it any more" in found.remarks[0]


def test_nothing_is_offered_where_the_aim_is_as_planned(priors):
    found = midway(parse_recipe(PALE), {"mash_temperature": "68 °C"}, priors, draws=256)

    assert found.corrections == ()
    assert found.remarks == (
        "original gravity is where it was planned; nothing is to be done about it",
    )


def test_what_does_not_move_the_aim_does_not_move_it_the_wrong_way(priors):
    reading = {"mash_temperature": "68 °C"}
    found = midway(
        parse_recipe(PALE), reading, priors, aim="apparent_attenuation_fraction", draws=256
    )

    assert {c.name: c.moves for c in found.corrections}["dilute with water after the boil"] is False


def test_one_amount_is_offered_once_where_the_hops_make_no_difference(priors):
    weak = PALE.replace('mass = "15 g"', 'mass = "0.1 g"')
    found = midway(parse_recipe(weak), {"preboil_gravity": "1.034"}, priors, draws=256)

    assert [c.name for c in found.corrections].count("boil longer") == 1
    assert found.corrections[0].remark == ""


@pytest.mark.slow
def test_a_house_that_knows_its_kettle_narrows_the_plan(priors, tmp_path):
    """A brewery whose efficiency is known plans its gravity more narrowly."""
    path = tmp_path / "HOUSE.toml"
    text = "".join(
        f'[[batch]]\nid = "{n}"\ndate = 2026-03-0{n}\n[batch.readings]\n'
        'original_gravity = "1.040 ± 0.0005"\n'
        for n in range(1, 7)
    )
    house, _ = learn(path, read_log(text, PALE, "log.toml"), priors, seed=1)
    read = {"preboil_volume": "25 L"}

    wide, narrow = (
        midway(parse_recipe(PALE), read, priors, draws=1024, house=h) for h in (None, house)
    )

    widths = [p.plan[OG].high - p.plan[OG].low for p in (wide, narrow)]
    assert widths[1] < 0.8 * widths[0]


@pytest.mark.parametrize(
    "given", ["usual_lauter_factor = '1 sd 0.02'", "mash_efficiency_fraction = '80 ± 2 %'"]
)
def test_a_reading_takes_the_place_of_what_is_given_and_acts_only_through_it(priors, given):
    """Once the wort is read, what was stated of the mash does nothing more."""
    plain, stated = (
        midway(parse_recipe(text), {"preboil_gravity": "1.041"}, priors, draws=256)
        for text in (PALE, f"{PALE}\n[given]\n{given}\n")
    )

    assert stated.now[OG].middle == pytest.approx(plain.now[OG].middle, abs=2e-4)
    assert [c.name for c in stated.corrections] == [c.name for c in plain.corrections]


def test_what_is_given_and_acts_beside_a_reading_stays(priors):
    text = f"{PALE}\n[given]\nevaporation_l_h = 'exactly 9 L/h'\n"
    dry, usual = (
        midway(parse_recipe(t), {"preboil_gravity": "1.041"}, priors, draws=256).now[OG].middle
        for t in (text, PALE)
    )

    assert dry > usual + 0.005


def test_what_had_no_spread_in_the_plan_has_all_of_it_left(priors):
    """Without extract there is no alcohol, in no draw: it cannot be narrowed."""
    text = PALE.replace('boil = "60 min"', 'boil = "60 min"\nefficiency = "0 %"')
    found = midway(parse_recipe(text), {"preboil_volume": "25 L"}, priors, draws=256)

    assert found.plan[ABV].low == found.plan[ABV].high
    assert found.spread_left[ABV] == 1.0
