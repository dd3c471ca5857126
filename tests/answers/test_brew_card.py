"""The brew-day card: every figure is the one that `trace` tells."""

import shutil

import pytest

from brewsim.answers.brew_card import brew_card
from brewsim.answers.brew_day import midway
from brewsim.beer.pose import posed
from brewsim.beer.trace import traced
from brewsim.page.page import render_card
from brewsim.priors.library import load_priors
from brewsim.quantities.catalogue import OUTCOMES
from brewsim.recipe.read import parse_recipe, read_recipe
from brewsim.wording.brew_day_card import brew_day_card
from tests.door import DEMOS, brewsim
from tests.page.browsing import sheets_of
from tests.page.conftest import browser, opened
from tests.texts import TOP, beer

pytestmark = pytest.mark.slow

__all__ = ["browser", "opened"]
PRIORS = load_priors()


@pytest.fixture(scope="module", params=["lager", "bitter", "pale"])
def brewed(request):
    recipe = read_recipe(DEMOS / f"quillhaven-{request.param}.toml")
    problem, _ = posed(recipe, PRIORS)
    return recipe, problem, brew_card(recipe, problem, PRIORS)


def test_the_figures_are_those_of_trace(brewed):
    _, problem, card = brewed

    assert len(card.figures) > 10
    for name, figure in card.figures.items():
        node = traced(problem, name).content["nodes"][name]
        assert figure.value == pytest.approx(node["value"][0]), name


def test_the_correction_table_is_that_of_midway(brewed):
    recipe, _, card = brewed
    one = card.corrections[0]

    day = midway(recipe, {"preboil_gravity_sg": f"exactly {one.gravity:.3f}"}, PRIORS, draws=1024)

    assert one.amounts == {c.name: c.amount for c in day.corrections if c.reaches and c.amount > 0}
    assert one.doubtful == bool(day.doubts)


def test_a_hotter_mash_leaves_more_extract(brewed):
    _, _, card = brewed

    assert card.per_degree["final_gravity_sg"] > 0
    assert card.per_degree["alcohol_by_volume_fraction"] < 0


def test_the_blanks_are_fields_of_the_log(brewed):
    recipe, problem, card = brewed
    told = brew_day_card(recipe, problem, card)

    fields = [blank.field for row in told.rows for blank in row.read if blank.field]
    assert {"preboil_volume", "original_gravity", "final_gravity"} <= set(fields)
    assert set(fields) <= set(OUTCOMES)


def test_every_addition_has_a_box_and_its_weight(brewed):
    recipe, problem, card = brewed
    told = brew_day_card(recipe, problem, card)

    boxes = [text for row in told.rows for text, _, box in row.do if box]
    for hop in recipe.hop:
        assert any(hop.variety in text and f"{hop.mass.value:g} g" in text for text in boxes)


def test_practice_without_a_source_is_marked_and_explained(brewed):
    recipe, problem, card = brewed
    told = brew_day_card(recipe, problem, card)

    marked = [text for row in told.rows for text in row.go if text.rstrip(".").endswith("*")]
    assert any("15 min" in text for text in marked)
    assert any("* common practice, no source" in line for line in told.foot)


@pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_card_is_one_side(brewed, opened, tmp_path, paper):
    recipe, problem, card = brewed
    path = tmp_path / "card.html"
    path.write_text(render_card(brew_day_card(recipe, problem, card)), encoding="utf-8")
    tab, heard = opened(path)

    assert sheets_of(tab, paper) == 1
    assert heard == [f"request {path.as_uri()}"]


def test_the_command_writes_the_sheet_and_refuses_to_write_over_the_recipe(tmp_path):
    text = (DEMOS / "quillhaven-bitter.toml").read_text(encoding="utf-8")
    (tmp_path / "bitter.toml").write_text(text, encoding="utf-8")

    done = brewsim("card", "bitter.toml", folder=tmp_path)
    wrong = brewsim("card", "bitter.toml", "--out", "bitter.toml", folder=tmp_path)

    assert done.code == 0, done.err
    assert "strike" not in done.err
    sheet = (tmp_path / "bitter-card.html").read_text(encoding="utf-8")
    assert "priming sugar" in sheet
    assert wrong.code == 2
    assert (tmp_path / "bitter.toml").read_text(encoding="utf-8") == text


def test_a_recipe_in_us_units_has_a_card_in_us_units(tmp_path):
    text = (
        'name = "Garage pale"\nvolume = "5 US gal"\nboil = "60 min"\nmash = "152 °F"\n'
        '[[malt]]\nname = "US two-row pale malt"\nmass = "10 lb"\n'
        '[package]\ncontainer = "bottle"\ncarbonation = "2.6 vol"\n'
    )
    (tmp_path / "us.toml").write_text(text, encoding="utf-8")
    recipe = read_recipe(tmp_path / "us.toml")
    problem, _ = posed(recipe, PRIORS)

    told = brew_day_card(recipe, problem, brew_card(recipe, problem, PRIORS))

    words = " ".join(
        [*(t for row in told.rows for t, *_ in row.do), *(c for line in told.table for c in line)]
    )
    assert "US gal at 16" in words
    assert "oz/US gal" in words
    assert " lb" in words
    assert not [w for w in ("kg", " L ", "°C") if w in words]


def test_souring_and_the_fermenters_sugar_stand_where_they_are_done():
    sugar = '[[sugar]]\nname = "Dextrose"\nmass = "0.5 kg"\nwhen = "day 3"\n'
    recipe = parse_recipe(beer(sugar, top=f'{TOP}souring = "to pH 3.4"\n'))
    problem, _ = posed(recipe, PRIORS)

    told = brew_day_card(recipe, problem, brew_card(recipe, problem, PRIORS))

    names = [row.when for row in told.rows]
    done = {row.when: " ".join(text for text, *_ in row.do) for row in told.rows}
    assert names.index("Sour") + 1 == names.index("Boil 60 min")
    assert done["Sour"] == "to pH 3.4"
    assert "Dextrose" in done["Fermenter"]
    assert "Dextrose" not in done["Boil 60 min"]
