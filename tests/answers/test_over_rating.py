"""The chance of a bottle over its rating: counted where draws show it, sought where they do not."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.answers.over_rating import over_rating
from brewsim.study.propagation.simulate import simulate
from tests.page.test_page_of_recipe import loaded

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def bitter():
    recipe, problem, _, _ = loaded("bitter")
    return recipe, problem


def test_a_strong_bottle_is_sought_out_and_agrees_with_many_draws(bitter):
    """A rating at which one draw in some ten thousand goes over is counted in 2**17 of them."""
    recipe, problem = bitter
    many = simulate(problem, 2**17, seed=7, keep=("rating_excess_vol",))
    excess = many["rating_excess_vol"].to_numpy()
    margin = float(-sorted(excess)[-40])
    strong = problem.fixed["bottle_rating_vol"] - margin
    stated = replace(problem, fixed={**problem.fixed, "bottle_rating_vol": strong})
    drawn = simulate(stated, 2048, keep=("rating_excess_vol",))

    found = over_rating(recipe, stated, drawn)

    assert found.sought
    assert found.chance == pytest.approx(39.5 / 2**17, rel=0.6)  # 4 / sqrt(39.5)
    assert found.error < 0.2 * found.chance


def test_a_weak_bottle_is_counted(bitter):
    recipe, problem = bitter
    drawn = simulate(problem, 2048, keep=("rating_excess_vol",))
    weak = drawn.assign(rating_excess_vol=drawn["rating_excess_vol"] + 1.2)

    found = over_rating(recipe, problem, weak)

    assert not found.sought
    assert found.chance == pytest.approx(float((weak["rating_excess_vol"] > 0).mean()))
    assert found.error > 0


def test_a_bottle_that_nothing_bursts_is_bounded(bitter):
    recipe, problem = bitter
    stated = replace(problem, fixed={**problem.fixed, "bottle_rating_vol": np.array([6.0])})
    drawn = simulate(stated, 2048, keep=("rating_excess_vol",))

    found = over_rating(recipe, stated, drawn)

    assert found.sought
    assert 0 < found.chance < 1e-7
