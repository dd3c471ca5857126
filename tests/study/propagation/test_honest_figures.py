"""Figures that are right, or say that they are not: replicates, rare chances, lists, far draws."""

import json

import numpy as np
import pytest
from scipy.stats import norm

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal, student_t
from brewsim.errors import StudyError
from brewsim.graph.build import build_graph
from brewsim.study.model.factor import Factor
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.propagation.summary import summarise
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank


def one(x):
    return 1.0 * x


def total(a, b):
    return a + b


def endless(x):
    return np.where(x > 1.5, np.inf, x)


def hops(hop_x: PerHop, x: PerBatch) -> PerHop:
    return hop_x * (1 + 0 * x)


def normal_draws(draws=4096, **more):
    return simulate(Problem.of([one], {"x": normal(0, 1)}, **more), draws)


def by_hop(second=2.0):
    graph = build_graph([hops], {"hop_x": Input(("hop",), "hop_x"), "x": Input((), "x")})
    factors = (
        Factor("hop_x a", "hop_x", 0, "a", normal(1, 0.1)),
        Factor("hop_x b", "hop_x", 1, "b", normal(second, 0.3)),
        Factor("x", "x", None, "x", normal(0, 1)),
    )
    return Problem(graph, {}, factors, ("hops",), row_labels={"hop": ("early", "late")})


def test_shuffled_and_sorted_draws_have_the_same_errors():
    draws = normal_draws()
    plain = summarise(draws)
    rng = np.random.default_rng(1)

    for order in (rng.permutation(4096), np.argsort(draws["one"].to_numpy())):
        again = summarise(draws.isel(draw=order))

        for name in ("estimate_error", "high_error", "standard_uncertainty_error"):
            np.testing.assert_allclose(again[name], plain[name], rtol=1e-9)


def test_draws_chosen_by_a_condition_keep_honest_errors():
    """Half of a normal has mean sqrt(2 / pi)."""
    draws = normal_draws()

    row = summarise(draws.isel(draw=np.flatnonzero(draws["one"] > 0))).isel(outcome=0)

    assert abs(float(row["estimate"]) - np.sqrt(2 / np.pi)) < 2 * float(row["estimate_error"])
    assert float(row["estimate_error"]) < 0.01


@pytest.mark.parametrize(
    ("cut", "told"),
    [
        (lambda d: d.isel(draw=slice(0, 600)), "cut none of them off"),
        (lambda d: d.isel(draw=slice(0, 512)), "1 replicate"),
        (lambda d: d.drop_vars("replicate"), "keep `replicate`"),
    ],
)
def test_broken_replicates_are_refused_in_words(cut, told):
    with pytest.raises(StudyError, match=told):
        summarise(cut(normal_draws()))


@pytest.mark.parametrize("summary", ["kept", "streamed"])
def test_a_chance_that_no_draw_shows_has_an_error_of_three(summary):
    """No success in n trials: at 95 % a chance up to 3 / n."""
    targets = {"one": Target(lower=6.0)}
    problem = Problem.of([one], {"x": normal(0, 1)}, targets=targets)
    found = (
        summarise(simulate(problem, 4096)) if summary == "kept" else summarise_large(problem, 4096)
    )

    assert float(found["in_target"][0]) == 0.0
    assert float(found["in_target_error"][0]) == pytest.approx(3 / 4096)
    assert found.attrs["joint_in_target_error"] == pytest.approx(3 / 4096)
    assert found.attrs["event_chance_error"] == 0.0


def test_rare_chances_are_covered_by_their_errors():
    """P(a + b > limit) = 3.2e-5 and 3.4e-6, of which most runs see no draw."""
    for score in (4.0, 4.5):
        targets = {"total": Target(lower=score * 2**0.5)}
        problem = Problem.of([total], {"a": normal(0, 1), "b": normal(0, 1)}, targets=targets)
        covered = 0
        for seed in range(20):
            row = summarise(simulate(problem, 16_384, seed=seed)).isel(outcome=0)
            covered += abs(float(row["in_target"]) - norm.sf(score)) <= float(
                row["in_target_error"]
            )
        assert covered >= 18


@pytest.mark.parametrize("summary", ["kept", "streamed"])
def test_infinite_draws_count_in_the_ends_and_are_told(summary):
    """6.7 % of the draws are infinite, so the 95 % end is, and the 90 % one is not moved."""
    problem = Problem.of([endless], {"x": normal(0, 1)})

    def ends(coverage):
        if summary == "kept":
            return summarise(simulate(problem, 4096), coverage)
        return summarise_large(problem, 4096, coverage=coverage)

    assert float(ends(0.9)["high"][0]) == np.inf
    assert float(ends(0.8)["high"][0]) == pytest.approx(norm.ppf(0.9), abs=0.02)
    (note,) = json.loads(ends(0.8).attrs["notes"])
    assert "draws are infinite" in note


def test_a_list_is_summarised_and_ranked_row_by_row():
    problem = by_hop()

    found = summarise(simulate(problem, 4096))
    ranked = rank(problem, base=1024)
    shared = shapley(problem, base=256, turns=2)

    names = ["hops[early]", "hops[late]"]
    assert found["outcome"].to_numpy().tolist() == names
    np.testing.assert_allclose(found["estimate"], [1.0, 2.0], atol=0.01)
    for table, share in ((ranked, "total_order"), (shared, "shapley")):
        assert table["outcome"].to_numpy().tolist() == names
        shares = table[share].sel(factor=["hop_x a", "hop_x b"]).to_numpy()
        np.testing.assert_allclose(shares, np.eye(2), atol=0.01)


def test_an_input_without_variance_is_named():
    draws = simulate(Problem.of([one], {"x": student_t(0, 1, 2)}), 4096)

    notes = json.loads(summarise(draws).attrs["notes"])

    assert any(note.startswith("x: without a variance") for note in notes)


def test_an_outcome_whose_far_draws_carry_its_variance_says_so():
    """A lognormal of log sd 1.5 has a coefficient of variation of 2.9; of 0.2 it has 0.2."""
    far = simulate(Problem.of([one], {"x": lognormal(1, 1.5)}), 16_384)
    near = simulate(Problem.of([one], {"x": lognormal(1, 0.1)}), 16_384)
    logged = simulate(Problem.of([one], {"x": lognormal(1, 1.5)}, scales={"one": "log"}), 16_384)

    (note,) = json.loads(summarise(far).attrs["notes"])

    assert "a few far draws carry" in note
    assert "log scale" in note
    assert json.loads(summarise(near).attrs["notes"]) == []
    assert json.loads(summarise(logged).attrs["notes"]) == []
