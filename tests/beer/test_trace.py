"""A number explains itself down to its inputs and their sources."""

import pytest

from brewsim.beer.trace import equation_of, source_of, traced
from brewsim.errors import InputError
from tests.texts import beer, hop, problem_of, values_at


@pytest.fixture(scope="module")
def problem():
    return problem_of(beer(hop(alpha="8.5 %")))


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("bitterness", "bitterness_ibu"),
        ("alcohol", "alcohol_by_volume_fraction"),
        ("fermenter_volume_l", "fermenter_volume_l"),
        ("grain_absorption_l_kg", "grain_absorption_l_kg"),
    ],
)
def test_the_traced_value_is_the_value_at_the_medians(problem, name, quantity):
    found = traced(problem, name).content
    node = found["nodes"][quantity]

    assert found["quantity"] == quantity
    assert node["value"] == pytest.approx(values_at(problem)[quantity].ravel().tolist())


def test_every_node_of_a_trace_leads_down_to_inputs_with_a_source(problem):
    nodes = traced(problem, "bitterness").content["nodes"]
    inputs = [name for name, node in nodes.items() if not node["needs"]]

    assert len(inputs) > 20
    assert set(inputs) <= set(problem.graph.inputs)
    for name, node in nodes.items():
        assert node["label"]
        assert node["source"] not in ("", "no source"), name
        assert set(node["needs"]) <= set(nodes)


def test_the_tree_shows_value_unit_source_and_what_the_recipe_said(problem):
    tree = traced(problem, "bitterness").tree

    assert "bitterness_ibu" in tree
    assert " IBU" in tree
    assert "Malowicki" in tree
    assert "8.5 %" in tree


def test_a_list_of_places_is_shown_as_a_list():
    three = beer(hop(variety="Galena"), hop(variety="Galena"), hop(variety="Saaz"))
    tree = traced(problem_of(three), "bitterness").tree

    assert "hop_lot_of_hop  (given) = [0, 0, 1] index " in tree


def test_a_name_nobody_knows_is_refused_with_a_near_miss(problem):
    with pytest.raises(InputError, match="bitterness_ibu"):
        traced(problem, "bitternes_ibu")


def test_source_and_equation_are_read_from_a_docstring():
    def formula():
        r"""Extract in the kettle.

        .. math:: E = m \\, x

        Source: A. Brewer, Journal 1,
            page 2.
        Valid: always.
        """

    assert source_of(formula) == "A. Brewer, Journal 1, page 2"
    assert equation_of(formula) == r"E = m \\, x"
    assert source_of(lambda: None) == "no source"
