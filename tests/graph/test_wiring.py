"""The graph refuses formulas that do not fit, and says how to mend them."""

from types import ModuleType

import numpy as np
import pytest

from brewsim.dims import HopIndex, Input, PerBatch, PerHop, PerHopLot, PerMalt
from brewsim.errors import WiringError
from brewsim.graph.build import build_graph, formulas_in, inputs_in, ranges_in

INPUTS = {
    "kettle_volume_l": Input((), "Wort in the kettle"),
    "hop_mass_g": Input(("hop",), "Mass of a hop"),
    "hop_lot_alpha_acid_fraction": Input(("hop_lot",), "Alpha acids of a lot"),
    "hop_lot_of_hop": Input(("hop",), "Which lot a hop is from"),
    "malt_mass_kg": Input(("malt",), "Mass of a malt"),
}


def hop_alpha_g(
    hop_mass_g: PerHop, hop_lot_alpha_acid_fraction: PerHopLot, hop_lot_of_hop: HopIndex
) -> PerHop:
    """Alpha acids a hop brings.

    More text.
    """
    return hop_mass_g * hop_lot_alpha_acid_fraction[hop_lot_of_hop]


def alpha_g(hop_alpha_g: PerHop) -> PerBatch:
    """Alpha acids of all hops."""
    return hop_alpha_g.sum(axis=0)


def alpha_g_l(alpha_g: PerBatch, kettle_volume_l: PerBatch) -> PerBatch:
    """Alpha acids per volume."""
    return alpha_g / kettle_volume_l


FORMULAS = [alpha_g_l, hop_alpha_g, alpha_g]


def test_formulas_run_after_what_they_need_whatever_the_order_given():
    graph = build_graph(FORMULAS, INPUTS)

    assert list(graph.nodes) == ["hop_alpha_g", "alpha_g", "alpha_g_l"]
    assert graph.axes("hop_alpha_g") == ("hop",)
    assert graph.axes("malt_mass_kg") == ("malt",)
    assert graph.label("hop_alpha_g") == "Alpha acids a hop brings"
    assert graph.label("hop_mass_g") == "Mass of a hop"
    assert "alpha_g" in graph
    assert "hop_mass_g" in graph
    assert "nothing" not in graph


def test_misspelt_need_names_the_line_and_the_likely_name():
    def bitterness_mg_l(kettle_volum_l: PerBatch) -> PerBatch:
        return kettle_volum_l

    with pytest.raises(WiringError, match=r"test_wiring\.py:\d+: .*Did you mean kettle_volume_l"):
        build_graph([bitterness_mg_l], INPUTS)


def test_list_quantity_taken_as_batch_quantity_is_refused():
    def hop_matter_g(hop_mass_g: PerBatch) -> PerBatch:
        return hop_mass_g

    with pytest.raises(WiringError, match="takes hop_mass_g per batch, but it is per hop"):
        build_graph([hop_matter_g], INPUTS)


def test_a_need_without_axes_is_refused():
    def hop_matter_g(hop_mass_g) -> PerBatch:
        return hop_mass_g

    with pytest.raises(WiringError, match=r"per \(nothing stated\)"):
        build_graph([hop_matter_g], INPUTS)


def test_a_result_without_axes_is_refused():
    def matter_g(kettle_volume_l: PerBatch):
        return kettle_volume_l

    with pytest.raises(WiringError, match="say what the result is per"):
        build_graph([matter_g], INPUTS)


def test_two_lists_of_different_things_never_meet():
    def nonsense_g(hop_mass_g: PerHop, malt_mass_kg: PerMalt) -> PerHop:
        return hop_mass_g * malt_mass_kg

    with pytest.raises(WiringError, match="mixes hop and malt"):
        build_graph([nonsense_g], INPUTS)


def test_a_sum_over_two_lists_at_once_is_refused():
    def total_g(hop_mass_g: PerHop, malt_mass_kg: PerMalt) -> PerBatch:
        return hop_mass_g.sum(axis=0) + malt_mass_kg.sum(axis=0)

    with pytest.raises(WiringError, match="sum one of them in a formula of its own first"):
        build_graph([total_g], INPUTS)


def test_a_loop_is_shown():
    def a_l(b_l: PerBatch) -> PerBatch:
        return b_l

    def b_l(a_l: PerBatch) -> PerBatch:
        return a_l

    with pytest.raises(WiringError, match=r"need each other: (a_l|b_l) <- (a_l|b_l)"):
        build_graph([a_l, b_l], {})


