"""The starter recipe: a beer that lands, so that a first page says something."""

import numpy as np

import brewsim
from brewsim.recipe.read import parse_recipe
from brewsim.recipe.starter import starter_recipe
from brewsim.study.model.common_random_numbers import lands


def test_two_in_five_batches_of_the_starter_land_in_all_its_targets():
    problem = brewsim.pose(parse_recipe(starter_recipe()))
    draws = brewsim.simulate(problem, draws=4096, seed=1)
    values = {name: np.ravel(draws[name].values) for name in problem.targets}

    assert float(lands(values, problem).mean()) > 0.4
