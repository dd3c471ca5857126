"""The whole page of a shipped recipe: studies, cautions, rows, size and paper."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest

from brewsim.answers.everything import everything
from brewsim.answers.over_rating import over_rating
from brewsim.beer.pose import posed
from brewsim.page.page import render
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe, read_recipe
from brewsim.study.propagation.simulate import simulate
from brewsim.wording.facts import facts_of, numbered_rows
from brewsim.wording.page_content import page_content
from tests.door import DEMOS, brewsim
from tests.page.test_page import KEPT_OFF, LIGHT, LIMIT, words_of
from tests.small_brewhouse import MORE_KNOBS, RECIPE

pytestmark = pytest.mark.slow

RECIPES = Path(__file__).parents[2] / "demo-recipes"


def loaded(name):
    recipe = read_recipe(RECIPES / f"quillhaven-{name}.toml")
    priors = load_priors()
    return (recipe, *posed(recipe, priors), priors)


@pytest.fixture(scope="module")
def bitter():
    recipe, problem, rows, priors = loaded("bitter")
    found = everything(recipe, problem, priors, draws=2048)
    return SimpleNamespace(found=found, content=page_content(found, rows, priors))


def test_every_targeted_outcome_has_its_strip_sources_and_count(bitter):
    content = bitter.content
    targeted = {o.name for o in content.outcomes if o.target is not None}
    strips = content.screen.pictures.strips

    assert len(targeted) == 4
    assert {strip.name for strip in strips} == targeted
    assert {bar.outcome for bar in content.sources_of} == targeted
    assert content.knob_panel.sentences
    assert [strip.count for strip in strips] == sorted(strip.count for strip in strips)


def test_the_fifty_batches_stand_for_all_of_them(bitter):
    """Margins within 0.05 standard deviations, every count within half a batch."""
    found = bitter.found
    joint = float(found.summary.attrs["joint_in_target"])

    assert found.fifty.linked.holds
    assert abs(found.fifty.count - 50 * joint) <= 0.5
    for strip in bitter.content.screen.pictures.strips:
        chance = float(found.summary.sel(outcome=strip.name)["in_target"])
        assert abs(strip.count - 50 * chance) <= 0.5


def test_no_driver_below_one_percent_is_shown_and_the_rest_is_counted(bitter):
    for bar in bitter.content.sources_of:
        assert len(bar.rows) <= 6
        assert all(row.share >= 0.01 for row in bar.rows)
        shares = sum(share for _, _, share in bar.parts)
        assert shares == pytest.approx(1.0, abs=0.02)
    found = bitter.found
    colour = found.sources["beer_color_ebc"]
    reached = int((found.by_factor.sel(outcome="beer_color_ebc")["total_order"] > 0).sum())
    assert len(colour.rows) + colour.others == reached


def test_the_page_of_a_real_recipe_is_small_whole_and_free_of_forbidden_words(bitter):
    text = render(bitter.content)
    sections = re.findall(r'<section id="(\w+)"', text)

    assert len(text.encode()) < LIMIT
    assert len(render(bitter.content, light=True).encode()) < LIGHT
    assert sections == ["verdict", "turn", "why", "again", "card", "more"]
    assert KEPT_OFF.findall(words_of(text)) == []


def test_no_file_syntax_stands_in_the_readers_part_of_the_page(bitter):
    sight = words_of(re.sub(r'id="more".*', "", render(bitter.content), flags=re.DOTALL))

    assert not re.search(r"\[\[|\[given\]|_fraction|_kg\b", sight)


def test_a_lever_that_nobody_listed_is_tried_and_said_to_be_none_of_the_knobs(bitter):
    first = bitter.content.screen.actions[0]

    assert first.title.startswith("Crystal malt 60")
    assert "Not one of your knobs" in first.text


def test_steer_says_the_same_of_measuring_as_the_page(bitter, tmp_path):
    told = " ".join(bitter.content.spec.sentences)
    said = re.search(r"(?:With the best setting of one knob|No single measurement would).*", told)[
        0
    ]

    done = brewsim("steer", DEMOS / "quillhaven-bitter.toml", "--quiet", folder=tmp_path)

    assert done.code == 0, done.err
    assert said.split(". ")[0] in " ".join(done.out.split())


def test_a_bottled_recipe_says_the_chance_over_its_rating_first(bitter):
    first = bitter.content.dangers[0]

    assert first.title in ("Bottles could burst", "Pressure in the bottle")
    assert re.search(r"3\.0 volumes.*in 1,000", first.text)


def test_too_weak_a_bottle_stops_the_reader(bitter):
    recipe, problem, _, priors = loaded("bitter")
    assert bitter.found.drawn["rating_excess_vol"].sizes["draw"] == 2048
    weak = bitter.found.drawn.assign(
        rating_excess_vol=bitter.found.drawn["rating_excess_vol"] + 1.2
    )

    facts = facts_of(recipe, problem, priors, over_rating(recipe, problem, weak))

    over = float((weak["rating_excess_vol"] > 0).mean())
    assert facts.over_rating_chance == pytest.approx(over)
    assert facts.over_rating_chance > 0.01


def test_a_keg_asks_no_bottle_question():
    recipe, problem, _, priors = loaded("lager")

    drawn = simulate(problem, 512, keep=("rating_excess_vol",))
    facts = facts_of(recipe, problem, priors, over_rating(recipe, problem, drawn))

    assert not facts.bottled
    assert facts.over_rating_chance is None
    assert facts.grape_product


def test_sources_are_numbered_in_the_order_they_are_cited_and_once():
    def row(source, grade, assumed):
        return SimpleNamespace(
            what="what", value="1", spread="no spread", kinds="",
            grade=grade, source=source, assumed=assumed,
        )  # fmt: skip

    rows = [
        row("A title, 1999", "published", False),
        row("assumption", "assumption", True),
        row("Another, 2001", "secondary", True),
        row("A title, 1999", "published", True),
    ]

    understood, assumed, sources = numbered_rows(rows)

    assert [r.source for r in (*understood, *assumed)] == ["[1]", "", "[2]", "[1]"]
    assert sources == (("1", "A title, 1999"), ("2", "Another, 2001"))


def test_a_helper_runs_the_long_studies_and_changes_no_figure():
    recipe, priors = parse_recipe(RECIPE + MORE_KNOBS), load_priors()
    problem, rows = posed(recipe, priors)
    with ThreadPoolExecutor(1) as executor:
        alone, helped = (
            page_content(everything(recipe, problem, priors, draws=512, **how), rows, priors)
            for how in ({}, {"executor": executor})
        )

    assert render(helped) == render(alone)
