"""An outcome on the command line: what there is of this recipe, and near misses among it."""

import pytest

from brewsim.cli.loading import outcome_named
from brewsim.errors import InputError
from tests.texts import beer, problem_of


@pytest.fixture(scope="module")
def problem():
    return problem_of(beer())


def test_an_outcome_that_this_recipe_has_not_is_not_suggested(problem):
    with pytest.raises(InputError) as caught:
        outcome_named(problem, "mash_temperature")

    (fault,) = caught.value.faults
    assert "Did you mean mash_temperature" not in fault
    assert "no outcome 'mash_temperature' of this recipe." in fault


def test_a_near_miss_among_its_own_is_suggested(problem):
    with pytest.raises(InputError, match=r"Did you mean bitterness"):
        outcome_named(problem, "biterness")
    assert outcome_named(problem, "ABV") == "alcohol_by_volume_fraction"
