"""Choices that make another problem: yeasts, hops, bitterness formulas."""

from pathlib import Path

import numpy as np
import pytest

from brewsim.beer.scenarios import FORMULA, alternatives, choices_of, usual_formulas
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors
from brewsim.recipe.read import read_recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.sampling import Plan

THIOL = Path(__file__).resolve().parents[1] / "recipes" / "thiol-pale.toml"


@pytest.fixture(scope="module")
def priors():
    return load_priors()


@pytest.fixture(scope="module")
def recipe():
    return read_recipe(THIOL)


@pytest.fixture(scope="module")
def problem(recipe):
    return pose(recipe)


def values(problem, *names):
    return Evaluator(problem, CommonDraws([problem], Plan(8, 64, 1)), names).at()


def test_a_usual_formula_in_place_of_the_own_one_carries_on_downstream(problem):
    own = values(problem, "bitterness_ibu", "tinseth_ibu", "bitterness_to_gravity")

    found = values(usual_formulas(problem)["Tinseth"], "bitterness_ibu", "bitterness_to_gravity")

    np.testing.assert_array_equal(found["bitterness_ibu"], own["tinseth_ibu"])
    np.testing.assert_allclose(
        found["bitterness_to_gravity"] / own["bitterness_to_gravity"],
        own["tinseth_ibu"] / own["bitterness_ibu"],
        rtol=1e-9,
    )


def test_the_formula_choice_starts_with_the_recipes_own(recipe, priors):
    found = alternatives(recipe, FORMULA, (), priors)

    assert list(found) == ["kinetic", "empirical", "Tinseth", "Rager", "Garetz"]


def test_another_yeast_brings_its_own_release(recipe, priors):
    found = alternatives(recipe, "yeast name", ["clean ale yeast"], priors)
    engineered, clean = (
        np.median(values(p, "thiol_activity")["thiol_activity"]) for p in found.values()
    )

    assert list(found) == ["beta-lyase-active ale yeast", "clean ale yeast"]
    assert engineered > 2 * clean


def test_another_hop_leaves_the_alpha_of_the_old_pack_behind(recipe, priors):
    found = alternatives(recipe, "hop 1 variety", ["Galena"], priors)
    lots = found["Galena"].row_labels["hop_lot"]

    assert "Galena" in lots
    assert "Glacier, lot GL24" in lots
    assert float(np.median(values(found["Galena"], "bitterness_ibu")["bitterness_ibu"])) > float(
        np.median(values(found["Glacier"], "bitterness_ibu")["bitterness_ibu"])
    )


def test_a_ranking_can_show_every_choice_of_the_recipe(problem):
    found = choices_of(problem)

    assert [len(options) for options in found.values()] == [3, 4]


def test_a_yeast_nobody_knows_is_refused(recipe, priors):
    with pytest.raises(InputError, match="no yeast is called"):
        alternatives(recipe, "yeast name", ["moon yeast"], priors)


def test_a_choice_without_options_is_refused(recipe, priors):
    with pytest.raises(InputError, match="--choice"):
        alternatives(recipe, "hop 1 variety", [], priors)
