"""A brewery's own middle and scatter, against closed forms."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.propagation.variance_by_kind import spread_by_kind
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


def test_errors_are_those_of_medians_over_the_replicates():
    """The middle of each replicate's breweries, and their t interval, in the outcome's unit."""
    problem = Problem.of(
        [one], {"x": (lognormal(8, 0.5), Kinds(0.5, 0.0, 0.5))}, scales={"one": "log2"}
    )

    found = spread_by_kind(problem, knowledge=128, batches=64).sel(outcome="one")

    for figure in ("middle", "scatter"):
        own = found[f"own_{figure}"].to_numpy().reshape(8, -1)
        log = np.log2(own) if figure == "middle" else own
        each = np.median(log, axis=1)
        each = np.exp2(each) if figure == "middle" else each
        assert float(found[f"{figure}_error"]) == pytest.approx(float(half_width(each)))
        ends = np.quantile(log.ravel(), [0.05, 0.5, 0.95])
        ends = np.exp2(ends) if figure == "middle" else ends
        told = [float(found[key]) for key in (f"{figure}_low", figure, f"{figure}_high")]
        assert told == pytest.approx(ends)
    np.testing.assert_array_equal(found["replicate"], np.repeat(np.arange(8), 16))


@pytest.mark.parametrize(("scale", "unit"), [("log", np.e), ("log2", 2.0)])
def test_a_brewerys_own_interval_is_in_its_unit_and_half_of_it_on_its_scale(scale, unit):
    problem = Problem.of([one], {"x": (lognormal(8, 0.5), Kinds(0, 0, 1))}, scales={"one": scale})

    found = spread_by_kind(problem, knowledge=8, batches=512, coverage=0.8).sel(outcome="one")

    reach = 1.2815516 * 0.5
    np.testing.assert_allclose(found["own_low"], 8 * np.exp(-reach), rtol=0.02)
    np.testing.assert_allclose(found["own_middle"], 8.0, rtol=0.02)
    np.testing.assert_allclose(found["own_high"], 8 * np.exp(reach), rtol=0.02)
    folds = np.log(found["own_high"] / found["own_low"]) / np.log(unit) / 2
    np.testing.assert_allclose(found["own_scatter"], folds)
    assert found.attrs["coverage"] == 0.8
    assert str(found["scale"].values) == scale


def test_breweries_far_from_the_middle_have_fewer_brews_inside_the_common_interval():
    """Own middle m, scatter 1: Phi(r - m) - Phi(-r - m) with r = 1.645 sqrt(2)."""
    problem = Problem.of([one], {"x": (normal(0, np.sqrt(2)), Kinds(0.5, 0, 0.5))})

    found = spread_by_kind(problem, knowledge=256, batches=256).sel(outcome="one")

    middle, reach = found["own_middle"].to_numpy(), Z90 * np.sqrt(2)
    exact = ndtr(reach - middle) - ndtr(-reach - middle)
    np.testing.assert_allclose(found["inside"], exact, atol=0.05)
    assert float(found["own_scatter"].mean()) == pytest.approx(Z90, rel=0.01)


@pytest.mark.parametrize("batches", [8, 100, 0])
def test_too_few_or_an_odd_number_of_batches_is_refused(batches):
    with pytest.raises(StudyError, match="power of two from 16"):
        spread_by_kind(four(Kinds()), batches=batches)


@pytest.mark.parametrize("knowledge", [4, 24, 8 * 3])
def test_states_are_eight_times_a_power_of_two(knowledge):
    with pytest.raises(StudyError, match="8 times a power of two"):
        spread_by_kind(four(Kinds()), knowledge=knowledge)


def test_a_rare_event_does_not_scatter_batches():
    def stalled(x, stall_share):
        return x + 100 * stall_share

    base = Problem.of(
        [stalled],
        {"x": (normal(0, 1), Kinds(0, 0, 1)), "stall_share": (bernoulli(0.3), Kinds(0, 0, 1))},
    )
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)

    found = spread_by_kind(replace(base, factors=factors), knowledge=8, batches=256)

    assert float(found["scatter"][0]) == pytest.approx(Z90, rel=0.03)


def test_states_of_more_than_one_block_are_each_of_their_own_brewery():
    """64 states a replicate are two blocks; nearly all is knowledge, so each state has a middle."""
    problem = Problem.of([one], {"x": (normal(0, 1), Kinds(0.9999, 0, 0.0001))})

    found = spread_by_kind(problem, knowledge=512, batches=16).sel(outcome="one")

    middle = found["own_middle"].to_numpy()
    assert len(np.unique(np.round(middle, 9))) == 512
    assert middle.std() == pytest.approx(1.0, rel=0.02)
    for part in middle.reshape(8, 64):
        assert part.std() == pytest.approx(1.0, rel=0.1)
