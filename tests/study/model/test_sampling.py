"""Scrambled Sobol' points: by latent id, never exactly 0, the same whatever the order."""

import math

import numpy as np
import pytest
from scipy.stats import qmc

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import (
    ROWS_PER_BLOCK,
    Plan,
    Points,
    assemble,
    blocks,
    rows_for,
    scores,
    without_events,
)
from brewsim.study.model.sobol_sequence import SobolSequence


def test_a_zero_of_the_sequence_becomes_a_finite_score(monkeypatch):
    """Scrambled points are multiples of 2**-30 and may be 0, whose score is -inf."""
    monkeypatch.setattr(SobolSequence, "columns", lambda _self, rows: np.zeros((2, rows)))

    found = scores(("a", "b"), Plan(rows=16), 0)

    assert np.isfinite(found).all()
    assert found.max() < -6


def test_points_are_those_of_scipy_half_a_step_up():
    source = np.random.SeedSequence(7).spawn(3)[2]
    engine = qmc.Sobol(3, scramble=True, rng=np.random.default_rng(source))

    found = Points(3, Plan(seed=7), 2).uniforms(64)

    np.testing.assert_array_equal(found, engine.random(64) + 2.0**-31)


def test_the_order_of_ids_changes_no_number():
    plan = Plan(rows=64)

    straight = scores(("a", "b", "c"), plan, 3)

    np.testing.assert_array_equal(scores(("c", "a", "b"), plan, 3), straight[[2, 0, 1]])


def test_rows_read_later_are_the_rows_of_one_long_read():
    plan = Plan(rows=2 * ROWS_PER_BLOCK)

    whole = scores(("a", "b"), plan, 1)

    np.testing.assert_array_equal(scores(("a", "b"), plan, 1, 512, 1024), whole[:, 512:1024])
    late = scores(("a", "b"), plan, 1, ROWS_PER_BLOCK, 2 * ROWS_PER_BLOCK)
    np.testing.assert_array_equal(late, whole[:, ROWS_PER_BLOCK:])


def test_replicates_and_seeds_differ_and_seed_zero_is_a_seed():
    firsts = {
        scores(("a",), Plan(seed=seed, rows=2), replicate)[0, 0]
        for seed in (0, 1)
        for replicate in (0, 1)
    }

    assert len(firsts) == 4


def test_blocks_start_at_multiples_of_the_fixed_size():
    whole = list(blocks(0, 80_000))
    late = list(blocks(16_384, 40_000))

    assert whole == [(0, 32_768), (32_768, 65_536), (65_536, 80_000)]
    assert late == [(16_384, 32_768), (32_768, 40_000)]


@pytest.mark.parametrize(
    ("draws", "rows"), [(1, 16), (16_384, 2048), (16_385, 4096), (10_000, 2048)]
)
def test_draws_are_rounded_up_to_eight_powers_of_two(draws, rows):
    assert rows_for(draws) == rows


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"rows": 100}, "power of two"),
        ({"replicates": 1}, "at least 2"),
        ({"seed": -1}, "seed"),
        ({"seed": None}, "seed"),
        ({"seed": 1.5}, "seed"),
        ({"rows": 128.0}, "power of two"),
    ],
)
def test_plans_that_spoil_the_points_are_refused(arguments, message):
    with pytest.raises(StudyError, match=message):
        Plan(**arguments)


@pytest.mark.parametrize(
    "draws", [0, -1, 2**26 + 1, 10**400, 1e9, 100.5, math.nan, -math.inf, "many"]
)
def test_a_number_of_draws_that_is_none_is_refused(draws):
    with pytest.raises(StudyError, match="draws are a whole number from 1 to"):
        rows_for(draws)


def listed_problem():
    def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
        return hop_mass_g.sum(axis=0)

    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = (
        Factor("b", "hop_mass_g", 1, "second", normal(20, 1)),
        Factor("a", "hop_mass_g", 2, "third", normal(30, 1), event=True),
    )
    fixed = {"hop_mass_g": np.array([[10.0], [0.0], [0.0]])}
    return Problem(graph, fixed, factors, ("hop_total_g",))


def test_uncertain_rows_are_put_among_fixed_ones():
    problem = listed_problem()

    values = assemble(problem, np.array([[0.0, 1.0], [0.0, 2.0]]))

    np.testing.assert_allclose(values["hop_mass_g"], [[10, 10], [20, 22], [30, 31]])


def test_events_are_held_at_their_median_and_the_rest_stays_uncertain():
    held = without_events(listed_problem())

    assert [f.id for f in held.factors] == ["b"]
    np.testing.assert_allclose(held.fixed["hop_mass_g"], [[10.0], [0.0], [30.0]])


def test_a_row_nobody_provides_is_refused():
    problem = listed_problem()
    bare = Problem(problem.graph, {}, problem.factors, problem.outcomes)

    with pytest.raises(StudyError, match="neither fixed nor uncertain"):
        assemble(bare, np.zeros((2, 2)))
