"""Targets and knobs of a recipe, in the problem they become."""

import pytest

from brewsim.constants import plato_of
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.study.propagation.sweep import turn
from tests.texts import BOTTLE, TOP, beer, problem_of, values_at


def malt_line(name, mass):
    return f'[[malt]]\nname = "{name}"\nmass = "{mass}"\n'


# outcomes, targets -------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ('OG = "1.040 to 1.050"', "original_gravity_sg"),
        ('fg = "at most 1.012"', "final_gravity_sg"),
        ('ABV = "4 to 5 %"', "alcohol_by_volume_fraction"),
        ('ibu = "5 to 30 IBU"', "bitterness_ibu"),
        ('colour = "5 to 30 EBC"', "beer_color_ebc"),
        ('"original gravity" = "1.040 to 1.050"', "original_gravity_sg"),
    ],
)
def test_the_trade_s_short_names_name_outcomes_too(written, line, quantity):
    assert list(pose(written(more=f"\n[targets]\n{line}\n")).targets) == [quantity]


def test_an_extract_without_a_gravity_of_its_own_may_be_aimed_at_in_gravity(written):
    target = pose(written(more='\n[targets]\nreal_extract = "1.010 to 1.020"\n')).targets

    assert target["real_extract_plato"].lower == pytest.approx(plato_of(1.010))


def test_targets_are_taken_by_the_names_people_type_in_model_units(written):
    problem = pose(
        written(more='\n[targets]\nalcohol = "4 to 5 %"\nbitterness = "at most 30 IBU"\n')
    )
    alcohol, bitter = (problem.targets[q] for q in ("alcohol_by_volume_fraction", "bitterness_ibu"))

    assert (alcohol.lower, alcohol.upper) == pytest.approx((0.04, 0.05))
    assert (bitter.lower, bitter.upper) == (None, 30.0)


def test_a_target_on_any_quantity_makes_it_an_outcome(written):
    problem = pose(written(more='\n[targets]\nkettle_extract_kg = "2 to 3 kg"\n'))

    assert "kettle_extract_kg" in problem.outcomes


def test_thiols_and_aroma_are_judged_in_folds(written):
    scales = pose(written()).scales

    assert scales["thiol_activity"] == scales["free_3sh_ng_l"] == "log2"
    assert scales["thiol_lead"] == scales["bitterness_ibu"] == "linear"


# knobs -------------------------------------------------------------------------------------------
def test_a_recipe_without_knobs_gets_its_doses_its_malt_and_the_mash_to_turn(written):
    knobs = {k.id: k for k in pose(written()).knobs}

    assert set(knobs) == {"hop 1 mass", "hop 2 mass", "precursor 1 dose", "malt 1 mass", "mash"}
    assert (knobs["hop 1 mass"].low, knobs["hop 1 mass"].high) == (0.0, 30.0)
    malt = knobs["malt 1 mass"]
    assert (malt.low, malt.high) == pytest.approx((0.75 * malt.today, 1.25 * malt.today))
    assert (knobs["mash"].low, knobs["mash"].high) == (63.0, 69.0)


def test_only_the_heaviest_malt_is_turned_unasked_and_without_malt_no_mash():
    lines = [malt_line("Vienna malt", "1 kg"), malt_line("Pilsner malt", "3.5 kg")]
    sugar = '[[sugar]]\nname = "cane sugar"\nmass = "2 kg"\n'

    assert [k.id for k in problem_of(beer(malt="\n".join(lines))).knobs] == ["malt 2 mass", "mash"]
    assert not problem_of(beer(sugar, malt="")).knobs


def test_hops_are_counted_as_in_the_file_though_rows_are_sorted_inside(written):
    more = (
        '\n[[hop]]\nvariety = "Challenger"\nmass = "7 g"\nwhen = "mash"\n'
        '\n[knobs]\n"hop 1 mass" = "0 to 30 g"\n"hop 3 mass" = "0 to 14 g"\n'
    )
    problem = pose(written(more=more))
    first, third = problem.knob("hop 1 mass"), problem.knob("hop 3 mass")

    assert problem.fixed[first.quantity][first.row, 0] == 15.0
    assert problem.fixed[third.quantity][third.row, 0] == 7.0


def test_a_knob_in_the_persons_unit_is_kept_in_model_units(written):
    problem = pose(written(more='\n[knobs]\n"malt 1 mass" = "6 to 10 lb in steps of 0.5 lb"\n'))
    knob = problem.knob("malt 1 mass")

    assert knob.low == pytest.approx(6 * 0.45359237)
    assert knob.step == pytest.approx(0.5 * 0.45359237)
    assert knob.per_shown == pytest.approx(0.45359237)
    assert knob.unit == "lb"


