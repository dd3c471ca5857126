"""Common draws and the latents behind them: what is shared, held, learned or tied."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

import brewsim
from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import normal
from brewsim.graph.build import build_graph
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.latents import latents
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, Points, scores, without_events
from tests.door import DEMOS
from tests.study.models import SHARES, pair, weighted

PLAN = Plan(8, 256, 1)


@pytest.mark.parametrize(
    ("held", "left"),
    [({"knowledge"}, 0.5), ({"lot"}, 0.8), ({"batch"}, 0.7), ({"lot", "batch"}, 0.5)],
)
def test_kinds_that_are_held_take_their_share_of_a_score(held, left):
    common = CommonDraws([pair()], PLAN, held=frozenset(held))

    a, b = common.factor_rows(pair())

    assert a.var() == pytest.approx(left, rel=0.02)
    assert b.var() == pytest.approx(0.0 if "knowledge" in held else 1.0, abs=0.02)
    assert common.size == len(a) == 2048


def test_what_is_drawn_again_is_only_what_is_fresh():
    """Batch alone is new: the two scores of a correlate by 0.7, those of b are the same."""
    common = CommonDraws([pair()], PLAN, fresh=frozenset({"batch"}))

    first, again = common.factor_rows(pair()), common.factor_rows(pair(), again=True)

    assert np.corrcoef(first[0], again[0])[0, 1] == pytest.approx(0.7, abs=0.02)
    np.testing.assert_array_equal(first[1], again[1])


@dataclass(frozen=True)
class Learned:
    draws: dict
    replicate: np.ndarray


def test_held_knowledge_stands_at_the_middle_of_what_was_learned():
    """Posterior mean 2, share 0.5: the score stands at sqrt(0.5) x 2 and scatters by 0.5."""
    draws = {"a @knowledge": 2.0 + np.linspace(-1, 1, 64)}
    problem = replace(pair(), learned=Learned(draws, np.repeat(np.arange(8), 8)))

    a, _ = CommonDraws([problem], PLAN, held=frozenset({"knowledge"})).factor_rows(problem)

    assert a.mean() == pytest.approx(2 * np.sqrt(0.5), abs=0.02)
    assert a.var() == pytest.approx(0.5, rel=0.03)


def test_factors_of_one_named_lot_share_its_latent():
    """Two hops of one lot of a quantity: the lot's part is the same, the rest is their own."""

    def hop_total(hop_x: PerHop) -> PerBatch:
        return hop_x.sum(axis=0)

    graph = build_graph([hop_total], {"hop_x": Input(("hop",), "x")})
    factors = tuple(
        Factor(f"h{i}", "hop_x", i, f"h{i}", normal(0, 1), Kinds(0, 0.6, 0.4), lot=lot)
        for i, lot in enumerate(("H1", "H1", ""))
    )
    problem = Problem(graph, {}, factors, ("hop_total",))
    found = latents(problem, by_kind=True)

    rows = found.rows(scores(found.ids, Plan(rows=4096), 0), 0)

    assert len(found.ids) == 5
    assert np.corrcoef(rows)[0, 1:] == pytest.approx([0.6, 0.0], abs=0.02)


def test_a_part_of_a_score_holds_the_kinds_asked_and_no_others():
    found = latents(pair(), by_kind=True)
    normals = scores(found.ids, Plan(rows=1024), 0)
    whole = found.rows(normals, 0)[0]

    parts = [found.part(normals, 0, 0, frozenset({kind})) for kind in ("knowledge", "lot", "batch")]

    np.testing.assert_allclose(sum(parts), whole, atol=1e-12)
    assert [part.var() for part in parts] == pytest.approx([0.5, 0.2, 0.3], rel=0.02)
    assert found.part(normals, 0, 0, frozenset()).tolist() == [0.0] * 1024


def test_factors_that_are_not_wanted_get_an_empty_row():
    found = latents(pair())

    rows = found.rows(scores(found.ids, Plan(rows=64), 0), 0, [1])

    assert [len(row) for row in rows] == [0, 64]


@pytest.mark.parametrize("order", ["abc", "cab", "bca"])
def test_what_correlates_with_two_that_were_learned_follows_both(order):
    """Normal conditional: E[c] = r' R^-1 (2, -1) and variance 1 - r' R^-1 r."""

    def all_three(a, b, c):
        return a + b + c

    rho = {"ab": 0.3, "ac": 0.6, "bc": -0.4}
    table = tuple(
        tuple(1.0 if i == j else rho["".join(sorted(i + j))] for j in order) for i in order
    )
    problem = Problem.of(
        [all_three],
        dict.fromkeys("abc", normal(0, 1)),
        correlations=(Correlation("knowledge", tuple(order), table),),
    )
    draws = {"a @knowledge": np.full(64, 2.0), "b @knowledge": np.full(64, -1.0)}
    problem = replace(problem, learned=Learned(draws, np.repeat(np.arange(8), 8)))
    found = latents(problem)

    a, b, c = found.rows(scores(found.ids, Plan(rows=4096), 0), 0)

    weights = np.linalg.solve([[1, 0.3], [0.3, 1]], [0.6, -0.4])
    np.testing.assert_allclose(a, 2.0, rtol=1e-12)
    np.testing.assert_allclose(b, -1.0, rtol=1e-12)
    assert c.mean() == pytest.approx(weights @ [2.0, -1.0], abs=0.01)
    assert c.var() == pytest.approx(1 - weights @ [0.6, -0.4], rel=0.02)


@pytest.mark.parametrize(("kind", "share"), [("knowledge", 0.5), ("lot", 0.2), ("batch", 0.3)])
def test_a_correlation_of_one_kind_counts_by_that_kinds_share(kind, share):
    tied = Correlation(kind, ("a", "b"), ((1.0, 0.8), (0.8, 1.0)))
    problem = Problem.of(
        [weighted], {"a": (normal(0, 1), SHARES), "b": (normal(0, 1), SHARES)}, correlations=(tied,)
    )
    found = latents(problem)

    rows = found.rows(scores(found.ids, Plan(rows=4096), 0), 0)

    assert np.corrcoef(rows)[0, 1] == pytest.approx(0.8 * share, abs=0.01)


def test_scores_that_are_wanted_are_those_of_a_read_of_all():
    whole = Points(4, PLAN, 3).scores(256)

    some = Points(4, PLAN, 3).scores(256, [1, 3])

    np.testing.assert_array_equal(some[[1, 3]], whole[[1, 3]])


def test_many_settings_at_once_are_those_settings_one_by_one():
    """A whole beer, with dials and choices: every number to the last bit."""
    problem = without_events(brewsim.pose(brewsim.read_recipe(DEMOS / "quillhaven-pale.toml")))
    values = Evaluator(problem, CommonDraws([problem], Plan(8, 64, 1)), problem.outcomes)
    rng = np.random.default_rng(4)
    settings = [
        {knob.id: _anywhere(knob, rng) for knob in problem.knobs if rng.random() < 0.7}
        for _ in range(40)
    ]

    together = values.at_each([{}, *settings])

    assert len(together) == 41
    for one, found in zip([{}, *settings], together, strict=True):
        for name, row in values.at(one).items():
            np.testing.assert_array_equal(found[name], row)


def _anywhere(knob, rng):
    if knob.choices:
        return knob.choices[rng.integers(len(knob.choices))].label
    return float(rng.uniform(knob.low, knob.high))
