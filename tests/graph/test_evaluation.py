"""Running a graph: whole, in part, with any number of rows, and never over its own results."""

import numpy as np
import pytest

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.graph.build import build_graph
from brewsim.graph.evaluate import evaluate, reevaluate

INPUTS = {
    "volume_l": Input((), "Volume"),
    "hop_mass_g": Input(("hop",), "Mass of a hop"),
    "hop_alpha_acid_fraction": Input(("hop",), "Alpha acids of a hop"),
}


def hop_alpha_g(hop_mass_g: PerHop, hop_alpha_acid_fraction: PerHop) -> PerHop:
    return hop_mass_g * hop_alpha_acid_fraction


def alpha_g(hop_alpha_g: PerHop) -> PerBatch:
    return hop_alpha_g.sum(axis=0)


def alpha_g_l(alpha_g: PerBatch, volume_l: PerBatch) -> PerBatch:
    return alpha_g / volume_l


@pytest.fixture
def graph():
    return build_graph([alpha_g_l, hop_alpha_g, alpha_g], INPUTS)


def inputs(hops=3, samples=64):
    rng = np.random.default_rng(2024)
    return {
        "volume_l": rng.normal(23.0, 0.4, samples),
        "hop_mass_g": rng.normal(30.0, 0.5, (hops, samples)),
        "hop_alpha_acid_fraction": np.full((hops, 1), 0.1),
    }


def test_reevaluating_equals_evaluating_afresh(graph):
    baseline = evaluate(graph, inputs())
    changed = {"volume_l": inputs()["volume_l"] + 1.0}

    quick = reevaluate(graph, baseline, changed)

    fresh = evaluate(graph, inputs() | changed)
    for name in graph.nodes:
        np.testing.assert_array_equal(quick[name], fresh[name])
    assert quick["hop_alpha_g"] is baseline["hop_alpha_g"]


def test_results_cannot_be_overwritten(graph):
    values = evaluate(graph, inputs())

    with pytest.raises(ValueError, match="read-only"):
        values["alpha_g"][0] = 0.0


@pytest.mark.parametrize("hops", [0, 1, 2, 5])
def test_any_number_of_additions_works(graph, hops):
    values = evaluate(graph, inputs(hops))

    assert values["hop_alpha_g"].shape == (hops, 64)
    assert values["alpha_g_l"].shape == (64,)


def test_one_value_for_all_samples_is_enough(graph):
    values = evaluate(graph, inputs(samples=1) | {"volume_l": np.array([20.0, 40.0])})

    assert values["alpha_g"].shape == (1,)
    assert values["alpha_g_l"][0] == 2 * values["alpha_g_l"][1]


def test_a_formula_that_loses_the_sample_axis_is_caught():
    def total_l(volume_l: PerBatch) -> PerBatch:
        return volume_l.sum()

    graph = build_graph([total_l], {"volume_l": Input((), "Volume")})

    with pytest.raises(
        ValueError, match="total_l: a formula must return an array of numbers on 1 axes"
    ):
        evaluate(graph, {"volume_l": np.ones(4)})


def test_a_formula_that_returns_fewer_samples_is_caught():
    def some_l(volume_l: PerBatch) -> PerBatch:
        return volume_l[:3]

    graph = build_graph([some_l], {"volume_l": Input((), "Volume")})

    with pytest.raises(ValueError, match=r"some_l: .* one value per sample; it returned 3 for 4"):
        evaluate(graph, {"volume_l": np.ones(4)})


def test_division_by_zero_gives_no_warning_and_no_stop(graph):
    values = evaluate(graph, inputs() | {"volume_l": np.zeros(64)})

    assert np.isinf(values["alpha_g_l"]).all()


def test_the_inputs_given_are_left_alone(graph):
    given = inputs()
    before = given["volume_l"].copy()

    evaluate(graph, given)

    assert set(given) == set(INPUTS)
    np.testing.assert_array_equal(given["volume_l"], before)


@pytest.mark.parametrize(("result", "told"), [(1j, "complex128 on 1"), (None, "a NoneType")])
def test_a_formula_that_returns_no_numbers_is_caught(result, told):
    def total_l(volume_l: PerBatch) -> PerBatch:
        return volume_l * result if result is not None else None

    graph = build_graph([total_l], {"volume_l": Input((), "Volume")})

    with pytest.raises(ValueError, match=f"total_l: .* it returned .*{told}"):
        evaluate(graph, {"volume_l": np.ones(4)})