def test_a_temperature_knob_is_shown_on_the_scale_it_was_written_in(written):
    text = written(more='\n[knobs]\nmash = "149 to 156 °F in steps of 1 °F"\n')
    knob = pose(text).knob("mash")

    assert (knob.low, knob.high) == pytest.approx((65.0, 620 / 9))
    assert (knob.as_shown(knob.low), knob.as_shown(knob.high)) == pytest.approx((149.0, 156.0))
    assert (knob.unit, knob.step) == ("°F", pytest.approx(5 / 9))


def test_an_active_yeast_frees_more_thiols_than_an_ordinary_one(written):
    more = '\n[knobs]\n"yeast thiol_release" = ["ordinary", "active", "engineered"]\n'
    problem = pose(written(more=more))
    curve = turn(problem, "yeast thiol_release", draws=1024)
    middle = curve.middle.sel(outcome="free_3sh_ng_l").values

    assert middle[0] < middle[1] < middle[2]
    assert problem.factor("release_cysteinylated_fraction").turnable


def test_choices_of_form_and_of_where_a_powder_goes_change_the_beer(written):
    more = (
        '\n[knobs]\n"hop 1 form" = ["pellet", "cone"]\n'
        '"precursor 1 when" = ["mash", "whirlpool", "fermentation"]\n'
    )
    problem = pose(written(more=more))
    for knob, outcome in (("hop 1 form", "bitterness_ibu"), ("precursor 1 when", "free_3sh_ng_l")):
        middle = turn(problem, knob, draws=1024).middle.sel(outcome=outcome).values

        assert len(set(middle.tolist())) == len(middle), knob


def test_a_bottle_that_is_primed_has_no_knob_of_the_keg():
    text = beer('[knobs]\n"package carbonation" = "2 to 3 vol"\n', package=BOTTLE)

    with pytest.raises(InputError, match="gets its carbonation from sugar; turn package priming"):
        problem_of(text)


@pytest.mark.parametrize(
    ("knob", "told"),
    [
        ('"package container" = ["keg", "bottle"]', "two recipes"),
        ('"water mash" = "8 to 20 L"', "planned volume"),
        ('"package priming" = "0 to 8 g/L"', "keg is not primed"),
    ],
)
def test_a_knob_that_turns_nothing_is_refused_with_the_reason(written, knob, told):
    with pytest.raises(InputError, match=told):
        pose(written(more=f"\n[knobs]\n{knob}\n"))


@pytest.mark.parametrize(
    ("package", "knob", "told"),
    [
        (BOTTLE, '"volume" = "18 to 22 L"', "write two recipes and compare"),
        (
            '[package]\ncontainer = "bottle"\nrating = "3 vol"\npriming = "2/3 cup table sugar"\n',
            '"package priming" = "3 to 9 g/L"',
            "write it with one plain value",
        ),
    ],
)
def test_a_knob_that_cannot_be_says_what_to_write(package, knob, told):
    with pytest.raises(InputError, match=told):
        problem_of(beer(f"[knobs]\n{knob}\n", package=package))


def test_the_mash_tells_what_goes_beside_another_mash_where_attenuation_is_stated():
    stated = '[yeast]\nattenuation = "75 to 80 %"\n'
    given = '[given]\nattenuation_reference_temperature_c = "152 °F"\n'
    top = TOP + 'mash = "152 °F"\n'

    mash = [
        {k.id: k for k in problem_of(text).knobs}["mash"]
        for text in (
            beer(top=top, yeast=stated),
            beer(top=top),
            beer(top=top + given, yeast=stated),
        )
    ]

    assert "for a mash at 152 °F" in mash[0].note
    assert mash[0].beside == ("[given]", 'attenuation_reference_temperature_c = "152 °F"')
    assert [knob.note for knob in mash[1:]] == ["", ""]


def test_a_mash_written_anew_with_its_note_gives_the_beer_of_the_knob():
    yeast = '[yeast]\nattenuation = "75 to 80 %"\n'
    given = '[given]\nattenuation_reference_temperature_c = "66 °C"\n'
    turned = problem_of(beer(top=TOP + 'mash = "66 °C"\n', yeast=yeast)).set({"mash": 68.0})
    written = problem_of(beer(top=f'{TOP}mash = "68 °C"\n{given}', yeast=yeast))

    strengths = [values_at(p)["alcohol_by_volume_fraction"][0] for p in (turned, written)]

    assert strengths[0] == pytest.approx(strengths[1], rel=1e-12)
