"""Statements: what a recipe says of each quantity, resolved once, with what outranks what."""

import pytest

from brewsim.beer.statements import resolve
from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe
from tests.texts import TOP, beer, hop, problem_of


def resolved(*blocks, **parts):
    return resolve(parse_recipe(beer(*blocks, **parts)))


def test_a_key_a_prior_and_a_given_line_know_where_they_stand():
    found = resolved(
        top=f'{TOP}wort_ph = "5.3"\n[given]\nFG = "1.010"\n[priors]\ntrub_fraction = "9 %"\n'
    )

    assert found.origin("wort_ph") == "field"
    assert found.origin("final_extract_plato") == "given"
    assert found.origin("trub_fraction") == "priors"
    assert found.origin("headspace_fraction") is None


def test_a_prior_of_the_recipe_outranks_its_key():
    found = resolved(top=f'{TOP}wort_ph = "5.3"\n[priors]\nwort_ph = "5.6"\n')

    assert found.stated("wort_ph").value == 5.6
    assert not found.contradictions


def test_a_setting_stands_at_its_middle_and_its_spread_beside_it():
    found = resolved(top=f'{TOP}mash = "65 ± 2 °C"\n')

    assert found.stated("mash_set_temperature_c").phrase.kind == "exactly"
    assert found.stated("mash_temperature_error_c").phrase.low == pytest.approx(-2.0)


def test_a_planned_number_never_takes_the_place_of_a_given_one():
    found = resolved(top=f'{TOP}[given]\nevaporation_l_h = "3 L/h"\n')

    settled = found.planned({"evaporation_l_h": 9.0, "mash_water_l": 14.0})

    assert settled.stated("evaporation_l_h").value == 3.0
    assert settled.said["mash_water_l"].said == 14.0


def test_a_rate_is_dosed_by_the_wort_in_the_fermenter():
    (line,) = resolved('[[hop]]\nvariety = "Fuggle"\nrate = "2 g/L"\nwhen = "mash"\n').lines["hop"]

    assert line.dosed == 40.0


@pytest.mark.parametrize(
    ("block", "told"),
    [
        (
            (
                '[[malt]]\nname = "Munich malt"\nmass = "1 kg"\nmoisture = "4 %"\n'
                'given = { moisture_fraction = "5 %" }\n'
            ),
            "malt 2 given moisture_fraction: moisture says the same; keep one",
        ),
        (
            (
                '[[precursor]]\nname = "grape-derived powder"\nwhen = "mash"\ndose = "2 g/L"\n'
                'given = { dose_g_l = "3 g/L" }\n'
            ),
            "precursor 1 given dose_g_l: no such quantity of it",
        ),
    ],
)
def test_a_row_that_says_one_number_twice_is_refused(block, told):
    with pytest.raises(InputError, match=told):
        problem_of(beer(block))


def test_stated_water_under_given_runs_forwards_as_the_key_does():
    by_key = problem_of(beer('[water]\nmash = "24 L"\nsparge = "6 L"\n'))
    by_name = problem_of(beer('[given]\nmash_water_l = "24 L"\nsparge_water_l = "6 L"\n'))

    assert by_key.graph.nodes.keys() == by_name.graph.nodes.keys()


def test_lines_of_a_lot_share_what_either_of_them_states():
    problem = problem_of(beer(hop(lot="A"), hop("flameout", lot="A", alpha="9 %", age="8 months")))

    assert list(problem.row_labels["hop_lot"]) == ["Northern Brewer, lot A"]
    assert problem.fixed["hop_lot_age_month"].ravel().tolist() == [8.0]
