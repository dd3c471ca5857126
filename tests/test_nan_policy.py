"""No number is shown that is none, and nothing that went odd is kept quiet."""

import json
import re

import numpy as np
import pytest

import brewsim
from brewsim.logbook.pose import pose
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import value
from brewsim.recipe.read import parse_recipe
from brewsim.study.propagation.stopping_rule import not_settled
from tests.bad.corpus import GOOD
from tests.door import DEMOS
from tests.door import brewsim as command
from tests.texts import beer, problem_of

NO_NUMBER = re.compile(r"(?<![\w.])[-−+]?(nan|inf|infinity)(?![\w])", re.IGNORECASE)
SOUR = GOOD.replace('boil = "60 min"', 'boil = "60 min"\nwort_ph = "4.3 ± 0.1"')
BARE = 'name = "Bare"\nvolume = "20 L"\nboil = "60 min"\n[[malt]]\nname = "Pilsner malt"\n'
BARE += 'mass = "4 kg"\n'
HOPPED = BARE + '[[hop]]\nvariety = "Centennial"\nmass = "20 g"\nwhen = "dry hop day 5"\n'
STRANGE = {
    "bare": BARE,
    "sugar only": BARE.replace("[[malt]]", "[[sugar]]").replace("Pilsner malt", "Sucrose"),
    "no boil": BARE.replace("60 min", "0 min"),
    "half a litre": BARE.replace("20 L", "0.5 L").replace("4 kg", "100 g"),
    "a million litres": BARE.replace("20 L", "1000000 L")
    .replace("4 kg", "200 t", 1)
    .replace('"200 t"', '"200000 kg"'),
    "as strong as can be": BARE.replace("4 kg", "29 kg"),
    "as thin as can be": BARE.replace("4 kg", "0.41 kg"),
    "forty grams a litre": HOPPED.replace("20 g", "799 g"),
    "sour": SOUR,
    "no attenuation to speak of": BARE + '[yeast]\nattenuation = "exactly 30 %"\n',
    "all of it ferments": BARE + '[yeast]\nattenuation = "exactly 100 %"\n',
    "a bottle without sugar": BARE + '[package]\ncontainer = "bottle"\n',
    "ten years": BARE + '[package]\nstorage = "520 weeks at 45 °C"\n',
    "three per cent": BARE.replace("boil", 'efficiency = "exactly 3 %"\nboil', 1),
}


def _visible(page):
    return re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)


@pytest.mark.parametrize("name", STRANGE)
def test_a_strange_recipe_shows_numbers_or_is_refused(name, tmp_path):
    (tmp_path / "r.toml").write_text(STRANGE[name], encoding="utf-8")
    done = command("simulate", "r.toml", "--draws", "256", folder=tmp_path)
    checked = command("check", "r.toml", folder=tmp_path)

    assert done.code in (0, 2), done.err
    assert checked.code in (0, 2), checked.err
    assert not NO_NUMBER.search(done.out + done.err + checked.out)
    assert "Warning" not in done.err


def test_draws_outside_a_formulas_range_are_counted_and_named(tmp_path):
    (tmp_path / "r.toml").write_text(SOUR, encoding="utf-8")
    told = command("simulate", "r.toml", "--draws", "256", folder=tmp_path).out
    content = json.loads(command("simulate", "r.toml", "--json", folder=tmp_path).out)
    (found,) = [row for row in content["outside"] if row["quantity"] == "boiled_wort_ph"][:1]

    assert "outside 4.80 to 6.00 pH" in told
    assert found["count"] == found["draws"] == content["draws"]


@pytest.mark.slow
def test_the_page_names_what_left_its_range_and_shows_no_nan(tmp_path):
    (tmp_path / "r.toml").write_text(SOUR, encoding="utf-8")
    done = command("report", "r.toml", "--draws", "256", folder=tmp_path)
    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    data = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page, re.DOTALL)

    assert done.code == 0, done.err
    assert "outside 4.80 to 6.00 pH" in _visible(page)
    assert not NO_NUMBER.search(_visible(page) + done.out)
    assert data
    assert not any(NO_NUMBER.search(part) for part in data)


@pytest.mark.slow
def test_a_page_without_hops_targets_or_knobs_shows_no_nan(tmp_path):
    (tmp_path / "r.toml").write_text(BARE, encoding="utf-8")
    done = command("report", "r.toml", "--draws", "64", folder=tmp_path)
    page = (tmp_path / "r.html").read_text(encoding="utf-8")

    assert done.code == 0, done.err
    assert not NO_NUMBER.search(_visible(page) + done.out)


@pytest.mark.slow
def test_an_end_that_few_draws_leave_open_is_said(tmp_path):
    lager = DEMOS / "quillhaven-lager.toml"
    few = command("simulate", lager, "--draws", "64", folder=tmp_path).out
    many = command("simulate", lager, "--draws", "auto", folder=tmp_path).out

    assert "Few draws: an end may be off by" in few
    assert "Few draws" not in many


def test_an_interval_of_far_ends_from_few_draws_widens_its_sampling_error():
    problem = pose(parse_recipe(GOOD))
    few = brewsim.simulate(problem, draws=64)
    wide = brewsim.summarise(few, coverage=0.997)["low_error"].sel(outcome="bitterness_ibu")
    usual = brewsim.summarise(few, coverage=0.5)["low_error"].sel(outcome="bitterness_ibu")

    assert float(wide) > float(usual) > 0


def test_an_outcome_that_went_not_finite_is_counted_and_no_interval_is_given():
    draws = brewsim.simulate(pose(parse_recipe(GOOD)), draws=256)
    values = draws["bitterness_ibu"].to_numpy().copy()
    values[::10] = np.nan
    draws["bitterness_ibu"] = ("draw", values, draws["bitterness_ibu"].attrs)
    found = brewsim.summarise(draws)

    assert "draws have no value" in found.attrs["notes"]
    assert np.isnan(float(found["low"].sel(outcome="bitterness_ibu")))
    assert value(outcome_of("bitterness_ibu"), float("nan")) == "no value"


def test_a_stated_outcome_has_no_sampling_error_to_wait_for():
    """Without spread, what is left of its mean's error is rounding."""
    given = '[given]\ncarbonation_vol = "2.4 vol"\nfinal_gravity_sg = "1.020"\n'
    found = not_settled(brewsim.simulate(problem_of(beer(given)), draws=1024))

    assert {"carbonation_vol", "final_gravity_sg"}.isdisjoint(e["outcome"] for e in found)
    assert all(entry["wanted"] > 0 for entry in found)


def test_a_comparison_from_or_to_nothing_says_so(tmp_path):
    (tmp_path / "bare.toml").write_text(BARE, encoding="utf-8")
    (tmp_path / "hopped.toml").write_text(HOPPED, encoding="utf-8")
    more = command("compare", "bare.toml", "hopped.toml", folder=tmp_path)
    less = command("compare", "hopped.toml", "bare.toml", folder=tmp_path)

    assert (more.code, less.code) == (0, 0), more.err + less.err
    assert "from nothing" in more.out
    assert "to nothing" in less.out
    assert not NO_NUMBER.search(more.out + less.out)
