"""A brewery's own middle and scatter, against closed forms."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from brewsim.distributions.families import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.problem import Kinds, Problem
from brewsim.study.spread import spread_by_kind
from tests.study.models import sum_of_four

Z90 = 1.6448536269514722


def four(kinds):
    return Problem.of([sum_of_four], {f"x{i}": (normal(0, 1), kinds) for i in range(1, 5)})


def test_middle_and_scatter_of_a_linear_model():
    """Four standard normals, knowledge .5: own middle N(0, 2), own scatter 1.645 sqrt 2."""
    found = spread_by_kind(four(Kinds(0.5, 0.2, 0.3))).sel(outcome="sum_of_four")

    assert float(found["middle"]) == pytest.approx(0.0, abs=0.1)
    assert float(found["middle_high"]) == pytest.approx(Z90 * np.sqrt(2), rel=0.08)
    assert float(found["scatter"]) == pytest.approx(Z90 * np.sqrt(2), rel=0.03)
    assert float(found["inside"].mean()) == pytest.approx(0.9, abs=1e-3)
    assert found.sizes["state"] == 256


def test_with_the_same_lots_the_lot_scatters_no_more():
    found = spread_by_kind(four(Kinds(0.5, 0.2, 0.3)), same_lots=True).sel(outcome="sum_of_four")

    assert float(found["scatter"]) == pytest.approx(Z90 * np.sqrt(1.2), rel=0.03)


def test_without_batch_scatter_every_brew_is_the_same():
    found = spread_by_kind(four(Kinds()), knowledge=64, batches=16)

    assert float(abs(found["own_scatter"]).max()) < 1e-12


def one(x):
    return 1.0 * x


def test_outcomes_felt_in_folds_scatter_in_doublings():
    """ln x has sd .5, batch share .7: own half width 1.645 x .5 sqrt .7 / ln 2 doublings."""
    problem = Problem.of(
        [one], {"x": (lognormal(8, 0.5), Kinds(0.3, 0.0, 0.7))}, scales={"one": "log2"}
    )

    found = spread_by_kind(problem).sel(outcome="one")

    exact = Z90 * 0.5 * np.sqrt(0.7) / np.log(2)
    assert float(found["scatter"]) == pytest.approx(exact, rel=0.03)
    assert float(found["middle"]) == pytest.approx(8.0, rel=0.05)


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def test_what_was_learned_narrows_the_middle_only():
    posterior = np.random.default_rng(1).normal(1.0, 0.1, 512)
    draws = {f"x{i} @knowledge": posterior for i in range(1, 5)}
    learned = Learned(draws, np.repeat(np.arange(8), 64))
    problem = replace(four(Kinds(0.5, 0.2, 0.3)), learned=learned)

    found = spread_by_kind(problem).sel(outcome="sum_of_four")

    assert float(found["middle"]) == pytest.approx(4 * np.sqrt(0.5), abs=0.1)
    width = float(found["middle_high"] - found["middle_low"]) / 2
    assert width == pytest.approx(Z90 * 0.4 * np.sqrt(0.5), rel=0.25)
    assert float(found["scatter"]) == pytest.approx(Z90 * np.sqrt(2), rel=0.03)


@pytest.mark.parametrize(
    ("more", "message"), [({"knowledge": 100}, "8 times"), ({"batches": 100}, "power of two")]
)
def test_numbers_that_spoil_the_points_are_refused(more, message):
    with pytest.raises(StudyError, match=message):
        spread_by_kind(four(Kinds()), **more)