def test_defaults_and_star_arguments_are_refused():
    def a_l(kettle_volume_l: PerBatch = 1.0) -> PerBatch:
        return kettle_volume_l

    def b_l(*needs: PerBatch) -> PerBatch:
        return needs[0]

    for formula in (a_l, b_l):
        with pytest.raises(WiringError, match="without defaults"):
            build_graph([formula], INPUTS)


def test_a_quantity_computed_twice_is_refused():
    def kettle_volume_l(hop_mass_g: PerHop) -> PerBatch:
        return hop_mass_g.sum(axis=0)

    with pytest.raises(WiringError, match="kettle_volume_l is already defined"):
        build_graph([kettle_volume_l], INPUTS)
    with pytest.raises(WiringError, match="alpha_g is already defined"):
        build_graph([*FORMULAS, alpha_g], INPUTS)


def yield_l__high(kettle_volume_l: PerBatch) -> PerBatch:
    """Yield, high."""
    return kettle_volume_l * 0.9


def yield_l__low(kettle_volume_l: PerBatch) -> PerBatch:
    """Yield, low."""
    return kettle_volume_l * 0.5


VARIANTS = [yield_l__high, yield_l__low]


def test_a_variant_is_picked_by_name():
    graph = build_graph(VARIANTS, INPUTS, variants={"yield_l": "low"})

    assert graph.nodes["yield_l"].formula is yield_l__low
    assert graph.label("yield_l") == "Yield, low"


@pytest.mark.parametrize(
    ("variants", "message"),
    [
        ({}, r"has variants \(high, low\): pick one"),
        ({"yield_l": "lowe"}, "Did you mean low"),
        ({"yeild_l": "low"}, "Did you mean yield_l"),
    ],
)
def test_a_variant_that_is_not_there_is_refused(variants, message):
    with pytest.raises(WiringError, match=message):
        build_graph(VARIANTS, INPUTS, variants=variants)


def test_a_computed_quantity_can_be_given_instead():
    graph = build_graph(FORMULAS, INPUTS, given=["alpha_g"])

    assert graph.inputs["alpha_g"] == Input((), "Alpha acids of all hops")
    assert "alpha_g" not in graph.nodes


@pytest.mark.parametrize("name", ["alpha_gg", "hop_mass_g"])
def test_only_computed_quantities_can_be_given_instead(name):
    with pytest.raises(WiringError, match="no formula computes it"):
        build_graph(FORMULAS, INPUTS, given=[name])


def test_ranges_belong_to_a_formulas_own_quantities():
    graph = build_graph(FORMULAS, INPUTS, valid={"alpha_g_l": {"kettle_volume_l": (1, 100)}})

    assert graph.nodes["alpha_g_l"].valid == {"kettle_volume_l": (1, 100)}
    with pytest.raises(WiringError, match="VALID names hop_mass_g"):
        build_graph(FORMULAS, INPUTS, valid={"alpha_g_l": {"hop_mass_g": (1, 100)}})


def test_downstream_is_only_what_a_change_reaches():
    graph = build_graph([*FORMULAS, *VARIANTS[:1]], INPUTS, variants={"yield_l": "high"})

    reached = [node.name for node in graph.downstream({"alpha_g"})]

    assert reached == ["alpha_g_l"]
    assert {node.name for node in graph.downstream({"kettle_volume_l"})} == {"alpha_g_l", "yield_l"}


def test_pruning_keeps_just_what_is_needed():
    graph = build_graph(FORMULAS, INPUTS).pruned(["alpha_g"])

    assert list(graph.nodes) == ["hop_alpha_g", "alpha_g"]
    assert "kettle_volume_l" not in graph.inputs
    assert "malt_mass_kg" not in graph.inputs


def stage(name, **members):
    module = ModuleType(name)
    for key, value in members.items():
        setattr(module, key, value)
    return module


def test_a_stage_offers_its_own_public_formulas_only():
    def own_l(kettle_volume_l: PerBatch) -> PerBatch:
        return kettle_volume_l

    def _helper(x):
        return x

    for function in (own_l, _helper):
        function.__module__ = "mash"
    module = stage("mash", own_l=own_l, _helper=_helper, alpha_g=alpha_g, array=np.array)

    assert formulas_in(module) == [own_l]


def test_inputs_of_stages_are_joined_and_a_second_declaration_is_refused():
    one = stage("one", INPUTS={"a_l": Input((), "a")}, VALID={"b_l": {"a_l": (0, 1)}})
    two = stage("two", INPUTS={"c_l": Input((), "c")})

    assert set(inputs_in(one, two)) == {"a_l", "c_l"}
    assert ranges_in(one, two) == {"b_l": {"a_l": (0, 1)}}
    with pytest.raises(WiringError, match="two: input c_l is already declared"):
        inputs_in(one, two, two)
