"""What a quantity is made of, as a tree."""

from brewsim.dims import Input, PerBatch
from brewsim.graph.build import build_graph
from brewsim.graph.show import as_tree


def middle_l(volume_l: PerBatch) -> PerBatch:
    return volume_l


def top_l(middle_l: PerBatch, other_l: PerBatch) -> PerBatch:
    return middle_l + other_l


def other_l(middle_l: PerBatch) -> PerBatch:
    return middle_l


GRAPH = build_graph([top_l, other_l, middle_l], {"volume_l": Input((), "Volume")})


def test_a_tree_goes_down_to_what_is_given_and_shows_each_formula_once():
    assert as_tree(GRAPH, "top_l").splitlines() == [
        "top_l",
        "  middle_l",
        "    volume_l  (given)",
        "  other_l",
        "    middle_l  (shown above)",
    ]


def test_remarks_stand_behind_each_name():
    tree = as_tree(GRAPH, "middle_l", lambda name: f" = {len(name)}")

    assert tree.splitlines() == ["middle_l = 8", "  volume_l  (given) = 8"]
