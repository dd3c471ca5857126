"""Batches evaluated in one call are what each is alone; moves of the search where they differ."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import bernoulli, lognormal, normal, uniform
from brewsim.graph.build import build_graph
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from tests.study.posteriors import plain_slopes

BREW = Kinds(0, 0, 1)
MIXED = Kinds(0.5, 0, 0.5)


def gravity(extract, volume):
    return extract / volume


def strength(gravity, attenuation):
    return gravity * attenuation


def small(extract=None, volume=20.0):
    return Problem.of(
        [gravity, strength],
        {
            "extract": extract or (lognormal(3.0, 0.1), MIXED),
            "attenuation": (uniform(0.7, 0.85), MIXED),
        },
        fixed={"volume": volume},
    )


def logged(identity, problem):
    readings = (
        Reading("gravity", 0.15, 0.01, "spindle", bias=0.01),
        Reading("strength", 0.11, 0.02, "spindle", bias=0.01, scale="log"),
        Reading("gravity", 0.0, 0.01, "spindle", bias=0.01, known=0.0),
    )
    return Batch(identity, problem, readings)


LOGS = {
    "alike": [small(), small(), small()],
    "another volume": [small(), small(volume=23.0), small()],
    "one of them with another prior": [small(), small(), small((lognormal(4.0, 0.2), MIXED))],
    "all with their own": [small((lognormal(m, 0.2), MIXED)) for m in (2.0, 3.0, 4.0)],
    "of knowledge alone": [small((lognormal(m, 0.2), Kinds(1, 0, 0))) for m in (3.0, 3.0, 4.0)],
    "one alone": [small()],
}


@pytest.mark.parametrize("log", LOGS)
def test_a_stack_of_batches_predicts_what_each_would_alone(log):
    batches = [logged(f"b{i}", problem) for i, problem in enumerate(LOGS[log])]
    model, rng = Model(batches), np.random.default_rng(3)
    state = rng.standard_normal((len(model.names), 7))
    together = model.predicted(state)

    for i, batch in enumerate(batches):
        alone = Model([batch])
        own = state[[model.names.index(name) for name in alone.names]]
        np.testing.assert_allclose(together[3 * i : 3 * i + 3], alone.predicted(own), rtol=1e-12)
        np.testing.assert_allclose(model.by_batch(state)[i], alone.log_likelihood(own))


@pytest.mark.parametrize("log", LOGS)
def test_slopes_of_a_stack_are_those_of_plain_differences(log):
    model = Model([logged(f"b{i}", problem) for i, problem in enumerate(LOGS[log])])
    state = np.random.default_rng(4).standard_normal((len(model.names), 3))

    slope = Linearisation(model).slopes(state)[2]

    for chain in range(3):
        plain = plain_slopes(model, state[:, chain], step=1e-4)
        np.testing.assert_allclose(slope[chain], plain, atol=1e-3)
        np.testing.assert_array_equal(slope[chain] == 0, plain == 0)


def unlike():
    """Three batches of one recipe: all readings, the gravity alone, a calibration alone."""
    batches = [logged(f"b{i}", small()) for i in range(3)]
    return [
        batches[0],
        replace(batches[1], readings=batches[1].readings[:1]),
        replace(batches[2], readings=batches[2].readings[2:]),
    ]


def test_batches_that_were_read_differently_predict_what_each_would_alone():
    """Nobody read the strength of the second: its attenuation from brew to brew is no latent."""
    batches = unlike()
    model, rng = Model(batches), np.random.default_rng(3)
    state = rng.standard_normal((len(model.names), 7))
    alone = [Model([batch]) for batch in batches]
    own = [m.predicted(state[[model.names.index(n) for n in m.names]]) for m in alone]

    assert "attenuation @batch b1" not in model.names
    np.testing.assert_allclose(model.predicted(state), np.concatenate(own), rtol=1e-12)
    for chain in range(3):
        plain = plain_slopes(model, state[:, chain], step=1e-4)
        np.testing.assert_allclose(Linearisation(model).slopes(state)[2][chain], plain, atol=1e-3)


def test_batches_that_were_read_differently_are_learned_from_together():
    found = update(small(), unlike(), seed=2)

    assert found.trusted
    assert found.draws["attenuation @batch b0"].std() < 1


def hopped(alpha: PerHop, dose: PerHop) -> PerBatch:
    return (alpha * dose).sum(axis=0)


@pytest.mark.parametrize("second", [2.0, 4.0])
def test_one_row_of_a_list_moves_alone(second):
    graph = build_graph([hopped], {name: Input(("hop",), name) for name in ("alpha", "dose")})
    factors = tuple(
        Factor(f"alpha {row}", "alpha", row, "alpha", normal(5, 1), kinds, "hops")
        for row, kinds in ((0, MIXED), (2, BREW))
    )
    dose = np.array([[1.0], [10.0], [100.0]])
    problems = [
        Problem(
            graph, {"alpha": np.array([[1.0], [row], [3.0]]), "dose": dose}, factors, ("hopped",)
        )
        for row in (2.0, second)
    ]
    reading = (Reading("hopped", 500.0, 1.0),)
    model = Model([Batch(str(i), problem, reading) for i, problem in enumerate(problems)])
    middle = np.zeros((len(model.names), 2))

    slope = Linearisation(model).slopes(middle)[2][0]

    share = 0.5**0.5
    expected = {"alpha 0 @knowledge": share, "alpha 0 @batch 0": share, "alpha 2 @batch 0": 100}
    for name in model.names:
        assert slope[0, model.names.index(name)] == pytest.approx(expected.get(name, 0.0), rel=1e-4)
    assert model.predicted(middle)[:, 0] == pytest.approx([525.0, 505.0 + 10 * second])


def stuck(strain, halt, loss):
    return 12 * (1 - strain + halt * loss)


def with_event(group):
    base = Problem.of(
        [stuck],
        {
            "strain": (normal(0.78, 0.02), MIXED),
            "halt": (bernoulli(0.02), BREW),
            "loss": (lognormal(0.12, 0.3), BREW),
        },
    )
    groups = {"strain": "yeast", "halt": group, "loss": group or "other"}
    return replace(
        base,
        factors=tuple(replace(f, event=f.id == "halt", group=groups[f.id]) for f in base.factors),
    )


@pytest.mark.parametrize(("group", "moved"), [("stall", ["halt", "loss"]), ("", ["halt"])])
def test_a_rare_event_is_moved_together_with_how_bad_it_is(group, moved):
    plain = Problem.of([stuck], {"strain": normal(0.78, 0.02)}, fixed={"halt": 0.0, "loss": 0.1})
    reading = (Reading("stuck", 2.6, 0.1),)
    model = Model([Batch("a", plain, reading), Batch("b", with_event(group), reading)])

    ((place, rows),) = model.event_latents()

    assert place == 1
    assert [model.names[row] for row in rows] == [f"{name} @batch b" for name in moved]


def total(first, second):
    return first + second


def test_slices_alone_find_the_same_posterior(monkeypatch):
    """Conjugate Gaussian, as in test_update: shifts .571429 and 2.285714, sds .8997 and .9759."""
    monkeypatch.setattr("brewsim.study.inference.update._USUAL_STEPS", 10**12)
    problem = Problem.of([total], {"first": normal(0, 1), "second": normal(0, 2)})
    batch = Batch("1", problem, (Reading("total", 3.0, 0.5),))

    learned = update(problem, [batch], keep=100, time_limit_s=0.1)

    assert learned.mean("first @knowledge") == pytest.approx(0.571429, abs=0.02)
    assert 2 * learned.mean("second @knowledge") == pytest.approx(2.285714, abs=0.02)
    assert learned.standard_deviation("first @knowledge") == pytest.approx(0.899735, rel=0.02)
    assert learned.memory < 0.3
