"""The whole page of a shipped recipe: studies, cautions, rows, size and paper."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest

from brewsim.beer.pose import posed
from brewsim.page.compose import studied
from brewsim.page.page import render
from brewsim.priors.library import load_priors
from brewsim.recipe.read import read_recipe
from brewsim.study.propagation.simulate import simulate
from brewsim.wording.facts import facts_of, numbered_rows
from tests.page.test_page import KEPT_OFF, LIMIT, words_of

pytestmark = pytest.mark.slow

RECIPES = Path(__file__).parents[2] / "demo-recipes"


def loaded(name):
    recipe = read_recipe(RECIPES / f"quillhaven-{name}.toml")
    priors = load_priors()
    return (recipe, *posed(recipe, priors), priors)


@pytest.fixture(scope="module")
def bitter():
    recipe, problem, rows, priors = loaded("bitter")
    return studied(recipe, problem, rows, priors, draws=2048)


def test_every_targeted_outcome_has_its_dots_drivers_and_landing(bitter):
    content = bitter.content
    targeted = [o.name for o in content.outcomes if o.target is not None]

    assert len(targeted) == 4
    assert set(targeted) <= {d.outcome for d in content.drivers}
    assert content.knob_panel.sentences
    assert all(len(o.dots) == 50 for o in content.outcomes)


def test_the_page_of_a_real_recipe_is_small_whole_and_free_of_forbidden_words(bitter):
    text = render(bitter.content)
    sections = re.findall(r'<section id="(\w+)"', text)

    assert len(text.encode()) < LIMIT
    assert sections == [
        "danger", "expect", "dots", "drivers", "knobs", "spec", "kinds", "understood", "method",
    ]  # fmt: skip
    assert KEPT_OFF.findall(words_of(text)) == []


def test_a_bottled_recipe_says_the_chance_over_its_rating_first(bitter):
    first = bitter.content.dangers[0]

    assert first.title in ("Bottles could burst", "Pressure in the bottle")
    assert re.search(r"3\.0 volumes.*(in 100|in 1,000)", first.text)


def test_too_weak_a_bottle_stops_the_reader(bitter):
    recipe, problem, _, priors = loaded("bitter")
    assert bitter.draws["rating_excess_vol"].sizes["draw"] == 2048
    weak = bitter.draws.assign(rating_excess_vol=bitter.draws["rating_excess_vol"] + 1.2)

    facts = facts_of(recipe, problem, priors, weak)

    over = float((weak["rating_excess_vol"] > 0).mean())
    assert facts.over_rating_chance == pytest.approx(over)
    assert facts.over_rating_chance > 0.01


def test_a_keg_asks_no_bottle_question():
    recipe, problem, _, priors = loaded("lager")

    facts = facts_of(recipe, problem, priors, simulate(problem, 512, keep=("carbonation_vol",)))

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


def test_a_helper_runs_the_long_studies_and_changes_no_figure(bitter):
    recipe, problem, rows, priors = loaded("bitter")
    with ThreadPoolExecutor(1) as executor:
        helped = studied(recipe, problem, rows, priors, draws=2048, executor=executor)

    assert render(helped.content) == render(bitter.content)
