"""Outcomes are shown in the units their brewer writes in; what is computed stays the same."""

import numpy as np
import pytest

import brewsim
from brewsim.beer.display_units import own_units, rows_of
from brewsim.beer.requirements import read_want
from brewsim.beer.statements import resolve
from brewsim.cli.simulate import simulate as command
from brewsim.logbook.columns import read_columns
from brewsim.quantities.catalogue import BY_QUANTITY, outcome_of
from brewsim.recipe.read import parse_recipe
from tests.texts import MALT, TOP, beer, problem_of

US_TOP = TOP.replace("20 L", "5.5 US gal")


def units_of(*blocks, **parts):
    return own_units(resolve(parse_recipe(beer(*blocks, **parts))))


def test_a_metric_recipe_is_shown_as_it_is_computed():
    assert units_of() == {}


def test_volumes_are_shown_as_the_recipe_s_own_and_colours_follow_the_country():
    found = units_of(top=US_TOP)

    assert found.pop("beer_color_ebc") == "SRM"
    assert found == {q: "US gal" for q in BY_QUANTITY if q.endswith("volume_l")}
    assert "packaged_volume_l" in found
    assert units_of(top=TOP.replace("20 L", "4 imp gal"))["packaged_volume_l"] == "imp gal"
    assert "beer_color_ebc" not in units_of(top=TOP.replace("20 L", "4 imp gal"))


@pytest.mark.parametrize(("color", "unit"), [("3 °L", "SRM"), ("3 SRM", "SRM"), ("5 EBC", None)])
def test_colours_are_shown_as_malts_are_given(color, unit):
    assert units_of(malt=f'{MALT}color = "{color}"\n').get("beer_color_ebc") == unit


def test_a_target_is_shown_as_it_is_written():
    aims = '[targets]\ncolor = "4 to 6 SRM"\ncarbonation = "4.5 to 5.5 g/L CO2"\n'

    assert units_of(aims) == {"beer_color_ebc": "SRM", "carbonation_vol": "g/L CO2"}
    assert "beer_color_ebc" not in units_of('[targets]\ncolor = "6 to 9 EBC"\n', top=US_TOP)


def test_a_number_in_another_unit_is_the_same_amount_rounded_as_finely():
    """1 US gal = 3.785411784 L (NIST Handbook 44, appendix C)."""
    units = {"packaged_volume_l": "US gal", "fermenter_volume_l": "US bbl", "beer_color_ebc": "SRM"}
    gallons, barrels, color = (outcome_of(q, units) for q in units)

    assert gallons.per_model == pytest.approx(1 / 3.785411784)
    assert barrels.per_model == pytest.approx(1 / (31 * 3.785411784))
    assert color.per_model == pytest.approx(12.7 / 25)
    assert (gallons.decimals, barrels.decimals, color.decimals) == (2, 2, 0)
    assert (gallons.unit, gallons.label) == ("US gal", "packaged volume")
    assert outcome_of("packaged_volume_l").unit == "L"


def test_a_gravity_aimed_at_in_plato_is_judged_and_shown_in_plato():
    problem = problem_of(beer('[targets]\nOG = "11 to 12 °P"\nfg = "2 to 3 °P"\n'))
    looks = rows_of(problem)

    assert set(problem.targets) == {"original_extract_plato", "final_extract_plato"}
    assert problem.targets["original_extract_plato"].ends == (11.0, 12.0)
    assert looks["original_extract_plato"].unit == "°P"
    back = problem_of(beer('[targets]\noriginal_extract = "1.040 to 1.048"\n'))
    assert back.targets["original_gravity_sg"].ends == pytest.approx((1.040, 1.048))


def test_units_change_no_number():
    metric = problem_of(beer(malt=f'{MALT}color = "3.9 EBC"\n'))
    other = problem_of(beer('[targets]\ncolor = "2 to 6 SRM"\n', malt=f'{MALT}color = "3.9 EBC"\n'))
    drawn = [brewsim.simulate(p, draws=64)["beer_color_ebc"].values for p in (metric, other)]

    np.testing.assert_array_equal(*drawn)


def test_a_bare_number_is_read_in_the_unit_that_is_shown(tmp_path):
    problem = problem_of(beer(top=US_TOP))
    log = tmp_path / "log.csv"
    log.write_text("batch,color,packaged volume\n1,5,5.2\n2,6,5.3\n")
    columns = read_columns(log, units=problem.units).values

    assert columns["beer_color_ebc"] == pytest.approx(np.array([5, 6]) * 25 / 12.7)
    assert columns["packaged_volume_l"] == pytest.approx(np.array([5.2, 5.3]) * 3.785411784)
    assert read_want("color ± 2", problem).half == pytest.approx(2 * 25 / 12.7)


def test_the_command_prints_them(tmp_path, capsys):
    path = tmp_path / "beer.toml"
    path.write_text(beer(top=US_TOP))
    command(path, draws="64")
    told = capsys.readouterr().out

    assert "packaged volume (US gal)" in told
    assert "colour (SRM)" in told
    assert "(L)" not in told
